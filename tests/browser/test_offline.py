"""An open examination goes on without a connection, and stays on the device of nobody who has left."""

import shutil
from collections.abc import Iterator
from contextlib import ExitStack, closing
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from tests.browser.chromium import new_device
from tests.browser.clinics import open_account
from tests.browser.ward import LAX, Ward, add, leave, log_in, open_outbox, running_ward, until, until_arrived

KEPT = """async () => {
  const found = [];
  for (const name of await caches.keys()) {
    const kept = await (await caches.open(name)).keys();
    found.push(...kept.map(({ url }) => [name.split("-")[0], new URL(url).pathname]));
  }
  return found;
}"""


@pytest.fixture(scope="module")
def ward(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ward]:
    """A clinic at the end of a wire, where nobody needs an account."""
    with running_ward(tmp_path_factory.mktemp("ward")) as running:
        yield running


@pytest.fixture(scope="module")
def guarded(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ward]:
    """A clinic where ann and ben have accounts; visit 1 is open."""
    data = tmp_path_factory.mktemp("guarded")
    with running_ward(data) as running:
        running.new_visit()
        for name in ("ann", "ben"):
            open_account(data, name, "clinician")
        yield running


@pytest.fixture
def devices() -> Iterator[ExitStack]:
    """Where devices are kept that are put away after a test."""
    with ExitStack() as stack:
        yield stack


def device_in(ward: Ward, browser: Browser, devices: ExitStack) -> BrowserContext:
    """A device on a ward with a sound wire."""
    ward.wire.mend()
    return devices.enter_context(closing(new_device(browser, ward.origin)))


def kept_visits(page: Page) -> set[str]:
    """The addresses of patients' pages and states that the browser keeps."""
    return {path for kind, path in page.evaluate(KEPT) if kind == "visits" and path != "/person"}


def examine(page: Page, visit: int) -> None:
    """Open an examination, and wait until it can be used without a connection."""
    page.goto(f"/visits/{visit}/examine/")
    page.wait_for_selector("html[data-ready]")
    until(page, lambda: f"/visits/{visit}/examine/" in kept_visits(page))


def told(page: Page) -> str:
    """The status line of an examination."""
    return page.locator("#kept").inner_text()


def waiting(page: Page) -> int:
    """How many entries the status line says wait for the connection."""
    until(page, lambda: told(page).startswith("No connection: "))
    return int(told(page).split()[2])


def touch(page: Page) -> None:
    """Touch the button at hand: what it marks goes on the record."""
    page.wait_for_timeout(400)
    page.click("#looked")


def sign(page: Page, visit: int) -> None:
    """Find something, and sign."""
    open_outbox(page, visit)
    add(page, {"base": 1, "change": "set_finding", "finding": LAX})
    until_arrived(page)
    page.goto(f"/visits/{visit}/sign/")
    page.locator("main form button.main").last.click()
    page.wait_for_url("**/signed/1/")


def statements(ward: Ward, visit: int) -> int:
    """How many entries the server keeps of a visit, each once."""
    ids = ward.ids(visit)
    assert len(set(ids)) == len(ids)
    return len(ids)


def test_an_examination_goes_on_without_a_connection(ward: Ward, browser: Browser, tmp_path: Path) -> None:
    """Entries made without a connection survive a page loaded again and a browser that ends, and arrive once.

    The page of the examination opens without a connection, with what waits on it, and takes further entries;
    with the connection everything goes in the order in which it was made.
    """
    visit = ward.new_visit()
    options: dict[str, Any] = {
        "user_data_dir": tmp_path / "browser",
        "executable_path": shutil.which("chromium"),
        "base_url": ward.origin,
    }
    with closing(browser.browser_type.launch_persistent_context(**options)) as device:
        page = device.new_page()
        examine(page, visit)
        ward.wire.cut()
        touch(page)
        first = waiting(page)
        page.reload()
        page.wait_for_selector("html[data-ready]")
        assert waiting(page) == first
        touch(page)
        until(page, lambda: waiting(page) > first)
        second = waiting(page)
        shown = page.locator("#positions").inner_text()
    with closing(browser.browser_type.launch_persistent_context(**options)) as device:
        page = device.new_page()
        page.goto(f"/visits/{visit}/examine/")
        page.wait_for_selector("html[data-ready]")
        assert waiting(page) == second
        assert page.locator("#positions").inner_text() == shown
        touch(page)
        until(page, lambda: waiting(page) > second)
        third = waiting(page)
        assert statements(ward, visit) == 0
        made = page.evaluate(
            """() => new Promise((done) => {
              indexedDB.open("outbox").onsuccess = ({ target }) => {
                const asked = target.result.transaction("entries").objectStore("entries").getAll();
                asked.onsuccess = () => done(asked.result.map((each) => each.id));
              };
            })"""
        )
        ward.wire.mend()
        until(page, lambda: told(page) == "Saved", 60)
        assert statements(ward, visit) == third
        assert ward.ids(visit) == made


def test_an_examination_opens_though_the_browser_has_forgotten_its_files(
    ward: Ward, browser: Browser, devices: ExitStack
) -> None:
    """What the worker keeps is enough: a browser may empty its own cache whenever it likes, or have none."""
    device = device_in(ward, browser, devices)
    page, visit = device.new_page(), ward.new_visit()
    examine(page, visit)
    device.new_cdp_session(page).send("Network.clearBrowserCache")
    ward.wire.cut()
    page.reload()
    page.wait_for_selector("html[data-ready]")


def test_what_was_followed_last_is_shown(ward: Ward, browser: Browser, devices: ExitStack) -> None:
    """Without a connection an examination stands as it was last followed, other devices' entries with it."""
    visit = ward.new_visit()
    page = device_in(ward, browser, devices).new_page()
    examine(page, visit)
    page.reload()
    page.wait_for_selector("html[data-ready]")
    other = device_in(ward, browser, devices).new_page()
    examine(other, visit)
    touch(other)
    until(other, lambda: told(other) == "Saved" and statements(ward, visit) > 0)
    state = f"/api/visits/{visit}"
    version = statements(ward, visit) + 1
    ask = "async (url) => (await (await caches.match(new URL(url, location.href)))?.json())?.version"
    until(page, lambda: page.evaluate(ask, state) == version)
    shown = page.locator("#positions").inner_text()
    ward.wire.cut()
    page.reload()
    page.wait_for_selector("html[data-ready]")
    until(page, lambda: page.locator("#positions").inner_text() == shown)


def test_other_pages_say_that_there_is_no_connection(
    ward: Ward, browser: Browser, devices: ExitStack
) -> None:
    """Without a connection any other page names the examinations that can be opened, and leads to them."""
    page = device_in(ward, browser, devices).new_page()
    examine(page, ward.new_visit())
    ward.wire.cut()
    page.goto("/patients/")
    assert page.title() == "No connection – Fabella"
    page.locator("#open a").click()
    page.wait_for_selector("html[data-ready]")


def test_a_form_that_cannot_be_sent_stays(ward: Ward, browser: Browser, devices: ExitStack) -> None:
    """A form sent without a connection stays as it was typed, and says so; sent again later it goes."""
    page = device_in(ward, browser, devices).new_page()
    examine(page, ward.new_visit())
    page.goto("/patients/new/")
    page.fill("#number", "T-offline")
    page.fill("#label", "Ida Lantern")
    ward.wire.cut()
    page.locator("main button").click()
    until(page, lambda: "nothing was sent" in page.locator("#keeping").inner_text())
    assert (page.input_value("#number"), page.input_value("#label")) == ("T-offline", "Ida Lantern")
    ward.wire.mend()
    page.locator("main button").click()
    page.wait_for_url("**/patients/*/")
    assert "Ida Lantern" in page.locator("h1").inner_text()


def test_a_signed_examination_does_not_stay(ward: Ward, browser: Browser, devices: ExitStack) -> None:
    """What is no longer open is no longer kept."""
    visit = ward.new_visit()
    page = device_in(ward, browser, devices).new_page()
    examine(page, visit)
    sign(page, visit)
    page.goto(f"/visits/{visit}/examine/")
    until(page, lambda: not any(f"/{visit}" in each for each in kept_visits(page)))


def test_what_came_after_a_signature_can_be_read(ward: Ward, browser: Browser, devices: ExitStack) -> None:
    """Entries that waited while somebody signed are shown, as typed and with why, until they are seen."""
    visit = ward.new_visit()
    device = device_in(ward, browser, devices)
    page, other = device.new_page(), device_in(ward, browser, devices).new_page()
    examine(page, visit)
    device.set_offline(offline=True)
    open_outbox(page, visit)
    film = {"image": "radiograph", "side": "left", "result": {"shows": ["patellar_fracture"]}}
    add(page, {"base": 1, "change": "set_finding", "finding": {**LAX, "side": "left"}})
    add(page, {"base": 1, "change": "set_imaging", **film})
    examine(other, visit)
    sign(other, visit)
    device.set_offline(offline=False)
    page.wait_for_url(f"**/visits/{visit}/", timeout=60_000)
    line = page.locator("#keeping")
    until(page, lambda: "could not be entered" in line.inner_text())
    assert (
        "lachman left abnormal 2+: comes after the signature; amend the examination first"
        in line.inner_text()
    )
    assert "radiograph left patellar fracture: comes after the signature" in line.inner_text()
    for _ in range(2):
        line.get_by_role("button", name="Seen").first.click()
    until(page, line.is_hidden)


def test_whoever_leaves_leaves_no_patient_behind(guarded: Ward, browser: Browser, devices: ExitStack) -> None:
    """At logging out every copy goes; without a connection, the next person finds no examination."""
    page = device_in(guarded, browser, devices).new_page()
    log_in(page, "ann")
    examine(page, 1)
    page.locator("form[action='/logout/'] button").click()
    page.wait_for_url("**/login/")
    until(page, lambda: kept_visits(page) == set())
    guarded.wire.cut()
    page.goto("/visits/1/examine/")
    assert page.title() == "No connection – Fabella"
    assert page.locator("#open a").count() == 0


def test_a_copy_that_did_not_come_is_asked_for_again(
    ward: Ward, browser: Browser, devices: ExitStack
) -> None:
    """A page whose copy is not there asks the worker for it again while it is young."""
    visit = ward.new_visit()
    page = device_in(ward, browser, devices).new_page()
    examine(page, visit)
    page.evaluate(
        """async (path) => {
          for (const name of await caches.keys()) await (await caches.open(name)).delete(path);
        }""",
        f"/visits/{visit}/examine/",
    )
    assert f"/visits/{visit}/examine/" not in kept_visits(page)
    until(page, lambda: f"/visits/{visit}/examine/" in kept_visits(page))


def test_another_person_finds_no_copy(guarded: Ward, browser: Browser, devices: ExitStack) -> None:
    """When the session ended and somebody else logs in, the copies of the one before are gone."""
    device = device_in(guarded, browser, devices)
    page = device.new_page()
    log_in(page, "ann")
    examine(page, 1)
    device.clear_cookies(name="fabella_session")
    other = device.new_page()
    page.close()
    log_in(other, "ben")
    until(other, lambda: kept_visits(other) == set())


def test_what_was_typed_stays_for_whoever_is_logged_out(
    guarded: Ward, browser: Browser, devices: ExitStack
) -> None:
    """It was lost on the way to the log-in; logged in again elsewhere it goes, under no other name."""
    device = device_in(guarded, browser, devices)
    page = device.new_page()
    log_in(page, "ann")
    examine(page, 1)
    page.goto("/patients/new/")
    page.fill("#number", "T-late")
    page.fill("#label", "Ida Lantern")
    device.clear_cookies(name="fabella_session")
    page.locator("main button").click()
    until(page, lambda: "You were logged out: nothing was sent." in page.locator("#keeping").inner_text())
    assert (page.input_value("#number"), page.input_value("#label")) == ("T-late", "Ida Lantern")
    other = device.new_page()
    log_in(other, "ben")
    page.locator("main button").click()
    until(
        page, lambda: "ben is logged in now, and nothing was sent." in page.locator("#keeping").inner_text()
    )
    leave(other)
    page.locator("main button").click()
    until(page, lambda: "You were logged out: nothing was sent." in page.locator("#keeping").inner_text())
    log_in(other, "ann")
    page.locator("main button").click()
    page.wait_for_selector("h1:has-text('Ida Lantern')")


def test_leaving_without_a_connection_removes_the_copies(
    guarded: Ward, browser: Browser, devices: ExitStack
) -> None:
    """Who leaves while the server cannot be told is told so, and no examination stays."""
    page = device_in(guarded, browser, devices).new_page()
    log_in(page, "ann")
    examine(page, 1)
    guarded.wire.cut()
    page.locator("form[action='/logout/'] button").click()
    page.wait_for_selector("#left:visible")
    assert kept_visits(page) == set()


def test_what_an_older_program_kept_goes(ward: Ward, browser: Browser, devices: ExitStack) -> None:
    """A new version of the program keeps its own files and lets go of those of any other."""
    page = device_in(ward, browser, devices).new_page()
    page.goto("/worker.js")  # an address of ours where no script runs
    page.evaluate("caches.open('program-0').then((old) => old.put('/static/old.js', new Response('')))")
    page.evaluate("caches.open('visits-0').then((old) => old.put('/visits/1/examine/', new Response('')))")
    page.goto("/help/")
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    until(
        page,
        lambda: not page.evaluate("caches.keys().then((all) => all.some((each) => each.endsWith('-0')))"),
    )


def test_over_plain_http_it_is_said_once(ward: Ward, browser: Browser, devices: ExitStack) -> None:
    """Where browsers allow no worker, the first page says what that means, and the next ones do not."""
    device = device_in(ward, browser, devices)
    device.add_init_script(
        "Object.defineProperty(Navigator.prototype, 'serviceWorker', { value: undefined })"
    )
    page = device.new_page()
    page.goto("/help/")
    until(page, lambda: "not encrypted" in page.locator("#kept-nothing").inner_text())
    page.goto("/help/")
    page.wait_for_timeout(500)
    assert page.locator("#kept-nothing").is_hidden()
