"""A practice run in a real browser: the figure moves, and nothing that was pressed is lost."""

import re
from io import BytesIO
from pathlib import Path

from playwright.sync_api import Browser, Page, Route, expect
from pypdf import PdfReader

from fabella.protocol import load_protocol
from tests.browser.chromium import Watch, new_device
from tests.browser.conftest import OpenPage
from tests.browser.loading import Scales
from tests.browser.ward import running_ward

PAGE_KB = 400
STEP = "#stage .key-at"
CLOCK_RUNS = re.compile("^0:0[2-9] of 5:00")


def begin(page: Page) -> None:
    """Call a patient in, as a student would: a station of five minutes."""
    page.goto("/practice/")
    page.get_by_label("Ligaments and menisci").check()
    page.get_by_label("5 minutes").check()
    page.get_by_role("button", name="Call the patient in").click()
    page.wait_for_url("**/practice/runs/*/")


def test_calling_a_patient_in_with_a_double_click_calls_in_one(page: Page) -> None:
    """Two presses of the button are one run in the student's list."""
    page.goto("/practice/")
    rows = page.locator("table.ledger tbody tr")
    before = rows.count()
    page.get_by_role("button", name="Call the patient in").dblclick()
    page.wait_for_url("**/practice/runs/*/")
    page.goto("/practice/")
    assert rows.count() == before + 1


def unfold(page: Page, place: str) -> None:
    """Open a position of the list unless it is open."""
    shut = page.locator("details.place:not([open]) > summary", has_text=place)
    if shut.count():
        shut.first.click()


def do(page: Page, place: str, name: str) -> None:
    """Press one button of a position, and wait for what it brings."""
    unfold(page, place)
    button = page.get_by_role("button", name=name, exact=True)
    button.click()
    expect(button).to_have_attribute("data-done", "yes")


def be_debriefed(page: Page) -> None:
    """Finish, and wait until the debrief is worked out."""
    page.get_by_role("button", name="Finish, and be debriefed").click()
    page.wait_for_url("**/debrief/")
    expect(page.get_by_role("heading", name="One thing to practise next")).to_be_visible(timeout=30_000)


def take_up(page: Page, place: str) -> None:
    """Let the patient take up a position."""
    unfold(page, place)
    page.get_by_role("button", name=f"Take up the position: {place}").click()


def bare(page: Page) -> None:
    """Have the legs bared."""
    do(page, "Preparation", "Exposure of both legs")


def path_of(page: Page) -> str:
    """The outlines that stand on the stage now."""
    return str(page.locator("#stage svg").first.inner_html())


def test_who_feels_through_clothes_is_told_what_comes_first(page: Page) -> None:
    """Nothing is ticked off, the line says what to do and where, and then the test can be done."""
    begin(page)
    unfold(page, "Lying, knees extended")
    sweep = page.get_by_role("button", name="Sweep test, left", exact=True)
    sweep.click()
    latest = page.locator("#latest")
    expect(latest).to_contain_text("First: Preparation, exposure of both legs.")
    expect(sweep).not_to_have_attribute("data-done", "yes")
    bare(page)
    do(page, "Lying, knees extended", "Sweep test, left")
    expect(latest).not_to_contain_text("First:")


def test_a_run_is_played_to_its_debrief_on_a_phone(open_page: OpenPage) -> None:
    """A student looks, has the patient walk, tests both knees, notes, believes, finishes and is debriefed."""
    page = open_page(width=390, height=844)
    begin(page)
    expect(page.locator("#latest")).to_contain_text("The patient waits")
    expect(page.locator("#stage")).to_contain_text("Bare legs are drawn")
    for courtesy in ("greeting", "consent", "exposure"):
        named = page.locator(f"details.place button[value*={courtesy}]").first
        do(page, "Preparation", str(named.text_content()))
    take_up(page, "Standing")
    expect(page.get_by_role("img", name="Both legs standing, from the front")).to_be_visible()
    page.get_by_role("link", name="Back").click()
    expect(page.get_by_role("img", name="Both legs standing, from behind")).to_be_visible()
    take_up(page, "Walking")
    expect(page.get_by_role("img", name="Both legs walking, from the front")).to_be_visible()
    page.get_by_role("link", name="Right side").click()
    expect(page.get_by_role("img", name="Both legs walking, from the right side")).to_be_visible()
    for side in ("left", "right"):
        do(page, "Special tests", f"Lachman test, {side}")
        expect(page.locator("#latest")).to_contain_text("Lachman test")
    expect(page.locator("#now .state")).to_contain_text("The legs are bare")
    assert not re.search(r"\d mm", page.locator("#now").inner_text() + page.locator("#latest").inner_text())
    page.get_by_role("button", name="clear: Lachman test, right").click()
    expect(page.locator(".noted")).to_contain_text("Change what you noted (1)")
    page.locator("#lesion-1").select_option("acl_tear")
    for _ in range(2):
        page.get_by_role("button", name="Surer of lesion 1").click()
    expect(page.get_by_label("How sure of lesion 1, per cent")).to_have_value("60")
    page.locator(".believe > button").click()
    expect(page.locator("#latest")).to_contain_text("anterior cruciate ligament tear 60%")
    be_debriefed(page)
    image = page.get_by_role("img", name=re.compile("anterior cruciate ligament tear: from .* you said 60%"))
    expect(image).to_be_visible()
    assert page.locator(".panels path.theirs").count() == 1
    page.get_by_text("The same, drawn").click()
    walking = page.locator(".true-places section", has_text="Walking")
    walking.get_by_role("button", name="One position on").click()
    expect(walking.locator(".key-at")).to_have_text(re.compile(r"^2 of \d+$"))
    printed = " ".join(each.extract_text() for each in PdfReader(BytesIO(page.pdf())).pages)
    assert "Likeliest then" in printed, "the table that is folded away on the screen"
    assert "The end." in printed, "and everything that was done"
    assert "print it" not in printed


def test_a_test_and_a_walk_move_and_can_be_stepped(page: Page) -> None:
    """The walk plays at once, pauses, goes slowly and in steps; a test plays when it is done, and again."""
    page.emulate_media(reduced_motion="no-preference")
    begin(page)
    bare(page)
    take_up(page, "Walking")
    expect(page.get_by_role("button", name="Pause")).to_be_visible()
    before = path_of(page)
    page.wait_for_function("(old) => document.querySelector('#stage svg').innerHTML !== old", arg=before)
    page.get_by_role("button", name="Slowly").click()
    expect(page.get_by_role("button", name="Slowly")).to_have_attribute("aria-pressed", "true")
    page.get_by_role("button", name="One position on").click()
    expect(page.get_by_role("button", name="Play")).to_be_visible()
    expect(page.locator(STEP)).to_have_text(re.compile(r"^\d+ of \d+$"))
    still = path_of(page)
    page.wait_for_timeout(200)
    assert path_of(page) == still
    do(page, "Knees at a right angle", "Posterior drawer, left")
    again = page.get_by_role("button", name="Play again")
    either = again.or_(page.locator("#latest", has_text="cannot be tested"))
    expect(either).to_be_visible(timeout=15_000)


def test_less_motion_means_none_unasked(page: Page) -> None:
    """Where the browser asks for less motion nothing plays by itself; key positions are stepped by hand."""
    begin(page)
    bare(page)
    take_up(page, "Walking")
    expect(page.locator(STEP)).to_have_text(re.compile("^1 of"))
    still = path_of(page)
    page.wait_for_timeout(300)
    assert path_of(page) == still
    page.get_by_role("button", name="One position on").focus()
    page.keyboard.press("Enter")
    expect(page.locator(STEP)).to_have_text(re.compile("^2 of"))
    assert path_of(page) != still


def test_whoever_cannot_see_has_words(page: Page) -> None:
    """Asked for, words stand where the drawing stood, and it is noted."""
    begin(page)
    bare(page)
    page.get_by_role("button", name="Drawings in words").click()
    expect(page.locator("#now")).to_contain_text("The debrief says so")
    take_up(page, "Standing")
    expect(page.locator("#stage")).to_contain_text("kneecap")
    assert page.locator("#stage svg").count() == 0


def test_a_run_with_all_its_drawings_weighs_little(page: Page) -> None:
    """Page, scripts and every drawing and motion of a walk and of a test of both knees are at most 400 kB."""
    page.goto("/help/")
    scales = Scales(page)
    begin(page)
    bare(page)
    take_up(page, "Walking")
    page.locator("#stage .playing").wait_for()
    do(page, "Special tests", "Valgus stress at 20 to 30 degrees, right")
    do(page, "Special tests", "Valgus stress at 20 to 30 degrees, left")
    page.wait_for_load_state("networkidle")
    assert [each for each in scales.bytes_by_path if "/motions/" in each]
    assert scales.kb <= PAGE_KB, scales.bytes_by_path


def test_the_clock_runs_while_one_thinks(page: Page) -> None:
    """The clock goes on by itself, and what was thought is counted with the next thing that is done."""
    begin(page)
    expect(page.locator("#clock")).to_have_text(CLOCK_RUNS)
    do(page, "Preparation", str(page.locator("details.place button[value*=greeting]").text_content()))
    greeted = float(page.locator("#now").get_attribute("data-clock") or 0)
    assert greeted >= 2 + load_protocol().sign("greeting").seconds


def test_what_was_not_answered_is_sent_again_and_kept_once(page: Page, watch: Watch) -> None:
    """When the connection breaks, what was done waits, is sent again, and stands once."""
    watch.forgive("ERR_FAILED")
    begin(page)
    expect(page.locator("#clock")).to_have_text(CLOCK_RUNS)  # by the script; without it a form is sent
    lost: list[str] = []

    def lose(route: object) -> None:
        """Let the server keep the event, and lose the answer, once."""
        lost.append("once")
        route.fetch()  # type: ignore[attr-defined]
        route.abort()  # type: ignore[attr-defined]

    page.route("**/api/practice/*/events?*", lose, times=1)
    do(page, "Preparation", str(page.locator("details.place button[value*=greeting]").text_content()))
    expect(page.locator("#now .so-far > summary")).to_have_text("So far (1)")
    assert lost == ["once"]


def test_a_second_press_at_once_is_a_slip(page: Page) -> None:
    """Pressed twice within a moment, a thing is done once, and costs its seconds once."""
    begin(page)
    unfold(page, "Preparation")
    page.get_by_role("button", name="Exposure of both legs", exact=True).dblclick()
    expect(page.locator("#now .state")).to_contain_text("The legs are bare")
    page.wait_for_load_state("networkidle")
    page.reload()
    expect(page.locator("#now .so-far > summary")).to_have_text("So far (1)")


def test_the_hand_leads_to_what_is_not_noted_and_back(open_page: OpenPage) -> None:
    """From far down the list one press, by the keyboard too, leads to the note; once noted, one is back."""
    page = open_page(width=390, height=844)
    begin(page)
    bare(page)
    for side in ("left", "right"):
        do(page, "Special tests", f"Lachman test, {side}")
    page.locator(".hand").get_by_role("link", name="Note it").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#notes-title")).to_be_focused()
    expect(page.locator("#notes-title")).to_be_in_viewport()
    for side in ("right", "left"):
        page.get_by_role("button", name=f"clear: Lachman test, {side}").click()
    expect(page.get_by_role("button", name="Lachman test, right", exact=True)).to_be_focused()
    expect(page.get_by_role("link", name="Note it")).to_be_hidden()


def test_what_to_do_is_found_by_another_name_and_done(open_page: OpenPage) -> None:
    """A word of any of its names leaves it alone on the phone; an empty field brings all back as it was."""
    page = open_page(width=390, height=844)
    begin(page)
    bare(page)
    offers, field = page.locator("#acts .offers li:visible"), page.get_by_label("Find what to do")
    before = offers.count()
    tap = load_protocol().sign("patellar_tap")
    assert "floating patella" in tap.aliases
    field.fill("FLOAT patella")
    expect(offers).to_have_count(1)
    field.press("Enter")  # does nothing: least of all what happens to stand first
    button = page.get_by_role("button", name=f"{tap.name}, right", exact=True)
    button.click()
    expect(button).to_have_attribute("data-done", "yes")
    expect(page.locator("#acts [data-done]")).to_have_count(2)
    field.fill("no such thing")
    expect(page.locator("#found-acts")).to_contain_text("Nothing is called so")
    field.fill("")
    assert offers.count() == before


def test_the_next_tab_after_a_test_leads_to_its_note(page: Page) -> None:
    """After a press on the last side one Tab reaches a link to the note, and to what one thinks."""
    begin(page)
    bare(page)
    expect(page.get_by_role("link", name="Note it")).to_have_count(0)
    for side in ("right", "left"):
        unfold(page, "Special tests")
        page.get_by_role("button", name=f"Lachman test, {side}", exact=True).focus()
        page.keyboard.press("Enter")
        expect(page.locator("#latest")).to_contain_text(f"Lachman test, {side}")
    page.keyboard.press("Tab")
    ahead = page.locator(".offers #ahead").get_by_role("link")
    expect(ahead.first).to_be_focused()
    expect(ahead.first).to_be_in_viewport()
    page.keyboard.press("Enter")
    expect(page.locator("#notes-title")).to_be_focused()
    page.keyboard.press("Tab")
    for side in ("left", "right"):
        page.get_by_role("button", name=f"clear: Lachman test, {side}").press("Enter")
    expect(page.get_by_role("button", name="Lachman test, left", exact=True)).to_be_focused()
    page.keyboard.press("Tab")
    expect(ahead).to_have_text("Say what you think it is")
    page.keyboard.press("Enter")
    expect(page.locator("#thinking-title")).to_be_focused()
    page.keyboard.press("Tab")
    expect(page.locator("#lesion-1")).to_be_focused()


def test_an_answer_takes_the_focus_from_nothing_that_stays(page: Page) -> None:
    """Whoever has gone on to another note stands there when the answer to the one before comes."""
    begin(page)
    bare(page)
    for side in ("right", "left"):
        do(page, "Special tests", f"Lachman test, {side}")
    held: list[Route] = []
    page.route("**/events?*", lambda route: held.append(route))  # noqa: PLW0108  the driver asks what it is
    page.get_by_role("button", name="clear: Lachman test, left").press("Enter")
    other = page.get_by_role("button", name="clear: Lachman test, right")
    other.focus()
    page.wait_for_timeout(50)
    held.pop().continue_()
    expect(page.locator(".noted > summary")).to_have_text("Change what you noted (1)")
    expect(other).to_be_focused()


def test_what_stands_unsaid_is_said_with_the_end(page: Page) -> None:
    """A differential and a completion that were put down and not said count when the run is finished."""
    begin(page)
    page.locator("#lesion-1").select_option("acl_tear")
    page.get_by_label("What you would complete the examination with").fill("hip; pulses")
    be_debriefed(page)
    expect(page.get_by_role("main")).to_contain_text("you said 50%")
    expect(page.get_by_role("main")).to_contain_text("Said what would complete the examination.")


def test_a_debrief_that_takes_time_shows_what_was_done_first(browser: Browser, tmp_path: Path) -> None:
    """Where it takes time nobody looks at an empty page: what was done stands there, then the debrief."""
    with running_ward(tmp_path / "ward") as ward, new_device(browser, ward.origin) as device:
        page = device.new_page()
        begin(page)
        unfold(page, "Preparation")
        page.locator("details.place button[value*=greeting]").first.click()
        expect(page.locator("#latest")).not_to_contain_text("The patient waits")
        page.get_by_role("button", name="Finish, and be debriefed").click()
        page.wait_for_url("**/debrief/")
        expect(page.get_by_role("heading", name="What you did")).to_be_visible()
        expect(page.get_by_role("main")).to_contain_text("Greeting and introduction")
        expect(page.get_by_role("heading", name="How both knees truly were")).to_be_visible(timeout=30_000)
        expect(page.get_by_role("heading", name="What you did")).to_be_hidden()
        page.get_by_text("The same, drawn").click()
        expect(page.locator(".true-places [data-mounted]").first).to_be_visible()


def test_a_lesion_named_twice_is_told_at_its_place(page: Page) -> None:
    """What is named a second time is told beneath it, and is not said until it is mended."""
    begin(page)
    for row in (1, 3):
        page.locator(f"#lesion-{row}").select_option("acl_tear")
    expect(page.locator("#twice-3")).to_have_text("Named above already: say once how sure you are of it.")
    expect(page.locator("#twice-1")).to_be_hidden()
    page.get_by_role("button", name="Finish, and be debriefed").click()
    expect(page.locator("#lesion-3")).to_be_focused()
    page.locator("#lesion-3").select_option("pcl_tear")
    expect(page.locator("#twice-3")).to_be_hidden()
    page.locator(".believe > button").click()
    expect(page.locator("#latest")).to_contain_text("posterior cruciate ligament tear 50%")
    expect(page.locator("#now .so-far > summary")).to_have_text("So far (1)")


SHOWN = """() => [...document.querySelectorAll("#now .note, #now .so-far li, #now summary")]
  .map((each) => each.textContent.replace(/\\s+/g, " ").trim())"""
"""What stands on the changing part of a run, row by row."""


def test_what_a_press_brings_is_put_to_what_is_there(page: Page) -> None:
    """A press is one request; after many the page shows what it shows when it is loaded anew."""
    begin(page)
    bare(page)
    asked: list[str] = []
    page.on("request", lambda request: asked.append(f"{request.method} {request.url}"))
    for side in ("left", "right"):
        do(page, "Special tests", f"Lachman test, {side}")
    do(page, "Bent up fully", "Passive flexion, right")
    page.get_by_label("reading, deg").first.fill("95")
    page.get_by_role("button", name="clear: Lachman test, right").click()
    expect(page.locator(".noted > summary")).to_have_text("Change what you noted (1)")
    expect(page.get_by_label("reading, deg").first).to_have_value("95")
    do(page, "Special tests", "Lachman test, left")
    expect(page.locator("#now .so-far > summary")).to_have_text("So far (6)")
    presses = [each for each in asked if "/events" in each]
    assert not [each for each in asked if each.endswith("/now/") or "/now/?" in each]
    before = page.evaluate(SHOWN)
    page.reload()
    assert page.evaluate(SHOWN) == before
    assert len(presses) >= len(("left", "right", "flexion", "noted", "again"))


def test_two_windows_of_one_run_show_the_same(open_page: OpenPage) -> None:
    """What is done in one window is shown in the other, and the end leads both to the debrief."""
    first = open_page()
    begin(first)
    second = first.context.new_page()
    second.goto(first.url)
    bare(first)
    expect(second.locator("#now .state")).to_contain_text("The legs are bare")
    do(second, "Special tests", "Lachman test, left")
    expect(first.locator("#now .so-far > summary")).to_have_text("So far (2)")
    second.get_by_role("button", name="Finish, and be debriefed").click()
    second.wait_for_url("**/debrief/")
    first.wait_for_url("**/debrief/")


def test_what_was_pressed_without_a_connection_outlasts_the_page(browser: Browser, tmp_path: Path) -> None:
    """Presses on a dead wire wait in the browser; after the page was lost they are sent in order, once."""
    with running_ward(tmp_path / "ward") as ward, new_device(browser, ward.origin) as device:
        page = device.new_page()
        begin(page)
        address = page.url
        unfold(page, "Preparation")
        ward.wire.cut()
        for courtesy in ("greeting", "exposure"):
            page.locator(f"details.place button[value*={courtesy}]").first.click()
        expect(page.locator("#latest")).to_contain_text("kept in this browser")
        page.close()
        ward.wire.mend()
        page = device.new_page()
        page.goto(address)
        expect(page.locator("#now .so-far > summary")).to_have_text("So far (2)")
        expect(page.locator("#now .state")).to_contain_text("The legs are bare")
        done = page.locator("#now .so-far li")
        assert [
            re.search("Greeting|Exposure", str(each)) is not None for each in done.all_text_contents()
        ] == [True] * 2
        page.reload()
        expect(page.locator("#now .so-far > summary")).to_have_text("So far (2)")
        assert page.evaluate("Object.keys(localStorage).filter((each) => each.startsWith('practice '))") == []
