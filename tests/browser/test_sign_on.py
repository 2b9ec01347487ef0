"""The hospital's sign-on in a real browser: there, back and in, with what waits on the device."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.browser.chromium import new_device
from tests.browser.clinics import link_account, open_account
from tests.browser.ward import (
    ITEMS,
    Ward,
    add,
    answer_to,
    leave,
    log_in,
    open_outbox,
    until,
    until_kind,
)
from tests.web.hands import Server, data_of
from tests.web.provider import CLIENT, SECRET, Provider, running_provider

BUTTON = "Enter by the hospital’s sign-on"


@pytest.fixture(scope="module")
def provider(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Provider]:
    """A provider that runs while this module does."""
    with running_provider(tmp_path_factory.mktemp("provider")) as running:
        yield running


@pytest.fixture(scope="module")
def ward(tmp_path_factory: pytest.TempPathFactory, provider: Provider) -> Iterator[Ward]:
    """A clinic with the sign-on, where ann's account is linked and ben's is not; visit 1 is open."""
    data: Path = tmp_path_factory.mktemp("ward")
    secret = data.with_name("secret-of-the-sign-on")
    secret.write_text(f"{SECRET}\n")
    ward = Ward(data)
    assert ward.new_visit() == 1
    ward.server.kill()
    for name in ("ann", "ben"):
        open_account(data, name, "clinician")
    link_account(data, "ann", "staff-4711")
    told = ("--sign-on", provider.issuer, "--sign-on-client", CLIENT, "--sign-on-secret", str(secret))
    trusting = {"SSL_CERT_FILE": str(provider.certificate), "NO_PROXY": "*"}
    ward.server = Server(*data_of(data), *told, environment=trusting)
    ward.wire.target = ward.server.port
    try:
        yield ward
    finally:
        ward.wire.close()
        ward.server.kill()


@pytest.fixture
def device(browser: Browser, ward: Ward) -> Iterator[BrowserContext]:
    """A device that several people use; it takes the provider's certificate without a question."""
    ward.wire.mend()
    with closing(new_device(browser, ward.origin, trusts_all=True)) as made:
        yield made


def sign_on(page: Page, person: str) -> None:
    """Press the button on the page at hand, and say at the provider who one is."""
    page.get_by_role("link", name=BUTTON).click()
    page.get_by_label("Who are you?").fill(person)
    page.get_by_role("button", name="Continue").click()


def name_of(device: BrowserContext) -> str:
    """The cookie by which the server knows this browser."""
    found = [each["value"] for each in device.cookies() if each["name"] == "fabella_device"]
    assert len(found) == 1
    return found[0]


def test_there_back_and_in(ward: Ward, device: BrowserContext) -> None:
    """From a page that was asked for through the provider to that page, and out again, there too."""
    page = device.new_page()
    page.goto("/patients/?q=Invented")
    sign_on(page, "staff-4711")
    page.wait_for_url(f"{ward.origin}/patients/?q=Invented")
    assert page.locator("body").get_attribute("data-author") == "ann"
    assert all(
        each["sameSite"] == "Strict" for each in device.cookies() if each["name"].startswith("fabella")
    )
    page.locator("form[action='/logout/'] button").click()
    page.wait_for_url("**/login/?left=sign-on")
    page.get_by_role("link", name="log out there too").click()
    expect(page.locator("body")).to_contain_text("You are logged out everywhere.")
    page.goto("/patients/")
    assert page.url.startswith(f"{ward.origin}/login/")


def test_what_waits_on_a_device_goes_when_its_author_has_signed_on(
    ward: Ward, device: BrowserContext
) -> None:
    """Entries made without a connection outlast the way to the provider and back, and the device its name."""
    page = device.new_page()
    log_in(page, "ann")
    named = name_of(device)
    page.goto("/help/")
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")  # the way leads through the worker too
    page.reload()
    open_outbox(page, 1)
    ward.wire.cut()
    ids = add(page, *(answer_to(item, value=True) for item in ITEMS[:3]))
    until_kind(page, "waiting")
    page.close()
    device.clear_cookies(name="fabella_session")  # as when the session has ended
    ward.wire.mend()

    again = device.new_page()
    again.goto("/help/")
    line = "3 entries by ann wait on this device until ann logs in here."
    until(again, lambda: again.locator("#keeping").inner_text() == line)
    sign_on(again, "nobody")
    expect(again.get_by_role("alert")).to_contain_text("was broken off there")
    until(again, lambda: again.locator("#keeping").inner_text() == line)
    sign_on(again, "staff-9")
    expect(again.get_by_role("alert")).to_contain_text("knows you as ‘staff-9’")
    assert name_of(device) == named
    sign_on(again, "staff-4711")
    again.wait_for_url(f"{ward.origin}/help/")
    until(again, lambda: len(ward.entries(1)) == 3)
    assert ward.entries(1) == [(each, "ann") for each in ids]
    assert name_of(device) == named
    assert again.locator("#keeping").is_hidden()


def test_going_back_and_a_kept_address_let_nobody_in(ward: Ward, device: BrowserContext) -> None:
    """After logging out neither the history of the browser nor the provider's answer leads in again."""
    page, led = device.new_page(), []
    page.on("request", lambda asked: led.append(asked.url))
    page.goto("/help/")
    sign_on(page, "staff-4711")
    page.wait_for_url(f"{ward.origin}/help/")
    address = next(each for each in led if "/login/hospital/back/" in each)
    assert not any("/login/hospital/enter/" in each for each in page.evaluate("[location.href]"))
    leave_by_sign_on(page)
    page.goto(address)
    expect(page.get_by_role("alert")).to_contain_text("was used before")
    page.go_back()
    assert page.locator("form[action='/logout/']").count() == 0


def leave_by_sign_on(page: Page) -> None:
    """Log out, after having come by the sign-on."""
    page.locator("form[action='/logout/'] button").click()
    page.wait_for_url(re.compile("left=sign-on"))


def test_a_link_on_another_site_leads_in_under_the_same_name(
    ward: Ward, device: BrowserContext, provider: Provider
) -> None:
    """From a page of the hospital's own the way is the same, and the device keeps its name."""
    page = device.new_page()
    log_in(page, "ben")
    named = name_of(device)
    leave(page)
    provider.answers["/portal"] = (
        200,
        f'<title>Hospital</title><a href="{ward.origin}/login/hospital/">Knee</a>',
    )
    page.goto(f"{provider.issuer}/portal")
    page.get_by_role("link", name="Knee").click()
    page.get_by_label("Who are you?").fill("staff-4711")
    page.get_by_role("button", name="Continue").click()
    page.wait_for_url(f"{ward.origin}/")
    assert page.locator("body").get_attribute("data-author") == "ann"
    assert name_of(device) == named


def test_without_a_script_the_way_is_the_same(browser: Browser, ward: Ward) -> None:
    """A phone that runs no script comes in as well."""
    with closing(
        browser.new_context(java_script_enabled=False, ignore_https_errors=True, base_url=ward.origin)
    ) as phone:
        page = phone.new_page()
        page.goto("/help/")
        sign_on(page, "staff-4711")
        page.wait_for_url(f"{ward.origin}/help/")
        assert page.locator("form[action='/logout/']").count() == 1
