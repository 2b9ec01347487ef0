"""Tests of the pages in a real browser, against a real server.

Fixtures
--------
clinic
    The invented clinic, served for the whole run (``clinic.address("visit", visit_id=…)``,
    ``clinic.visit("open")``). Everybody writes on the same one: a test that must know what is in it adds a
    patient of its own, and one that kills the server takes ``own_clinic``.
own_clinic
    A server with the invented clinic for one test alone.
guarded_clinic
    A clinic without patients in which everybody logs in (`tests.browser.sights.log_in`).
clinic_with_sign_on
    The same with the hospital's sign-on.
page
    A page of a desktop, 1280 × 800, light. Addresses are relative to the clinic: ``page.goto("/patients/")``.
open_page
    Makes further devices, each with its own cookies: ``open_page(width=390, height=844, theme="dark")``;
    ``clinic=own_clinic`` leads it to another server.
plain
    A page of a phone that runs no script.
watch
    What the pages of the test did that no page may do. It is checked at the end of each test; a test that
    provokes a complaint, as when it cuts the connection, forgives it: ``watch.forgive("ERR_CONNECTION")``.

While the browser is open no test may touch the databases in its own process: the framework refuses it beside
the driver's loop. The browser is therefore closed as soon as tests leave this folder. What a server holds is
asked of the server.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from functools import cache
from pathlib import Path
from shutil import copytree

import pytest
from playwright.sync_api import Browser, Page

import tests.database  # noqa: F401  starts the framework, whose route table the tests read
from tests.browser.chromium import Theme, Watch, chromium, new_device
from tests.browser.clinics import Clinic, fill, running_clinic
from tests.browser.sights import guarded, signing_on
from tests.made_once import made_once

_HERE = Path(__file__).parent
_open = ExitStack()


@cache
def _browser() -> Browser:
    return _open.enter_context(chromium())


@pytest.hookimpl(wrapper=True)
def pytest_runtest_teardown(nextitem: pytest.Item | None) -> Iterator[None]:
    """Close the browser when the next test is one of another folder."""
    try:
        yield
    finally:
        if nextitem is None or _HERE not in nextitem.path.parents:
            _open.close()
            _browser.cache_clear()


@pytest.fixture(scope="module")
def browser() -> Browser:
    """The browser, opened when first asked for."""
    return _browser()


@pytest.fixture(scope="session")
def invented(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The data folder of the invented clinic, to be copied."""
    return made_once(tmp_path_factory, "invented-to-serve", fill)


@pytest.fixture(scope="session")
def clinic(invented: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Clinic]:
    """The invented clinic, shared by all tests."""
    folder = tmp_path_factory.mktemp("clinic") / "data"
    with running_clinic(Path(copytree(invented, folder)), "--demo", warms=False) as running:
        yield running


@pytest.fixture
def own_clinic(invented: Path, tmp_path: Path) -> Iterator[Clinic]:
    """An invented clinic for one test."""
    with running_clinic(Path(copytree(invented, tmp_path / "own")), "--demo", warms=False) as running:
        yield running


@pytest.fixture(scope="session")
def guarded_clinic(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Clinic]:
    """A clinic with accounts, shared by all tests."""
    with guarded(tmp_path_factory.mktemp("guarded")) as running:
        yield running


@pytest.fixture(scope="session")
def clinic_with_sign_on(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Clinic]:
    """A clinic with accounts and the hospital's sign-on, which does not answer; shared by all tests."""
    with signing_on(tmp_path_factory.mktemp("signing-on") / "data") as running:
        yield running


@pytest.fixture
def watch() -> Iterator[Watch]:
    """Whoever watches the pages of one test, and tells at its end."""
    watching = Watch()
    yield watching
    watching.check()


OpenPage = Callable[..., Page]


@pytest.fixture
def open_page(browser: Browser, clinic: Clinic, watch: Watch) -> Iterator[OpenPage]:
    """Make a device and open an empty page on it."""
    with ExitStack() as devices:

        def opened(
            *, width: int = 1280, height: int = 800, theme: Theme = "light", clinic: Clinic = clinic
        ) -> Page:
            device = new_device(browser, clinic.origin, width=width, height=height, theme=theme)
            devices.callback(device.close)
            watch.attend(device, clinic.origin)
            return device.new_page()

        yield opened


@pytest.fixture
def page(open_page: OpenPage) -> Page:
    """An empty page of a desktop."""
    return open_page()


@pytest.fixture
def plain(browser: Browser, clinic: Clinic) -> Iterator[Page]:
    """A phone that runs no script."""
    device = browser.new_context(
        java_script_enabled=False, viewport={"width": 390, "height": 844}, base_url=clinic.origin
    )
    yield device.new_page()
    device.close()
