"""Links on another site in a real browser: whoever is logged in stays so, with all that waits there."""

from __future__ import annotations

from contextlib import closing

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.browser.clinics import PASSWORD
from tests.browser.test_sign_on import device, provider, ward  # noqa: F401  fixtures
from tests.browser.ward import Ward, log_in, until
from tests.web.provider import Provider

_COPIES = """async () => {
  const names = (await caches.keys()).filter((each) => each.startsWith("visits-"));
  const all = await Promise.all(names.map(async (each) => (await (await caches.open(each)).keys()).map((one) => new URL(one.url).pathname)));
  return all.flat().filter((each) => each.startsWith("/visits/"));
}"""  # noqa: E501  a script

_WITHOUT_WORKER = """async () => {
  for (const each of await navigator.serviceWorker.getRegistrations()) await each.unregister();
}"""


def cookies(device: BrowserContext) -> dict[str, str]:  # noqa: F811
    """What the device bears of ours."""
    return {each["name"]: each["value"] for each in device.cookies() if each["name"].startswith("fabella")}


def follow(page: Page, ward: Ward, provider: Provider, path: str) -> None:  # noqa: F811
    """Follow a link on a page of the hospital's own."""
    provider.answers["/portal"] = (200, f'<title>Hospital</title><a href="{ward.origin}{path}">Knee</a>')
    page.goto(f"{provider.issuer}/portal")
    page.get_by_role("link", name="Knee").click()


@pytest.mark.parametrize("with_worker", [False, True], ids=["no worker yet", "through the worker"])
def test_whoever_is_logged_in_stays_so(
    ward: Ward,  # noqa: F811
    device: BrowserContext,  # noqa: F811
    provider: Provider,  # noqa: F811
    *,
    with_worker: bool,
) -> None:
    """The page of the link opens at once, and cookies and kept examinations are what they were."""
    page = device.new_page()
    log_in(page, "ben")
    page.goto("/patients/new/")  # with a form
    if with_worker:
        page.goto("/visits/1/examine/")
        page.evaluate("navigator.serviceWorker.ready.then(() => true)")
        page.reload()
        until(page, lambda: page.evaluate(_COPIES) == ["/visits/1/examine/"])
    else:
        page.evaluate(_WITHOUT_WORKER)
    before = cookies(device)
    assert set(before) == {"fabella_session", "fabella_device", "fabella_csrf"}
    follow(page, ward, provider, "/patients/?q=Invented")
    page.wait_for_url(f"{ward.origin}/patients/?q=Invented")
    expect(page.locator("body")).to_have_attribute("data-author", "ben")
    assert cookies(device) == before
    if with_worker:
        page.wait_for_timeout(300)  # what the worker would let go, it lets go after the answer
        assert page.evaluate(_COPIES) == ["/visits/1/examine/"]
    page.go_back()
    expect(page).to_have_title("Hospital")


def test_whoever_is_not_logged_in_comes_there_by_the_door(
    ward: Ward,  # noqa: F811
    device: BrowserContext,  # noqa: F811
    provider: Provider,  # noqa: F811
) -> None:
    """The log-in leads on to the page of the link."""
    page = device.new_page()
    follow(page, ward, provider, "/help/")
    page.wait_for_url(f"{ward.origin}/login/?next=%2Fhelp%2F")
    page.fill("[name=name]", "ben")
    page.fill("[name=password]", PASSWORD)
    page.locator("main form button").click()
    page.wait_for_url(f"{ward.origin}/help/")


def test_without_a_script_the_step_is_the_same(
    browser: Browser,
    ward: Ward,  # noqa: F811
    provider: Provider,  # noqa: F811
) -> None:
    """A browser that runs no script stays logged in as well, and reloads the page like any other."""
    with closing(
        browser.new_context(java_script_enabled=False, ignore_https_errors=True, base_url=ward.origin)
    ) as phone:
        page = phone.new_page()
        log_in(page, "ben")
        before = cookies(phone)
        follow(page, ward, provider, "/help/")
        page.wait_for_url(f"{ward.origin}/help/")
        expect(page.locator("form[action='/logout/']")).to_have_count(1)
        page.reload()
        expect(page.locator("form[action='/logout/']")).to_have_count(1)
        assert cookies(phone) == before
