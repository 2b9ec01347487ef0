"""The examination page under a finger: how many touches it takes, and what they leave on the record."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from time import perf_counter

import pytest
from playwright.sync_api import Page, expect

from fabella.protocol import load_protocol
from fabella.record import places_marked_normal
from tests.browser.chromium import Theme
from tests.browser.clinics import Clinic
from tests.browser.conftest import OpenPage
from tests.browser.hand import Hand, examination_of, finding, new_visit, open_examination
from tests.browser.seeing import violations
from tests.browser.ward import until
from tests.web.hands import Browser

TOUCHES_OF_NORMAL_KNEES = 14
TOUCHES_OF_SIX_ABNORMALITIES = 32
SECONDS_OF_SIX = 60
POSITIONS = (
    "standing",
    "walking",
    "lying",
    "bent_up",
    "knees_90",
    "special",
    "hip_foot_back",
    "vessels_nerves",
)


def sign_it(hand: Hand) -> None:
    """Read what would be signed and sign it, until the signed letter stands on the screen."""
    hand.at_hand("Read and sign")
    hand.page.wait_for_url("**/sign/")
    hand.touch("main form button.main")
    hand.page.wait_for_url("**/signed/1/")


def test_beginning_a_visit_with_a_double_click_begins_one(clinic: Clinic, page: Page) -> None:
    """Two presses of the button are one visit in the patient's list."""
    page.goto(clinic.address("add_patient"))
    page.fill("#number", "N-0")
    page.fill("#label", "Ned Kettle")
    page.locator("main button.main").click()
    patient = page.url
    page.check("input[name=complaint][value=right]")
    page.locator("main button.main").dblclick()
    page.wait_for_url("**/examine/")
    page.goto(patient)
    expect(page.locator("ol.visits > li")).to_have_count(1)


def test_a_normal_pair_of_knees_takes_few_touches(
    clinic: Clinic, page: Page, tell: Callable[[str], None]
) -> None:
    """Consent, history, every position of both knees and the signed letter, each with one touch."""
    visit = new_visit(clinic, page, number="N-1")
    hand = Hand(page)
    hand.at_hand("Consent, chaperone and pain: all done")
    hand.at_hand("Asked: no to all of it")
    for _ in POSITIONS:
        hand.at_hand("Looked at: normal, both sides")
    sign_it(hand)
    held = examination_of(clinic, visit)
    protocol = load_protocol()
    for position in POSITIONS:
        for sign, side in places_marked_normal(protocol, position):
            stated = finding(held, sign, side.value if side else None)
            assert stated is not None, (sign, side)
            assert stated["state"] == "normal"
    tell(f"a normal pair of knees, to the signed letter: {hand.touches} touches")
    assert hand.touches <= TOUCHES_OF_NORMAL_KNEES


def test_six_abnormalities_take_few_touches(clinic: Clinic, page: Page, tell: Callable[[str], None]) -> None:
    """Six abnormal findings of one knee, everything else normal, and the letter: few touches, little time."""
    visit = new_visit(clinic, page, number="N-2")
    begun = perf_counter()
    hand = Hand(page)
    hand.at_hand("Consent")
    hand.at_hand("Asked")
    hand.cell("swelling_visible", "right")
    hand.level("moderate")
    hand.at_hand("The rest")
    hand.at_hand("Looked at")
    hand.cell("effusion_sweep", "right")
    hand.level("2+ fills again by itself")
    hand.cell("joint_line_tenderness_medial", "right")
    hand.at_hand("The rest")
    hand.cell("passive_flexion", "right")
    hand.level("110°")
    hand.cell("passive_flexion", "left")
    hand.level("140°")
    hand.at_hand("The rest")
    hand.at_hand("Looked at")
    hand.cell("lachman", "right")
    hand.level("2+ clear")
    hand.cell("mcmurray_medial", "right")
    hand.at_hand("The rest")
    hand.at_hand("Looked at")
    hand.at_hand("Looked at")
    sign_it(hand)
    seconds = perf_counter() - begun
    held = examination_of(clinic, visit)
    assert finding(held, "swelling_visible", "right") == {
        "sign": "swelling_visible", "side": "right", "state": "abnormal", "level": "moderate",
    }  # fmt: skip
    assert finding(held, "passive_flexion", "right") == {
        "sign": "passive_flexion", "side": "right", "value": 110, "unit": "deg",
    }  # fmt: skip
    levels = {
        "effusion_sweep": "2+",
        "joint_line_tenderness_medial": "yes",
        "lachman": "2+",
        "mcmurray_medial": "yes",
    }
    for sign, level in levels.items():
        stated = finding(held, sign, "right")
        assert stated is not None
        assert (stated["state"], stated["level"]) == ("abnormal", level)
        other = finding(held, sign, "left")
        assert other is not None
        assert other["state"] == "normal"
    tell(f"six abnormalities, to the signed letter: {hand.touches} touches, {seconds:.0f} s")
    assert hand.touches <= TOUCHES_OF_SIX_ABNORMALITIES
    assert seconds <= SECONDS_OF_SIX


def test_not_examined_looks_and_reads_unlike_normal(clinic: Clinic, page: Page) -> None:
    """A sign that was not looked at has another mark and other words than a normal one."""
    new_visit(clinic, page, number="N-3")
    hand = Hand(page)
    page.locator("#position-standing .position-name").click()
    cell = page.locator("#sign-scar .cell[data-side=left]")
    assert cell.get_attribute("aria-label") == "left Scar: not examined"
    assert cell.inner_text() == ""
    back = page.locator("#position-standing .take-back")
    expect(back).to_be_hidden()
    hand.at_hand("Looked at: normal, both sides")
    page.locator("#position-standing .position-name").click()
    assert cell.get_attribute("aria-label") == "left Scar: normal"
    assert cell.inner_text() == "normal"
    back.click()
    assert cell.get_attribute("aria-label") == "left Scar: not examined"


@pytest.mark.parametrize(("width", "height"), [(390, 844), (820, 1180), (1280, 800)])
def test_which_knee_is_on_which_side_stays_in_sight(
    clinic: Clinic, open_page: OpenPage, width: int, height: int
) -> None:
    """At the last cell of a long position both names of the knees are on the screen, above their columns."""
    page = open_page(width=width, height=height)
    new_visit(clinic, page, number=f"N-17-{width}")
    page.get_by_role("button", name="Lying, knees extended").click()
    cells = page.locator(".position-body .cell:visible")
    cells.last.scroll_into_view_if_needed()
    names = page.locator(".facing span")
    for name, column in ((names.first, cells.nth(-2)), (names.last, cells.last)):
        expect(name).to_be_in_viewport(ratio=1)
        at, below = name.bounding_box(), column.bounding_box()
        assert at is not None
        assert below is not None
        assert at["y"] + at["height"] <= below["y"]
        assert below["x"] - 20 <= at["x"] <= below["x"] + below["width"]
    expect(names.first).to_have_text("Right knee")


def test_an_amount_that_is_not_offered_stands_with_its_unit(clinic: Clinic, page: Page) -> None:
    """What was typed beside the answers offered is marked as what holds, with its unit, and stays."""
    visit = new_visit(clinic, page, number="N-17")
    page.locator("#position-history .position-name").click()
    typed = page.get_by_label("How long ago it began, days")
    typed.fill("20")
    typed.press("Enter")
    page.wait_for_selector("#kept:text-is('Saved')")
    open_examination(clinic, page, visit)
    page.locator("#position-history .position-name").click()
    expect(typed).to_have_value("20")
    expect(typed).to_have_class(re.compile(r"\bholds\b"))
    expect(page.locator(".typed", has=typed)).to_have_text("days")
    page.get_by_role("button", name="2 weeks", exact=True).click()
    expect(typed).to_have_value("")
    expect(typed).not_to_have_class(re.compile(r"\bholds\b"))


def test_both_knees_are_both_whichever_was_named_first(clinic: Clinic, page: Page) -> None:
    """A complaint of the left and the right knee shows as one of both knees."""
    visit = new_visit(clinic, page, number="N-18")
    hands = Browser(clinic.server.port)
    address = clinic.address("api_state", visit_id=visit)
    try:
        base = json.loads(hands.ask("GET", address)[2])["version"]
        change = {"change": "set_context", "field": "complaint", "value": ["left", "right"]}
        saved = hands.save(address, {"id": "both-knees-left-first", "base": base, **change})
        assert saved["conflicts"] == []
    finally:
        hands.close()
    open_examination(clinic, page, visit)
    page.locator("#position-history .position-name").click()
    expect(page.get_by_role("button", name="both", exact=True)).to_have_attribute("aria-pressed", "true")


def test_a_measurement_shows_norm_and_other_side(clinic: Clinic, page: Page) -> None:
    """The keypad of a measured sign shows what is normal at that age and the other side; it refuses slips."""
    visit = new_visit(clinic, page, number="N-4")
    hand = Hand(page)
    page.locator("#position-bent_up .position-name").click()
    hand.cell("active_flexion", "left")
    assert "normal: " in page.locator(".beside").inner_text()
    page.locator(".reading").fill("400")
    page.locator(".reading").press("Enter")
    assert "Between 0° and 170°" in page.locator(".keypad .says").inner_text()
    page.locator(".reading").fill("138")
    page.locator(".reading").press("Enter")
    hand.cell("active_flexion", "right")
    assert "other side 138°" in page.locator(".beside").inner_text()
    page.locator(".exact button:text-is('−')").click()
    page.wait_for_selector("#kept:text-is('Saved')")
    stated = finding(examination_of(clinic, visit), "active_flexion", "right")
    assert stated is not None
    assert stated["value"] == 133


def test_a_measurement_with_a_minus_is_said_by_name(clinic: Clinic, page: Page) -> None:
    """Before anything was examined the page says so; a knee that does not come straight is no mere minus."""
    hand = Hand(page)
    open_examination(clinic, page, new_visit(clinic, page, number="INV-SHORT"))
    expect(page.locator("#comes-part .headline")).to_have_text(
        "Nothing was examined that would allow a conclusion"
    )
    page.get_by_role("button", name=re.compile("Lying")).click()
    hand.cell("passive_extension", "right")
    expect(page.locator(".choosing")).to_contain_text("Plus is hyperextension, minus short of straight.")
    hand.level("−5°")
    expect(page.locator("#sign-passive_extension .cell[data-side=right]")).to_contain_text(
        "5° short of straight"
    )
    hand.cell("passive_extension", "left")
    expect(page.locator(".choosing")).to_contain_text("other side 5° short of straight")


def test_the_rest_leaves_out_what_is_summed_up(clinic: Clinic, page: Page) -> None:
    """With an effusion said as a whole, the touch for the rest is silent about its tests on that side."""
    visit = new_visit(clinic, page, number="N-15")
    hand = Hand(page)
    page.locator("#position-lying .position-name").click()
    hand.cell("effusion", "right")
    hand.level("moderate")
    hand.at_hand("The rest")
    page.wait_for_selector("#kept:text-is('Saved')")
    page.locator("#position-lying .position-name").click()
    assert page.locator("#sign-effusion_sweep .cell[data-side=right]").inner_text() == ""
    assert page.locator("#sign-effusion_sweep .cell[data-side=left]").inner_text() == "normal"
    assert page.locator("#position-lying").get_attribute("data-how") == "full"
    held = examination_of(clinic, visit)
    assert finding(held, "effusion_sweep", "right") is None
    assert finding(held, "warmth", "right") is not None


def test_the_last_change_can_be_undone(clinic: Clinic, page: Page) -> None:
    """Undo brings back what stood before, on the record too."""
    visit = new_visit(clinic, page, number="N-5")
    hand = Hand(page)
    page.locator("#position-special .position-name").click()
    hand.cell("lachman", "left")
    hand.level("1+ slight")
    hand.level("3+ gross")
    page.wait_for_selector("#kept:text-is('Saved')")

    def level() -> object:
        return (finding(examination_of(clinic, visit), "lachman", "left") or {}).get("level")

    assert level() == "3+"
    hand.touch("#undo")
    until(page, lambda: level() == "1+")
    hand.touch("#undo")
    until(page, lambda: level() is None)


def test_undo_says_and_shows_what_it_took_back(clinic: Clinic, page: Page) -> None:
    """Whoever has gone on sees where something is not stated any more, and is told what it was."""
    new_visit(clinic, page, number="N-31")
    hand = Hand(page)
    for _ in range(2):
        hand.touch("#onward")
    hand.at_hand("Looked at: normal, both sides")
    expect(page.locator("#position-walking .position-name")).to_have_attribute("aria-expanded", "true")
    hand.touch("#undo")
    expect(page.locator("#kept")).to_have_text("Taken back: Standing. Saved")
    expect(page.locator("#position-standing .position-name")).to_have_attribute("aria-expanded", "true")
    page.locator("#position-special .position-name").click()
    hand.cell("lachman", "left")
    hand.level("3+ gross")
    expect(page.locator("#kept")).to_have_text("Saved")
    hand.touch("#onward")
    hand.touch("#undo")
    expect(page.locator("#kept")).to_have_text("Taken back: Lachman test, left. Saved")
    expect(page.locator("#sign-lachman")).to_be_visible()


def test_letters_twice_as_large_leave_room_for_the_next_touch(clinic: Clinic, page: Page) -> None:
    """On a phone with letters twice as large the button at hand has the whole width, its words in sight."""
    page.set_viewport_size({"width": 390, "height": 844})
    new_visit(clinic, page, number="N-32")
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    for button in ("#back", "#onward", "#undo"):
        expect(page.locator(button)).to_be_in_viewport(ratio=1)
    looked = page.locator("#looked")
    expect(looked).to_be_in_viewport(ratio=1)
    assert looked.evaluate("it => it.clientWidth > 300 && it.scrollWidth <= it.clientWidth")
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")


def test_the_conclusion_moves_and_can_be_hidden(clinic: Clinic, page: Page) -> None:
    """What it comes to follows each touch; hidden it stays away, and the record says that it was."""
    visit = new_visit(clinic, page, number="N-6")
    hand = Hand(page)
    page.locator("#hide").click()
    page.locator("#position-special .position-name").click()
    hand.cell("lachman", "right")
    hand.level("3+ gross")
    page.wait_for_selector("#kept:text-is('Saved')")
    page.wait_for_timeout(500)
    assert page.locator("#comes-part .bars").count() == 0
    assert examination_of(clinic, visit)["conclusion_hidden"] is True
    page.locator("#hide").click()
    page.wait_for_selector("#comes-part .bars >> text=anterior cruciate ligament tear")
    assert examination_of(clinic, visit)["conclusion_hidden"] is True
    hand.cell("lachman_end_point", "right")
    until(page, lambda: examination_of(clinic, visit)["conclusion_hidden"] is False)


def test_a_dictation_enters_after_it_was_confirmed(clinic: Clinic, page: Page) -> None:
    """What was said is shown first, what was not understood marked; only what is confirmed is entered."""
    visit = new_visit(clinic, page, number="N-7")
    page.locator(".say summary").click()
    page.fill(
        "#said",
        "Right knee moderate effusion, range 5 to 110, Lachman two plus soft end point, wibble wobble, "
        "McMurray positive medially; left knee normal.",
    )
    page.locator("#say button").click()
    page.wait_for_selector(".proposal")
    assert "wibble" in page.locator(".heard mark").first.inner_text()
    assert examination_of(clinic, visit).get("findings", []) == []
    page.locator(".proposal button.main").click()
    until(page, lambda: finding(examination_of(clinic, visit), "ligament_laxity_any", "left") is not None)
    held = examination_of(clinic, visit)
    lachman, flexion = finding(held, "lachman", "right"), finding(held, "passive_flexion", "right")
    assert lachman is not None
    assert lachman["level"] == "2+"
    assert flexion is None or flexion["value"] == 110
    other = finding(held, "ligament_laxity_any", "left")
    assert other is not None
    assert other["state"] == "normal"


def test_a_knee_said_to_be_normal_is_confirmed_at_once_or_in_part(clinic: Clinic, page: Page) -> None:
    """One box stands for all that it includes; what was not done is left out by itself."""
    visit = new_visit(clinic, page, number="N-20")
    page.locator(".say summary").click()
    page.fill("#said", "Left knee normal. Right knee: moderate effusion.")
    page.locator("#say button").click()
    left, enter = page.locator(".proposed-side", has_text="Left knee"), page.locator(".proposal button.main")
    whole = left.get_by_label("Said to be normal")
    included = left.locator("details li")
    expect(left.locator("summary")).to_have_text(re.compile(r"What this includes: [1-9]"))
    number = included.count()
    expect(left.locator("summary")).to_have_text(f"What this includes: {number}")
    expect(enter).to_have_text(f"Enter these {number + 1}")  # and the effusion
    whole.uncheck()
    expect(enter).to_have_text("Enter this one")
    whole.check()
    left.locator("summary").click()
    included.filter(has_text="McMurray").get_by_role("checkbox").uncheck()
    expect(enter).to_have_text(f"Enter these {number}")
    assert whole.evaluate("box => box.indeterminate")
    enter.click()
    until(page, lambda: finding(examination_of(clinic, visit), "ligament_laxity_any", "left") is not None)
    held = examination_of(clinic, visit)
    assert finding(held, "mcmurray_any", "left") is None


def test_signs_without_a_knee_are_answered_at_once_or_each_by_itself(clinic: Clinic, page: Page) -> None:
    """One question serves for all of which only the knee is missing; a single one may still differ."""
    visit = new_visit(clinic, page, number="N-27")
    page.locator(".say summary").click()
    page.fill("#said", "No sag. No apprehension. Pulses good. Probably an effusion.")
    page.locator("#say button").click()
    together = page.locator(".open-places .same-knee")
    expect(together).to_contain_text("3 signs without a knee.")
    together.get_by_role("button", name="both knees").click()
    expect(page.locator(".proposal button.main")).to_have_text("Enter these 6")
    alone = page.locator(".open-places li", has_text="No apprehension")
    alone.get_by_role("button", name="left knee").click()
    expect(page.locator(".proposal button.main")).to_have_text("Enter these 5")
    page.locator(".proposal button.main").click()
    until(page, lambda: finding(examination_of(clinic, visit), "posterior_sag", "left") is not None)
    held = examination_of(clinic, visit)
    assert finding(held, "distal_pulses", "right") is not None
    assert finding(held, "patellar_apprehension", "left") is not None
    assert finding(held, "patellar_apprehension", "right") is None
    assert finding(held, "effusion", "right") is None


def test_one_sign_without_a_knee_is_asked_about_once(clinic: Clinic, page: Page) -> None:
    """Nothing stands above a single question."""
    new_visit(clinic, page, number="N-28")
    page.locator(".say summary").click()
    page.fill("#said", "No sag. Right Lachman negative.")
    page.locator("#say button").click()
    page.wait_for_selector(".open-places")
    expect(page.locator(".open-places .same-knee")).to_have_count(0)


def test_a_dictated_history_is_shown_in_the_words_that_ask_for_it(clinic: Clinic, page: Page) -> None:
    """How long ago and how are proposed under the names that they have in the history, with their unit."""
    new_visit(clinic, page, number="N-19")
    page.locator(".say summary").click()
    page.fill(
        "#said", "Right knee: twisted two weeks ago, swollen within two hours, moderate effusion, scar."
    )
    page.locator("#say button").click()
    told = page.locator(".proposed-side", has_text="Told").locator("li")
    expect(told).to_have_text(
        [
            "Swelling noticed: yes",
            "Time from injury to swelling: 2 hours",
            "How long ago it began: 14 days",
            "How it came about: twist",
            "Complains of: right",
        ]
    )
    page.locator(".proposal button.main").click()
    expect(page.locator("#position-standing .summary")).to_have_text("right: scar")


def test_two_devices_see_each_other(clinic: Clinic, open_page: OpenPage) -> None:
    """What one device enters appears on the other without a reload."""
    first, second = open_page(), open_page(width=390, height=844)
    visit = new_visit(clinic, first, number="N-8")
    open_examination(clinic, second, visit)
    for page in (first, second):
        page.locator("#position-walking .position-name").click()
    Hand(first).cell("varus_thrust", "left")
    second.wait_for_selector("#sign-varus_thrust .cell.abnormal[data-side=left]", timeout=6000)


def test_corrected_details_show_on_every_page_that_is_open(clinic: Clinic, open_page: OpenPage) -> None:
    """Whoever examines, reads or writes the letter sees the new name and age without loading it again."""
    first = open_page()
    visit = new_visit(clinic, first, number="N-11", born="1998-05-04")
    here = {name: open_page() for name in ("examine", "visit", "letter")}
    for name, page in here.items():
        page.goto(clinic.address(name, visit_id=visit))
    here["examine"].wait_for_selector("html[data-ready]")
    expect(here["letter"].locator("#kept")).to_have_text("Everything is saved.")
    expect(here["letter"].locator("[data-fresh=opening]")).to_contain_text("born 4 May 1998")
    first.goto(here["visit"].locator(".crumb a").get_attribute("href") or "")
    first.get_by_role("link", name="Correct").click()
    first.fill("#label", "Ned Potts")
    first.fill("#birth_date", "1939-05-04")
    first.locator("main button.main").click()
    for page in here.values():
        expect(page.locator(".crumb")).to_contain_text("Ned Potts", timeout=10000)
    expect(here["examine"].locator("#particulars")).to_contain_text("N-11, 8")
    expect(here["letter"].locator("[data-fresh=opening]")).to_contain_text("born 4 May 1939")


def test_an_examination_by_keyboard_alone(clinic: Clinic, page: Page) -> None:
    """From the first key to the signed letter nothing needs a pointer, and the focus is always to be seen."""
    visit = new_visit(clinic, page, number="N-9")
    keys = page.keyboard

    def focused() -> str:
        return str(page.evaluate("document.activeElement.id || document.activeElement.className"))

    def tab_to(wanted: str, limit: int = 80) -> None:
        for _ in range(limit):
            if page.evaluate("(wanted) => document.activeElement.matches(wanted)", wanted):
                return
            keys.press("Tab")
            assert page.evaluate(
                "(() => { const at = document.activeElement; if (at === document.body) return true;"
                "const box = at.getBoundingClientRect(); const style = getComputedStyle(at);"
                "return box.width > 0 && (style.outlineStyle !== 'none' || at.matches('.skip')); })()"
            ), f"the focus is nowhere to be seen at {focused()}"
        pytest.fail(f"{wanted} cannot be reached; the focus is at {focused()}")

    tab_to("#looked", 120)
    for _ in range(2):
        keys.press("Enter")
        page.wait_for_timeout(400)
    tab_to("#position-standing .position-name", 200)
    tab_to("#in-standing .cell, #in-standing .sign-name")
    while "swelling_visible" not in str(page.evaluate("document.activeElement.closest('tr')?.id")):
        keys.press("ArrowDown")
    keys.press("Enter")
    assert page.evaluate("document.activeElement.textContent") == "none"
    keys.press("Tab")
    keys.press("Tab")
    keys.press("Enter")
    tab_to("#looked", 120)
    for _ in POSITIONS:
        keys.press("Enter")
        page.wait_for_timeout(400)
    assert "Read and sign" in page.locator("#looked").inner_text()
    keys.press("Enter")
    page.wait_for_url("**/sign/")
    tab_to("main form button.main")
    keys.press("Enter")
    page.wait_for_url("**/signed/1/")
    stated = finding(examination_of(clinic, visit), "swelling_visible", "right") or finding(
        examination_of(clinic, visit), "swelling_visible", "left"
    )
    assert stated is not None
    assert stated["level"] == "moderate"


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_whatever_opens_on_the_page_is_accessible(clinic: Clinic, open_page: OpenPage, theme: Theme) -> None:
    """Choices, keypad, the card of a sign and a dictation that was read have no violation."""
    page = open_page(width=390, height=844, theme=theme)
    new_visit(clinic, page, number=f"N-10-{theme}")
    page.locator("#position-special .position-name").click()
    Hand(page).cell("lachman", "left")
    page.locator(".cannot summary").click()
    assert violations(page) == []
    page.locator("#sign-pivot_shift .sign-name").click()
    page.wait_for_selector(".card-of h2")
    page.locator(".say summary").click()
    page.fill("#said", "Right Lachman two plus, opens 3 mm in twenty of flexion, wibble.")
    page.locator("#say button").click()
    page.wait_for_selector(".proposal")
    page.locator("#find-sign").fill("drawer")
    page.locator("#gist").click()
    assert violations(page) == []
