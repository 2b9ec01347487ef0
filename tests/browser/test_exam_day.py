"""A whole small exam in real browsers: built, marked, watched, closed, analysed, decided, released and read.

The lead has an account; examiners and candidates have the code on their slip and nothing else. What the
examiners touched is written down beside them, and scores, pass mark and decisions are worked out from that
by numpy and scipy alone.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, closing
from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path
from random import Random

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, expect
from pypdf import PdfReader
from scipy.stats import linregress

from tests.browser.chromium import Watch, new_device
from tests.browser.clinics import open_accounts
from tests.browser.test_marking import open_sheet, until_saved
from tests.browser.test_offline import KEPT
from tests.browser.ward import Ward, log_in, until

TOPICS = ("Ligaments", "Menisci and locking", "The swollen knee")
EXAMINERS = ("Ember", "Fern", "Rowan")
ABILITY = {"Ash": 0.9, "Birch": 0.75, "Cedar": 0.6, "Damson": 0.45, "Elder": 0.8, "Fig": 0.3}
"""Of the candidates, 0 to 1; whoever has more earns more marks and a higher grade."""

DROPPED = ("cleans_hands", "exposes")
"""Items that the lead takes out of the first station."""

DOUBLED = "greets"
"""The item that counts twice at the first station."""

BORDERLINE = 1
ON_PAPER = ("2", "Cedar")
"""The sheet for which the tablet failed: station and candidate."""

COMMENT = "Say aloud which knee is the sound one."
"""What the first examiner writes on Cedar's sheet."""

NOW = "new Date().toISOString()"
TOUCH = """all => all.forEach(([item, mark]) =>
  document.querySelectorAll(`[aria-labelledby=item-${item}] .anchors button`)[mark].click())"""
SIZES = ((390, 844), (820, 1180), (1180, 820))
Sheet = dict[str, int]


@dataclass
class Exam:
    """What its people know: its address, codes, what was touched; and items by the words on a result."""

    address: str = ""
    codes: dict[str, str] = field(default_factory=dict)
    marks: dict[tuple[str, str], Sheet] = field(default_factory=dict)
    grades: dict[tuple[str, str], int] = field(default_factory=dict)
    words: dict[str, tuple[str, str]] = field(default_factory=dict)
    dice: Random = field(default_factory=lambda: Random(3))

    def touches(self, station: str, candidate: str, items: Mapping[str, int]) -> tuple[Sheet, int]:
        """Return what an examiner gives a candidate, and write it down; ``items`` have their highest mark."""
        able = ABILITY[candidate]
        sheet = {
            name: sum(self.dice.random() < able for _ in range(most - 1)) for name, most in items.items()
        }
        grade = min(4, max(0, round(5 * able - 0.7 + self.dice.uniform(-0.5, 0.5))))
        self.marks[station, candidate], self.grades[station, candidate] = sheet, grade
        return sheet, grade

    def score(self, station: str, candidate: str) -> float:
        """Return the score of a sheet in percent: marks by weight, two each at the most."""
        sheet = self.marks[station, candidate]
        weights = np.array([2.0 if (station, item) == ("1", DOUBLED) else 1.0 for item in sheet])
        return float(100 * weights @ np.array(list(sheet.values())) / (2 * weights.sum()))

    def cuts(self) -> list[float]:
        """Return the pass mark of each station: least squares of scores on grades, read at borderline."""
        found = []
        for number in range(1, len(TOPICS) + 1):
            scores = [self.score(str(number), each) for each in ABILITY]
            line = linregress([self.grades[str(number), each] for each in ABILITY], scores)
            found.append(float(line.intercept + BORDERLINE * line.slope))
        return found

    def total(self, candidate: str) -> float:
        """Return a candidate's score: the mean of the stations."""
        return float(np.mean([self.score(str(each + 1), candidate) for each in range(len(TOPICS))]))


@pytest.fixture
def ward(tmp_path: Path) -> Iterator[Ward]:
    """A server with one account, that of the lead, and a wire to it that can be cut."""
    data = tmp_path / "school"
    open_accounts(data, {"tim": ("teacher",)})
    ward = Ward(data)
    try:
        yield ward
    finally:
        ward.wire.close()
        ward.server.kill()


# ---------------------------------------------------------------- before the day


def build(lead: Page, exam: Exam) -> None:
    """Propose three stations, take items out of one, and let another of its items count twice."""
    lead.goto("/exams/")
    lead.get_by_label("Name").fill("Year 4, small sitting")
    lead.get_by_label("Day").fill(lead.evaluate(NOW)[:10])
    with lead.expect_navigation():
        lead.get_by_role("button", name="Make the exam").click()
    exam.address = lead.url
    for topic in TOPICS:
        lead.goto(f"{exam.address}stations/")
        lead.get_by_label("What it tests").select_option(label=topic)
        lead.get_by_label("Minutes").fill("20")
        with lead.expect_navigation():
            lead.get_by_role("button", name="Propose it").click()
        for item in DROPPED if topic == TOPICS[0] else ():
            lead.locator(f"#{item} .moves button").last.click()
            expect(lead.locator(f"ol.items > #{item}")).to_have_count(0)
    lead.goto(f"{exam.address}stations/1/")
    lead.locator(f"#{DOUBLED} summary").click()
    lead.locator(f"#{DOUBLED}").get_by_label("Weight").fill("2")
    lead.get_by_role("button", name="Save").first.click()
    expect(lead.locator(f"#{DOUBLED} summary")).to_contain_text("counts 2 times")


def place(lead: Page, exam: Exam) -> None:
    """Plan two rounds of three, name everybody, have the timetable made, and print the codes."""
    lead.goto(f"{exam.address}day/")
    lead.get_by_label("The first begins at").fill(min(lead.evaluate(NOW)[11:16], "20:00"))
    lead.get_by_label("How many", exact=True).fill("2")
    lead.get_by_label("Minutes at a station").fill("20")
    lead.get_by_role("button", name="Keep this plan").click()
    lead.get_by_role("link", name="Name the people").click()
    lead.get_by_label("Candidates", exact=True).fill("\n".join(["candidate", *ABILITY]))
    posts = [f"{name},{number}" for number, name in enumerate(EXAMINERS, start=1)]
    lead.get_by_label("Examiners", exact=True).fill("\n".join(["examiner,stations", *posts]))
    lead.get_by_role("button", name="Keep these people").click()
    lead.get_by_role("link", name="On to the timetable").click()
    lead.get_by_role("button", name="Make the timetable").click()
    expect(lead.locator(".block")).to_have_count(2, timeout=60_000)
    make_codes(lead, exam, "examiners")
    lead.goto(exam.address)
    lead.get_by_role("button", name="Open it for marking").click()
    expect(lead.get_by_role("heading", level=1)).to_contain_text("open for marking")


def make_codes(lead: Page, exam: Exam, who: str) -> None:
    """Have codes made, and hand out the slips."""
    lead.goto(f"{exam.address}codes/{who}/")
    lead.get_by_role("button", name="Make codes for all who have none").click()
    expect(lead.locator(".slips li").first).to_be_visible()
    for slip in lead.locator(".slips li").all():
        exam.codes[slip.locator("b").inner_text()] = slip.locator(".code").inner_text()


# ---------------------------------------------------------------- the day


def enter(page: Page, exam: Exam, person: str) -> None:
    """Type the code of a slip."""
    page.goto("/mark/")
    page.get_by_label("The code on your slip").fill(exam.codes[person].lower())
    page.locator("form:has([name=code]) button").click()


def candidates(page: Page) -> list[str]:
    """The candidates on an examiner's list, in order."""
    return page.locator(".candidates b").all_inner_texts()


def begin(page: Page, exam: Exam, examiner: str) -> list[str]:
    """Open the sheets of an examiner, of the first until they need no connection; return the candidates."""
    enter(page, exam, examiner)
    page.wait_for_selector("html[data-ready]")
    if examiner == EXAMINERS[0]:  # who will be cut off
        until(page, lambda: ["visits", "/mark/sheets/"] in page.evaluate(KEPT))
    found = candidates(page)
    assert set(found) == set(ABILITY)
    return found


def touch(page: Page, sheet: Sheet, names: list[str], *, by_hand: bool) -> None:
    """Touch the marks of some items: with a finger each, or from within the page, which is quicker."""
    if by_hand:
        for name in names:
            page.locator(f"[aria-labelledby=item-{name}] .anchors button").nth(sheet[name]).click()
    else:
        page.evaluate(TOUCH, [[name, sheet[name]] for name in names])


def items_on(page: Page) -> dict[str, int]:
    """The items on a sheet with the number of their anchors."""
    asked = """all => all.map(each => [each.getAttribute("aria-labelledby").replace("item-", ""),
                                       each.querySelectorAll(".anchors button").length])"""
    return {str(name): int(most) for name, most in page.locator(".mark-item").evaluate_all(asked)}


def pressed(page: Page) -> int:
    """How many items have a mark on the screen."""
    return page.locator(".mark-item .anchors [aria-pressed=true]").count()


def mark(
    page: Page, exam: Exam, station: str, candidate: str, *, reloaded: bool = False, by_hand: bool = False
) -> None:
    """Mark one candidate, to the end; in the middle of it the page may be loaded again."""
    open_sheet(page, candidate)
    sheet, grade = exam.touches(station, candidate, items_on(page))
    for item, words in zip(sheet, page.locator(".asked").all_inner_texts(), strict=True):
        told = words.removesuffix(" safety")
        exam.words[f"{TOPICS[int(station) - 1]}: {told}".casefold()] = (station, item)
    names, half = list(sheet), len(sheet) // 2
    touch(page, sheet, names[:half], by_hand=by_hand)
    if reloaded:
        page.reload()
        page.wait_for_selector("html[data-ready]")
        until(page, lambda: pressed(page) == half)
    touch(page, sheet, names[half:], by_hand=by_hand)
    page.locator(".grades button").nth(grade).click()
    if (station, candidate) == ("1", "Cedar"):
        page.get_by_label("Comment on the whole").fill(COMMENT)
    page.get_by_role("button", name="Finish this sheet").click()
    page.wait_for_selector(".finished:visible")
    page.locator(".crumb a[href='#']").click()


def look(lead: Page, examiner: str, words: str) -> None:
    """The lead's page, which renews itself, says how far an examiner has come."""
    expect(lead.locator(".examiner", has_text=examiner).locator("summary")).to_contain_text(
        words, timeout=15_000
    )


def mark_everybody(lead: Page, pages: list[Page], exam: Exam, ward: Ward) -> None:
    """Three tablets mark six candidates; one is cut off for two of them, one loaded again, one fails once."""
    seen = [begin(page, exam, name) for page, name in zip(pages, EXAMINERS, strict=True)]
    lead.goto(f"{exam.address}watch/")
    for step in range(len(ABILITY)):
        if step == 1:
            ward.wire.cut()  # the first examiner's alone
        for number, page in enumerate(pages):
            station, candidate = str(number + 1), seen[number][step]
            if (station, candidate) != ON_PAPER:
                reloaded = step in (1, 4) and number < 2
                mark(page, exam, station, candidate, reloaded=reloaded, by_hand=reloaded or not step)
        if step == 2:
            assert "wait on this device" in pages[0].locator("#kept").inner_text()
            look(lead, "Ember", "1 finished")
            look(lead, "Rowan", "3 finished")
            ward.wire.mend()
    for page in pages:
        until_saved(page)
    look(lead, "Ember", "6 finished")
    look(lead, "Fern", "5 finished")


def type_in(lead: Page, exam: Exam) -> None:
    """Two people type the paper sheet; what differs is settled with the paper in hand."""
    station, candidate = ON_PAPER
    items = dict.fromkeys(exam.marks[station, "Ash"], 3)
    sheet, grade = exam.touches(station, candidate, items)
    first = next(iter(sheet))
    slip = sheet | {first: (sheet[first] + 1) % 3}
    for typist, typed in (("tw", sheet), ("kl", slip)):
        lead.goto(f"{exam.address}typed/?q={candidate}+{EXAMINERS[1]}")
        lead.locator("main ul.lines a").first.click()
        for name, value in typed.items():
            lead.locator(f"input[name=item-{name}][value='{value}']").check()
        lead.locator(f"input[name=grade][value='{grade}']").check()
        lead.get_by_label("Initials of who types this").fill(typist)
        with lead.expect_navigation():
            lead.get_by_role("button", name="Keep what I typed").click()
        expect(lead.locator(".problems")).to_have_count(0)
    expect(lead.locator(".dispute")).to_have_count(1)
    lead.locator(".dispute input[name=reason]").fill("read again on the paper")
    lead.locator(".dispute li", has_text=f"{sheet[first]}:").get_by_role("button").click()
    expect(lead.locator(".dispute")).to_have_count(0)
    expect(lead.locator("main")).to_contain_text("typed in from paper by TW and KL")


# ---------------------------------------------------------------- afterwards


def press(lead: Page, exam: Exam, button: str, stage: str) -> None:
    """Bring the exam to its next stage."""
    lead.goto(exam.address)
    lead.get_by_role("button", name=button).click()
    expect(lead.get_by_role("heading", level=1)).to_contain_text(stage)


def analyse(lead: Page, exam: Exam) -> None:
    """The pass marks of the analysis are those of scipy, station by station and as a whole."""
    lead.get_by_role("link", name="Analysis", exact=True).click()
    expect(lead.get_by_role("heading", name="Pass mark", exact=True)).to_be_visible(timeout=60_000)
    cuts = exam.cuts()
    chapter = lead.locator(".chapter", has=lead.get_by_role("heading", name="Pass mark", exact=True))
    expect(chapter.locator(".weighty")).to_contain_text(f"{np.mean(cuts):.2f}%")
    told = chapter.get_by_role("table").locator("tbody tr td[data-is^='Pass mark ±']").all_inner_texts()
    assert [each.split()[0] for each in told] == [f"{each:.1f}" for each in cuts]
    board = lead.get_by_role("link", name="Report to the board").get_attribute("href")
    words = read_pdf(lead, str(board))
    assert f"{np.mean(cuts):.2f}%" in words


def decide(lead: Page, exam: Exam) -> set[str]:
    """Decide by borderline regression; return who passes, as numpy says."""
    lead.get_by_role("link", name="Results", exact=True).first.click()
    lead.get_by_role("button", name="Decide by these rules").click()
    cut, passing = float(np.mean(exam.cuts())), set()
    expect(lead.locator(".weighty").first).to_contain_text(f"pass mark {cut:.1f}%")
    for name in ABILITY:
        line = lead.locator("tbody tr", has=lead.get_by_role("link", name=name, exact=True))
        expect(line).to_contain_text(f"{exam.total(name):.1f}%")
        is_passing = exam.total(name) >= cut
        expect(line).to_contain_text("passed" if is_passing else "did not pass")
        passing |= {name} if is_passing else set()
    return passing


def read_pdf(page: Page, address: str) -> str:
    """The words of a PDF that a page leads to."""
    answer = page.request.get(address)
    assert answer.headers["content-type"] == "application/pdf"
    pages = PdfReader(BytesIO(answer.body())).pages
    return " ".join(" ".join(each.extract_text().split()) for each in pages)


def read_result(page: Page, exam: Exam, person: str, *, passes: bool) -> None:
    """A candidate reads their own result and page, and nobody else's name or number."""
    enter(page, exam, person)
    result = " ".join(page.locator("main").inner_text().split())
    own = read_pdf(page, str(page.get_by_role("link", name="PDF").get_attribute("href")))
    others = {each for each in (*ABILITY, *EXAMINERS) if each != person}
    for words in (result, own):
        assert person in words
        assert ("You passed" in words) is passes
        assert f"{exam.total(person):.1f}%" in words
        assert f"{np.mean(exam.cuts()):.1f}%" in words
        assert (COMMENT in words) is (person == "Cedar")
        assert not others & set(re.findall(r"\w+", words))
    for heading, is_well in (("Done well", True), ("To practise", False)):
        section = page.locator("section", has=page.get_by_role("heading", name=heading, exact=True))
        listed = section.locator("li").all_inner_texts()
        assert listed
        for line in listed:
            station, item = exam.words[line.rstrip(".").split(" – ")[0].casefold()]
            assert (exam.marks[station, person][item] == 2) is is_well, line
    for path in ("results/", f"results/of/{person}/", "analysis/"):
        answer = page.request.get(exam.address + path, max_redirects=0)
        assert answer.status in {302, 403}, path


def test_a_whole_small_exam(browser: Browser, ward: Ward, watch: Watch) -> None:
    """Built, marked on three tablets in trouble, typed in from paper, watched, closed, decided, released."""
    exam, direct = Exam(), "http:" + f"//127.0.0.1:{ward.server.port}"
    with ExitStack() as devices:

        def device(origin: str, size: tuple[int, int]) -> Page:
            made = new_device(browser, origin, width=size[0], height=size[1])
            devices.enter_context(closing(made))
            watch.attend(made, origin)
            return made.new_page()

        for words in ("ERR_CONNECTION", "ERR_EMPTY_RESPONSE", "ERR_SOCKET", "status of 404"):
            watch.forgive(words)  # the wire is cut, and a candidate comes too early
        lead = device(direct, (1280, 800))
        log_in(lead, "tim")
        build(lead, exam)
        place(lead, exam)
        make_codes(lead, exam, "candidates")
        early = device(direct, SIZES[0])
        enter(early, exam, "Cedar")
        expect(early.locator("main")).to_contain_text("not released yet")
        tablets = [
            device(origin, size) for origin, size in zip((ward.origin, direct, direct), SIZES, strict=True)
        ]
        mark_everybody(lead, tablets, exam, ward)
        type_in(lead, exam)
        press(lead, exam, "Close it: no more marks", "closed")
        analyse(lead, exam)
        passing = decide(lead, exam)
        assert 0 < len(passing) < len(ABILITY), "both kinds of result are seen"
        early.reload()
        expect(early.locator("main")).to_contain_text("not released yet")
        assert early.request.get("/mark/result/page.pdf").status == 404
        press(lead, exam, "Release the results", "results released")
        read_result(early, exam, "Cedar", passes="Cedar" in passing)
        read_result(device(direct, SIZES[1]), exam, "Fig", passes="Fig" in passing)
        trail(lead, exam)


def trail(lead: Page, exam: Exam) -> None:
    """Every stage stands in the trail, and every sheet of a candidate can be read for an appeal."""
    lead.goto(f"{exam.address}trail/")
    for words in ("open", "closed", "released"):
        expect(lead.locator("table.trail")).to_contain_text(words)
    lead.goto(f"{exam.address}results/of/{ON_PAPER[1]}/")
    sheets = lead.locator("ul.papers a")
    expect(sheets).to_have_count(len(TOPICS))
    lead.get_by_role("link", name=re.compile(f"^Station {ON_PAPER[0]}: ")).click()
    expect(lead.locator("main")).to_contain_text("read again on the paper")
