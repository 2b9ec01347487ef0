"""What stands in the way of closing, and who was not there: said on the page, and analysed as stated."""

from __future__ import annotations

import csv
import json
import re
from dataclasses import replace
from io import BytesIO, StringIO
from typing import Any

import pytest
from django.test import Client
from pypdf import PdfReader

from fabella.assess import Rules
from fabella.exam import write_timetable
from fabella.store.exams import models
from fabella.store.exams.codes import Kind, make_codes
from fabella.store.exams.leading import Stage, stage_of
from fabella.store.exams.papers import put_paper
from fabella.store.exams.results import results_of
from fabella.store.exams.sheets import all_sheets
from fabella.store.exams.trail import trail_of
from fabella.web.analysing.freezing import freeze
from fabella.web.analysing.rules_form import rules_form
from fabella.web.demo.examining import EXAMINER, EXAMINER_CODE
from fabella.web.examining.drafting import draft_of
from fabella.web.visitor import local_clinician
from tests.store.exam_days import DICE, TIM, bearer, event, marks, opened, say, timetable
from tests.store.people import NOW
from tests.web.clinic import as_read
from tests.web.closing import close, settle_all

LEAD = local_clinician("any")
HERE = "/exams/1/"
WATCH = f"{HERE}watch/"


def away(client: Client, candidate: str, presence: str = "absent", time: str = "", why: str = "ill") -> Any:
    """Say on the page of the day that a candidate is away."""
    return client.post(WATCH, {"candidate": candidate, "presence": presence, "time": time, "why": why})


def unmarked(examiner: str | None = None) -> str:
    """A candidate for whom nobody has marked anything yet."""
    judged = {each.key.candidate for each in all_sheets(LEAD, 1) if not each.sheet.is_blank}
    names = sorted(
        each.key.candidate
        for each in all_sheets(LEAD, 1)
        if each.key.candidate not in judged and examiner in (None, each.key.examiner)
    )
    return names[-1]


def test_closing_names_every_sheet_in_dispute_and_waits(demo: Client) -> None:
    """The page leads to what has to be settled; whoever closes all the same is refused with its name."""
    page = demo.get(HERE).content.decode()
    assert 'value="closed" disabled' in page
    answer = demo.post(HERE, {"stage": "closed", "why": ""})
    assert answer.status_code == 400
    assert "has two entries that disagree on item" in as_read(answer)
    assert stage_of(1) is Stage.OPEN
    assert settle_all(demo) == 1
    assert demo.post(HERE, {"stage": "closed", "why": ""}).status_code == 302


def test_a_dispute_can_be_left_open_with_a_reason(demo: Client) -> None:
    """Without a reason nothing happens; with one the exam can be closed, and page and trail tell it."""
    (sheet,) = re.findall(r'<li><a href="(/exams/1/watch/[^"]+)"', demo.get(HERE).content.decode())
    page = demo.get(sheet).content.decode()
    typed = {
        name: re.findall(rf'name="{name}" value="([^"]*)"', page)[0] for name in ("about", "item", "seen")
    }
    assert demo.post(sheet, {**typed, "step": "leave", "reason": ""}).status_code == 400
    assert demo.post(sheet, {**typed, "step": "leave", "reason": "neither remembers"}).status_code == 302
    assert "was left open: neither remembers. It counts as missing" in as_read(demo.get(sheet))
    assert "neither remembers" in {each.why for each in trail_of(LEAD, 1) if each.what == "dispute left open"}
    assert "1 dispute was left open" in as_read(demo.get(HERE))
    assert demo.post(HERE, {"stage": "closed", "why": ""}).status_code == 302


def test_an_exam_closed_over_a_dispute_is_not_decided(demo: Client) -> None:
    """The page leads to the sheet and takes no decision; whoever asks all the same is told the remedy."""
    about = models.Exam.objects.get(id=1)
    models.ExamStage.objects.create(exam=about, stage="closed", why="", by="lead", at=about.at)
    typed = rules_form(Rules()).typed
    demo.post(f"{HERE}rules/", {**typed, "method": "fixed", "fixed_cut": "50", "step": "rules", "seen": "0"})
    page = demo.get(f"{HERE}results/").content.decode()
    assert 'disabled name="step" value="decide"' in page
    (sheet,) = re.findall(r'<li><a href="(/exams/1/watch/[^"]+)"', page)
    answer = demo.post(f"{HERE}results/", {"step": "decide"})
    assert answer.status_code == 400
    assert "has two entries that disagree on item" in as_read(answer)
    assert "say which holds, or leave it open with a reason" in as_read(answer)
    assert not results_of(LEAD, 1)
    typed = {
        name: re.findall(rf'name="{name}" value="([^"]*)"', demo.get(sheet).content.decode())[0]
        for name in ("about", "item", "seen", "holds")
    }
    assert demo.post(sheet, {**typed, "reason": "asked both"}).status_code == 302
    assert demo.post(f"{HERE}results/", {"step": "decide"}).status_code == 302


def test_an_absent_candidate_is_told_everywhere_and_missed_nowhere(demo: Client) -> None:
    """The day lists them with the reason, no sheet of theirs is waited for, and their examiner sees it."""
    name = unmarked(EXAMINER)
    before = as_read(demo.get(WATCH))
    assert away(demo, name, why="a migraine").status_code == 302
    page = as_read(demo.get(WATCH))
    assert f"<b>{name}</b> <span>absent: a migraine</span>" in page
    assert "candidate away" in page
    assert "candidate away" not in before
    assert ("candidate absent", name, "a migraine") in [
        (each.what, each.about, each.why) for each in trail_of(LEAD, 1)
    ]
    tablet = Client(SERVER_NAME="localhost")
    tablet.post("/mark/", {"code": EXAMINER_CODE})
    told = tablet.get("/api/mark/sheets")
    assert "migraine" not in told.content.decode(), "why is for the lead alone"
    sheets = told.json()["sheets"]
    assert {each["candidate"] for each in sheets if each["away"] == "absent"} == {name}
    assert away(demo, name, "here", why="came after all").status_code == 302
    assert f"<b>{name}</b>" not in as_read(demo.get(WATCH))


def test_whoever_was_marked_was_not_away(demo: Client) -> None:
    """A candidate said to be absent of whom a sheet is written is named among what has to be mended."""
    judged = next(each.key.candidate for each in all_sheets(LEAD, 1) if each.sheet.finished)
    away(demo, judged)
    page = as_read(demo.get(WATCH))
    assert "Recorded as away, yet marked" in page
    assert "absent, and yet somebody marked" in page


def test_what_is_wanting_is_told_at_once(demo: Client) -> None:
    """Candidate, time and reason that are missing stand beside their fields, and nothing is kept."""
    answer = away(demo, "", "late", time="soon", why="")
    assert answer.status_code == 400
    page = as_read(answer)
    for says in ("Is not in the timetable", "Is missing; write it as 10:40", "Is no reason; write 1 to 200"):
        assert says in page, says
    assert away(demo, "C01", "dead").status_code == 400
    assert "Away or late" not in as_read(demo.get(WATCH))


@pytest.fixture
def decided(demo: Client) -> tuple[Client, str]:
    """The invented exam decided with one candidate absent; and who that is."""
    name = unmarked()
    away(demo, name)
    close(demo)
    typed = rules_form(Rules()).typed
    demo.post(f"{HERE}rules/", {**typed, "method": "fixed", "fixed_cut": "50", "step": "rules", "seen": "0"})
    assert demo.post(f"{HERE}results/", {"step": "decide"}).status_code == 302
    return demo, name


def test_an_absent_candidate_is_never_failed(decided: tuple[Client, str]) -> None:
    """They are not decided about, the frozen marks say absent, and so does their page."""
    client, name = decided
    tree = json.loads(results_of(LEAD, 1)[-1].text)
    (own,) = [each for each in tree["results"]["decisions"] if each["candidate"] == name]
    assert own["outcome"] == "insufficient_evidence"
    marks = [line.split(",") for line in tree["marks"].splitlines()]
    assert {line[5] for line in marks if line[0] == name} == {"absent"}
    pages = PdfReader(BytesIO(client.get(f"{HERE}results/of/{name}/page.pdf").content)).pages
    words = " ".join(" ".join(each.extract_text().split()) for each in pages)
    assert "You were not there for" in words
    assert "this is no failure" in words


def test_lost_paper_counts_as_a_station_not_held(demo: Client) -> None:
    """Said for several at once with a reason: frozen with the decision, told to board and appeal."""
    judged = {each.key.candidate for each in all_sheets(LEAD, 1) if each.sheet.finished}
    blank = [each.key for each in all_sheets(LEAD, 1) if each.sheet.is_blank and each.key.candidate in judged]
    examiner = blank[0].examiner
    gone = [each for each in blank if each.examiner == examiner][:2]
    why = "the folder was left in a tram"
    find = f"{HERE}typed/?q={examiner.replace(' ', '+')}"
    assert "Some of these are lost" in as_read(demo.get(find))
    ticked = ["|".join(each.parts) for each in gone]
    assert demo.post(find, {"reason": why}).status_code == 400, "none is ticked"
    assert demo.post(find, {"sheet": ticked, "reason": " "}).status_code == 400
    assert demo.post(find, {"sheet": ticked, "reason": why}).status_code == 302
    for page in (as_read(demo.get(f"{HERE}typed/")), as_read(demo.get(WATCH))):
        assert page.count(why) >= len(gone)
    assert f"{len(gone)} lost or not held" in as_read(demo.get(HERE))
    close(demo)
    typed = rules_form(Rules()).typed
    demo.post(f"{HERE}rules/", {**typed, "method": "fixed", "fixed_cut": "50", "step": "rules", "seen": "0"})
    assert demo.post(f"{HERE}results/", {"step": "decide"}).status_code == 302
    tree = json.loads(results_of(LEAD, 1)[-1].text)
    assert tree["void"] == [[*each.parts, why] for each in gone]
    lines = [line.split(",") for line in tree["marks"].splitlines()[1:]]
    whose = [(each.candidate, each.station, each.examiner) for each in gone]
    assert {line[5] for line in lines if (line[0], line[2], line[3]) in whose} == {"station_void"}
    one = gone[0]
    assert why in as_read(demo.get(f"{HERE}results/of/{one.candidate}/"))
    board = PdfReader(BytesIO(demo.get(f"{HERE}analysis/board.pdf").content)).pages
    assert why in " ".join(" ".join(each.extract_text().split()) for each in board)
    sheet = f"{HERE}watch/{one.station}/{one.candidate}/{one.examiner}/"
    assert "counts as a station that was not held" in as_read(demo.get(sheet))
    assert demo.post(sheet, {"step": "held", "reason": "found"}).status_code == 302
    assert "decide again before it is released" in as_read(demo.get(f"{HERE}results/"))
    assert "decide again" in as_read(demo.get(HERE))
    assert demo.post(HERE, {"stage": "released"}).status_code == 400
    assert demo.post(f"{HERE}results/", {"step": "decide"}).status_code == 302
    assert "decide again before it is released" not in as_read(demo.get(f"{HERE}results/"))
    assert "counts as a station that was not held, never" not in as_read(demo.get(sheet)).split("<details")[0]
    assert demo.post(sheet, {"step": "void", "reason": "lost again"}).status_code == 302


@pytest.mark.usefixtures("decided")
def test_sheets_that_nobody_wrote_are_missing_and_not_absent() -> None:
    """A candidate who was marked elsewhere was there: what is missing of them was not observed."""
    tree = json.loads(results_of(LEAD, 1)[-1].text)
    marks = [line.split(",") for line in tree["marks"].splitlines()[1:]]
    came = {line[0] for line in marks if line[5] not in {"absent", "not_observed"}}
    assert came
    assert not {line[0] for line in marks if line[5] == "absent"} & came


def test_who_was_taken_off_the_timetable_is_analysed_in_their_circuit(client: Client) -> None:
    """Their marks are not those of a circuit of its own, which the report would compare with the others."""
    del client  # who brings the empty databases
    exam = opened()
    for person, station in (("Edith", "one"), ("Fred", "two")):
        for name in ("C1", "C2", "C3"):
            say(bearer(exam, person), *marks(1, 2, 0, candidate=name, station=station))
    table = timetable()
    left = tuple(each for each in table.day.candidates if each.id != "C1")
    seats = tuple(each for each in table.seats if each.candidate != "C1")
    changed = replace(table, day=replace(table.day, candidates=left), seats=seats)
    put_paper(TIM, exam, "timetable", write_timetable(changed), now=NOW)
    rows = csv.DictReader(StringIO(freeze(TIM, draft_of(TIM, exam)).marks.lstrip("\ufeff")))
    assert {(each["candidate"], each["circuit"]) for each in rows} == {("C1", "A"), ("C2", "A"), ("C3", "A")}


def test_the_day_says_whom_a_predecessor_has_marked(client: Client) -> None:
    """They are counted apart, named with who marked them, and stand not in the way of closing."""
    del client
    exam = opened()
    say(bearer(exam, "Edith"), *marks(1, 2, 0), event("grade", grade=2), event("finish"))
    table = timetable()
    duties = tuple(
        replace(each, examiner="Rex") if each.examiner == "Edith" else each for each in table.duties
    )
    put_paper(TIM, exam, "timetable", write_timetable(replace(table, duties=duties)), now=NOW)
    day = as_read(Client(SERVER_NAME="localhost").get(f"/exams/{exam}/watch/"))
    assert "<b>1</b> marked by another" in day
    assert "<small>marked by Edith</small>" in day
    assert "5 are blank" in as_read(Client(SERVER_NAME="localhost").get(f"/exams/{exam}/"))
    tablet = Client(SERVER_NAME="localhost")
    ((_, code),) = make_codes(TIM, exam, Kind.EXAMINER, ["Rex"], now=NOW, dice=DICE)
    tablet.post("/mark/", {"code": code})
    sheets = tablet.get("/api/mark/sheets").json()["sheets"]
    assert {each["candidate"]: each["instead"] for each in sheets} == {"C1": "Edith", "C2": "", "C3": ""}
