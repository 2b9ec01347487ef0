"""The lead analyses, decides, gives feedback and releases; a candidate reads their own page alone."""

from __future__ import annotations

import csv
import json
import re
import zipfile
from hashlib import sha256
from io import BytesIO, StringIO
from typing import Any

import pytest
from django.test import Client
from pypdf import PdfReader

from fabella.assess import (
    CutMethod,
    Rules,
    decide,
    read_blueprint,
    read_marks,
    read_rules,
    write_results,
)
from fabella.exam import blueprint_of, read_station
from fabella.protocol import load_protocol
from fabella.store.exams.results import results_of
from fabella.web.analysing.decided import lines_of
from fabella.web.analysing.frozen import read_decision
from fabella.web.analysing.rules_form import rules_form
from fabella.web.demo.examining import CANDIDATE_CODE, EXAMINER_CODE
from fabella.web.visitor import local_clinician
from tests.web.clinic import as_read
from tests.web.closing import close
from tests.web.walking import DRAFT_EXAM

LEAD = local_clinician("any")
HERE = "/exams/1/"


def pdf(answer: Any) -> str:
    """The words of a PDF file."""
    assert answer.headers["Content-Type"] == "application/pdf"
    return " ".join(
        " ".join(page.extract_text().split()) for page in PdfReader(BytesIO(answer.content)).pages
    )


def decide_by(client: Client, **rules: str) -> Any:
    """Keep rules and decide by them."""
    seen = re.findall(r'name="seen" value="(\d+)"', client.get(f"{HERE}rules/").content.decode())[0]
    typed = rules_form(Rules(method=CutMethod.FIXED, fixed_cut=50)).typed
    kept = client.post(f"{HERE}rules/", {**typed, **rules, "step": "rules", "seen": seen})
    return kept if kept.status_code != 302 else client.post(f"{HERE}results/", {"step": "decide"})


@pytest.fixture
def closed(demo: Client) -> Client:
    """The lead of the invented exam, which is closed."""
    close(demo)
    return demo


@pytest.fixture
def decided(closed: Client) -> Client:
    """The same, decided."""
    assert decide_by(closed).headers["Location"] == f"{HERE}results/"
    return closed


def test_an_exam_that_is_open_is_analysed_as_it_looks_now(demo: Client) -> None:
    """The analysis of an exam that goes on says that nothing is final."""
    page = as_read(demo.get(f"{HERE}analysis/"))
    assert "still being marked" in page


def test_the_analysis_has_the_chapters_of_the_report(closed: Client) -> None:
    """With a pass mark that these marks give, page and PDF say the same, and each station has a report."""
    decide_by(closed)
    page = as_read(closed.get(f"{HERE}analysis/"))
    board = pdf(closed.get(f"{HERE}analysis/board.pdf"))
    for says in ("Decisions", "Pass mark", "Reliability", "Examiners", "50.00%"):
        assert says in page, says
        assert says.casefold() in board.casefold(), says
    stations = re.findall(r'href="(/exams/1/analysis/stations/[^"]+)"', page)
    assert stations
    assert "Report on the station" in pdf(closed.get(stations[0]))
    assert closed.get(f"{HERE}analysis/stations/none.pdf").status_code == 404


def test_an_exam_without_marks_is_told_so(demo: Client) -> None:
    """Where nothing was marked there is no analysis, and the page says why."""
    page = demo.get(f"/exams/{DRAFT_EXAM}/analysis/")
    assert page.status_code == 200
    assert "are all empty" in as_read(page)


def test_rules_are_refused_with_everything_that_is_wrong(closed: Client) -> None:
    """Fields that are no numbers are told beside each, and nothing is kept."""
    answer = decide_by(closed, sem_multiple="some", most_critical_failed="1.5", method="dice")
    assert answer.status_code == 400
    page = as_read(answer)
    assert "Is no number; write 0 to 5" in page
    assert "Standard errors of measurement added to the pass mark: 'some' is no number" in page
    assert "Is no whole number" in page
    assert not results_of(LEAD, 1)


def test_a_decision_keeps_all_that_it_rests_on(decided: Client) -> None:
    """From the text that is kept, the same decisions follow to the last byte."""
    (kept,) = results_of(LEAD, 1)
    frozen = read_decision(kept.text)
    assert frozen is not None
    stations = [read_station(each, protocol=load_protocol()) for each in frozen.stations]
    marks = read_marks(frozen.marks, blueprint=blueprint_of(stations))
    again = write_results(decide(marks, read_rules(frozen.rules)))
    assert json.loads(again) == json.loads(kept.text)["results"]
    page = as_read(decided.get(f"{HERE}results/"))
    assert kept.digest in page
    assert "pass mark 50.0%" in page


def test_a_decision_comes_as_files_that_give_the_same_again(decided: Client) -> None:
    """Its own text has the digest of the page, its table every outcome, and the files decide the same."""
    (kept,) = results_of(LEAD, 1)
    answer = decided.get(f"{HERE}results/decision.zip")
    assert 'filename="exam-1-decision-1.zip"' in answer.headers["Content-Disposition"]
    with zipfile.ZipFile(BytesIO(answer.content)) as archive:
        files = {name: archive.read(name).decode("utf-8-sig") for name in archive.namelist()}
    assert sha256(files["decision.json"].encode()).hexdigest() == kept.digest
    marks = read_marks(files["marks.csv"], blueprint=read_blueprint(files["blueprint.json"]))
    again = json.loads(write_results(decide(marks, read_rules(files["rules.json"]))))
    assert again == json.loads(kept.text)["results"]
    rows = list(csv.DictReader(StringIO(files["decisions.csv"])))
    assert [row["candidate"] for row in rows] == [each["candidate"] for each in again["decisions"]]
    for row, each in zip(rows, again["decisions"], strict=True):
        assert (row["outcome"] == "passed") is (each["outcome"] == "pass")
        assert row["score"] == ("" if each["total"] is None else f"{each['total']:.6f}")


def test_nothing_decided_has_no_files(demo: Client) -> None:
    """Before a decision there is no file of one."""
    assert demo.get(f"{HERE}results/decision.zip").status_code == 404


def test_who_fails_by_a_little_is_listed_by_how_little() -> None:
    """A score below the pass mark never reads as the pass mark itself, whatever is rounded."""
    each = {"candidate": "C1", "outcome": "fail", "reasons": ["below_pass_mark"], "review": True}
    (line,) = lines_of(json.dumps({"decisions": [{**each, "total": 57.66, "pass_mark": 57.67}]}))
    assert (line.score, line.passing) == ("57.66%", "57.67%")
    (line,) = lines_of(json.dumps({"decisions": [{**each, "total": None, "pass_mark": None}]}))
    assert (line.score, line.passing) == ("–", "–")


def test_who_said_that_allotment_was_at_random_is_kept_with_the_decision(decided: Client) -> None:
    """The tick has a name and a time in analysis, report, trail and decision; a later one is told so."""
    nobody = "Nobody has said that candidates were allotted to circuits at random."
    first = as_read(decided.get(f"{HERE}results/"))
    assert nobody in first
    assert nobody in pdf(decided.get(f"{HERE}analysis/board.pdf"))
    ticked = decided.post(f"{HERE}analysis/", {"step": "allotment", "random": "yes"})
    assert ticked.headers["Location"] == f"{HERE}analysis/"
    says = f"Candidates were allotted to circuits at random, as {LEAD.name} said on "
    assert says in as_read(decided.get(f"{HERE}analysis/"))
    assert says in pdf(decided.get(f"{HERE}analysis/board.pdf"))
    page = as_read(decided.get(f"{HERE}results/"))
    assert f"{nobody} Since then it has changed, and is not kept with this decision: {says}" in page
    assert decided.post(f"{HERE}results/", {"step": "decide"}).status_code == 302
    page = as_read(decided.get(f"{HERE}results/"))
    assert says in page
    assert "Since then" not in page
    old, new = results_of(LEAD, 1)
    before, after = read_decision(old.text), read_decision(new.text)
    assert before is not None
    assert after is not None
    assert before.allotted is None
    assert after.allotted is not None
    assert (after.allotted.by, after.at_random) == (LEAD.name, True)
    assert json.loads(old.text)["results"] == json.loads(new.text)["results"], "no decision rests on it"
    decided.post(f"{HERE}analysis/", {"step": "allotment"})
    assert nobody in as_read(decided.get(f"{HERE}analysis/"))
    trail = as_read(decided.get(f"{HERE}trail/"))
    assert trail.count("allotment at random") == 2


def test_deciding_needs_an_exam_that_is_closed(demo: Client) -> None:
    """While it is open nothing can be decided."""
    assert demo.post(f"{HERE}results/", {"step": "decide"}).status_code >= 400
    assert not results_of(LEAD, 1)


def test_everybody_has_a_page_in_one_archive(decided: Client) -> None:
    """The archive holds one PDF for each candidate, named by the code, which names nobody else."""
    page = as_read(decided.get(f"{HERE}results/pages/"))
    for _ in range(10):
        if "in one archive" in page:
            break
        page = as_read(decided.post(f"{HERE}results/pages/"))
    answer = decided.get(f"{HERE}results/pages/all.zip")
    with zipfile.ZipFile(BytesIO(answer.content)) as archive:
        names = archive.namelist()
        first = " ".join(p.extract_text() for p in PdfReader(BytesIO(archive.read(names[0]))).pages)
    candidates = [
        each["candidate"] for each in json.loads(results_of(LEAD, 1)[0].text)["results"]["decisions"]
    ]
    assert names == [f"{each}.pdf" for each in candidates]
    assert f"All {len(names)} pages" in page
    words = set(first.replace(",", " ").split())
    assert candidates[0] in words
    assert not set(candidates[1:]) & words
    assert answer.content == decided.get(f"{HERE}results/pages/all.zip").content


def test_an_appeal_finds_every_sheet(decided: Client) -> None:
    """A candidate's page has the decision and leads to each of their sheets."""
    candidate = json.loads(results_of(LEAD, 1)[0].text)["results"]["decisions"][0]["candidate"]
    page = as_read(decided.get(f"{HERE}results/of/{candidate}/"))
    sheets = re.findall(rf'href="(/exams/1/watch/[^"]+/{candidate}/[^"]+/)"', page)
    assert sheets
    assert all(decided.get(each).status_code == 200 for each in sheets)
    assert candidate in pdf(decided.get(f"{HERE}results/of/{candidate}/page.pdf"))
    assert decided.get(f"{HERE}results/of/Nobody/").status_code == 404


def test_a_candidate_reads_their_own_page_once_it_is_released(decided: Client) -> None:
    """Before the release there is none; after it, theirs alone, and an examiner has none."""
    browser = Client(SERVER_NAME="localhost")
    browser.post("/mark/", {"code": CANDIDATE_CODE})
    assert browser.get("/mark/result/page.pdf").status_code == 404
    assert decided.post(HERE, {"stage": "released", "why": ""}).status_code == 302
    page = as_read(browser.get("/mark/result/"))
    assert "/mark/result/page.pdf" in page
    own = pdf(browser.get("/mark/result/page.pdf"))
    decisions = json.loads(results_of(LEAD, 1)[0].text)["results"]["decisions"]
    codes = {each["candidate"] for each in decisions}
    named = codes & set(own.replace(",", " ").split())
    assert len(named) == 1
    other = Client(SERVER_NAME="localhost")
    other.post("/mark/", {"code": EXAMINER_CODE})
    assert other.get("/mark/result/page.pdf").status_code in {302, 403, 404}


def test_what_is_added_to_the_pass_mark_stands_beside_it(closed: Client) -> None:
    """Without it the page had one pass mark in its sentence and another in its table."""
    assert decide_by(closed, method="fixed", fixed_cut="50", sem_multiple="1", sem="4").status_code == 302
    page = as_read(closed.get(f"{HERE}results/"))
    assert (
        "pass mark 50.0%, and to pass 54.0% over all stations: 1 standard error of measurement on top" in page
    )
