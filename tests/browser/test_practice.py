import re

from playwright.sync_api import Page, expect

from fabella.protocol import load_protocol
from tests.browser.conftest import OpenPage


def begin(page: Page) -> None:
    """Call a patient in, as a student would: a station of five minutes."""
    page.goto("/practice/")
    page.get_by_label("Ligaments and menisci").check()
    page.get_by_label("5 minutes").check()
    page.get_by_role("button", name="Call the patient in").click()
    page.wait_for_url("**/practice/runs/*/")


def do(page: Page, place: str, name: str) -> None:
    """Open a position unless it is open, press one button of it, and wait for what it brings."""
    shut = page.locator("details.place:not([open]) > summary", has_text=place)
    if shut.count():
        shut.first.click()
    button = page.get_by_role("button", name=name, exact=True)
    button.click()
    expect(button).to_have_attribute("data-done", "yes")


def test_a_run_is_played_to_its_debrief_on_a_phone(open_page: OpenPage) -> None:
    """A student examines both knees, notes, believes and finishes with a thumb, and reads the debrief."""
    page = open_page(width=390, height=844)
    begin(page)
    expect(page.locator("#latest")).to_contain_text("The patient waits")
    for courtesy in ("Greeting and introduction", "Consent", "Exposure"):
        name = page.locator("details.place button", has_text=re.compile(f"^{courtesy.split()[0]}")).first
        do(page, "Preparation", str(name.text_content()))
    for side in ("left", "right"):
        do(page, "Special tests", f"Lachman test, {side}")
        expect(page.locator("#latest")).to_contain_text(f"{side.title()} Lachman test: about")
    expect(page.locator("#now .state")).to_contain_text("The legs are bare")
    page.get_by_role("button", name="normal: Lachman test, right").click()
    expect(page.locator(".noted")).to_contain_text("Change what you noted (1)")
    page.locator("#lesion-1").select_option("acl_tear")
    for _ in range(2):
        page.get_by_role("button", name="Surer of lesion 1").click()
    expect(page.get_by_label("How sure of lesion 1, per cent")).to_have_value("60")
    page.locator(".believe > button").click()
    expect(page.locator("#latest")).to_contain_text("anterior cruciate ligament tear 60%")
    page.get_by_role("button", name="Finish, and be debriefed").click()
    page.wait_for_url("**/debrief/")
    expect(page.get_by_role("heading", name="One thing to practise next")).to_be_visible()
    drawn = page.get_by_role("img", name=re.compile("anterior cruciate ligament tear: from .* you said 60%"))
    expect(drawn).to_be_visible()
    assert page.locator(".panels path.theirs").count() == 1


def test_the_clock_runs_while_one_thinks(page: Page) -> None:
    """The clock goes on by itself, and what was thought is counted with the next thing that is done."""
    begin(page)
    expect(page.locator("#clock")).to_have_text(re.compile("^0:02 of 5:00"))
    do(page, "Preparation", str(page.locator("details.place button[value*=greeting]").text_content()))
    greeted = float(page.locator("#now").get_attribute("data-clock") or 0)
    assert greeted >= 2 + load_protocol().sign("greeting").seconds


def test_what_was_not_answered_is_sent_again_and_kept_once(page: Page, watch: object) -> None:
    """When the connection breaks, what was done waits, is sent again, and stands once."""
    watch.forgive("ERR_FAILED")  # type: ignore[attr-defined]
    begin(page)
    lost: list[str] = []

    def lose(route: object) -> None:
        """Let the server keep the event, and lose the answer, once."""
        lost.append("once")
        route.fetch()  # type: ignore[attr-defined]
        route.abort()  # type: ignore[attr-defined]

    page.route("**/api/practice/*/events", lose, times=1)
    do(page, "Preparation", str(page.locator("details.place button[value*=greeting]").text_content()))
    expect(page.locator("#now .so-far > summary")).to_have_text("So far (1)")
    assert lost == ["once"]
