"""An exam is decided, and appealed, by what was usual and written on its day, whatever the program."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from html import unescape
from io import BytesIO
from itertools import count
from math import nan
from typing import Any
from zipfile import ZipFile

import pytest
from django.test import Client
from pypdf import PdfReader

from fabella.assess import CutMethod, Estimates, Rules, read_rules, write_rules
from fabella.exam import Presence, write_station
from fabella.store import NotAllowed, Role
from fabella.store.batches import Outcome
from fabella.store.exams.attending import state_presence
from fabella.store.exams.codes import Kind, make_codes
from fabella.store.exams.duties import SheetKey
from fabella.store.exams.leading import Stage
from fabella.store.exams.models import ExamPaper, ExamResult, ExamStage
from fabella.store.exams.opening import move
from fabella.store.exams.papers import ANNULLED, put_paper
from fabella.store.exams.results import KeptResult, results_of
from fabella.store.exams.settling import call_void
from fabella.web.analysing.freezing import freeze
from fabella.web.analysing.frozen import FrozenExam
from fabella.web.analysing.rules_form import rules_form
from fabella.web.examining.drafting import draft_of
from tests.database import fresh_sqlite
from tests.store.exam_days import DICE, TIM, bearer, drafted, event, marks, say, station
from tests.store.people import NOW, actor

THEN = Rules(method=CutMethod.FIXED, fixed_cut=50, least_stations=0.5, largest_prorated=0.4, resamples=200)
"""What was usual on some day: other than in this program, by which C2 would not be decided about."""

KEPT = "these are the usual rules of the program on the day the exam opened, kept then"


@pytest.fixture
def client() -> Iterator[Client]:
    """A browser of the lead at this machine, with no exam yet."""
    with fresh_sqlite():
        yield Client(SERVER_NAME="localhost")


def text(answer: Any) -> str:
    """The page as it is read, with single spaces."""
    assert answer.status_code == 200, answer.content
    return " ".join(unescape(answer.content.decode()).split())


def mark_all(exam: int) -> None:
    """C1 is good and C3 poor at both stations; C2 was seen at one, and there in two of three items."""
    for examiner, name, given in (
        ("Edith", "one", {"C1": (2, 2, 1), "C2": (2, 1, "not_observed"), "C3": (0, 0, 1)}),
        ("Fred", "two", {"C1": (2, 1, 2), "C3": (1, 0, 0)}),
    ):
        who = bearer(exam, examiner)
        for candidate, values in given.items():
            place = {"candidate": candidate, "station": name}
            grade = event("grade", grade=3 if candidate == "C1" else 1, **place)
            events = (*marks(*values, **place), grade, event("finish", **place))
            assert all(each.outcome is Outcome.SAVED for each in say(who, *events))


def close(exam: int) -> str:
    """Mark, and close; return where the exam is."""
    mark_all(exam)
    move(TIM, exam, Stage.CLOSED, now=NOW)
    return f"/exams/{exam}/"


def decide(client: Client, here: str) -> KeptResult:
    """Decide on the page, and return what was kept."""
    assert client.post(f"{here}results/", {"step": "decide"}).status_code == 302
    return results_of(TIM, int(here.split("/")[2]))[-1]


@pytest.fixture
def opened_then(client: Client) -> str:
    """An exam that was opened when other rules were usual, marked and closed."""
    del client
    exam = drafted()
    move(TIM, exam, Stage.OPEN, now=NOW, usual=THEN)
    return close(exam)


def test_what_nobody_declared_is_decided_by_what_was_usual_at_the_opening(
    client: Client, opened_then: str
) -> None:
    """Pass mark and who is decided about are those of that day; the decision says whose rules they are."""
    tree = json.loads(decide(client, opened_then).text)
    assert read_rules(json.dumps(tree["rules"])) == THEN != Rules()
    assert tree["results"]["pass_mark"]["cut"] == 50
    told = {each["candidate"]: each["outcome"] for each in tree["results"]["decisions"]}
    assert told == {"C1": "pass", "C2": "pass", "C3": "fail"}
    assert tree["rules_from"] == {"origin": "usual_at_the_opening", "at": NOW.isoformat()}


def test_every_page_says_that_these_rules_were_kept_and_declared_by_nobody(
    client: Client, opened_then: str
) -> None:
    """Rules, results, appeal, trail and the report to the board tell them from rules that were declared."""
    decide(client, opened_then)
    for page in ("rules/", "results/", "results/of/C1/", "analysis/"):
        assert KEPT in text(client.get(opened_then + page)), page
    assert "what is called usual below is of today" in text(client.get(f"{opened_then}rules/"))
    board = PdfReader(BytesIO(client.get(f"{opened_then}analysis/board.pdf").content))
    assert KEPT in " ".join(" ".join(page.extract_text().split()) for page in board.pages)
    trail = text(client.get(f"{opened_then}trail/"))
    assert "<b>version 1 kept by the program</b> usual rules of that day" in trail
    assert "rules of the pass mark" not in trail
    assert "made by other rules" not in text(client.get(f"{opened_then}results/"))
    assert "nobody has declared any: the usual ones hold, as they were on the day it opened" in text(
        client.get(opened_then)
    )


def test_rules_declared_later_say_what_they_change_of_what_was_kept(client: Client, opened_then: str) -> None:
    """They are somebody's, begin at version 1, and differ from what was usual then and not from today's."""
    typed = {**rules_form(THEN).typed, "least_stations": "100", "step": "rules", "seen": "0"}
    assert client.post(f"{opened_then}rules/", typed).status_code == 302
    page = text(client.get(f"{opened_then}rules/"))
    assert "<b>Version 1</b> share of the stations that is enough to decide [%]</span>" in page
    assert "Declared by" in page
    assert "(version 1)" in page
    assert KEPT not in page
    tree = json.loads(decide(client, opened_then).text)
    assert tree["rules_from"]["origin"] == "declared"
    told = {each["candidate"]: each["outcome"] for each in tree["results"]["decisions"]}
    assert told["C2"] == "insufficient_evidence"


def test_an_exam_that_was_opened_before_they_were_kept_follows_the_program(client: Client) -> None:
    """As it always did; its pages say that nothing was kept."""
    exam = drafted()
    ExamStage.objects.create(exam_id=exam, stage="open", why="", by="tim", at=NOW)
    here = close(exam)
    page = text(client.get(f"{here}rules/"))
    assert (
        "none were kept when this exam was opened: these are the usual rules of the program that decides"
        in page
    )
    assert "of today" not in page
    assert text(client.get(here)).count("as they were on the day it opened") == 0
    assert not ExamPaper.objects.filter(exam_id=exam, name="usual rules").exists()


def test_a_draft_says_that_its_usual_rules_will_be_kept(client: Client) -> None:
    """Before the opening those of this program hold, also where the exam had been open once before."""
    exam = drafted()
    here = f"/exams/{exam}/rules/"
    assert "which are kept as they are when the exam is opened" in text(client.get(here))
    move(TIM, exam, Stage.OPEN, now=NOW, usual=THEN)
    assert KEPT in text(client.get(here))
    move(TIM, exam, Stage.DRAFT, why="a slip", now=NOW)
    assert "which are kept as they are when the exam is opened" in text(client.get(here))
    move(TIM, exam, Stage.OPEN, now=NOW)
    kept = ExamPaper.objects.filter(exam_id=exam, name="usual rules").order_by("version")
    assert [each.text for each in kept] == [write_rules(THEN), write_rules(Rules())]
    assert "of today" not in text(client.get(here))


def test_a_decision_that_does_not_follow_again_stands(client: Client, opened_then: str) -> None:
    """Of one that was kept without its pages a program that finds another pass mark makes none."""
    result = decide(client, opened_then)
    assert "does not work out again" not in text(client.get(f"{opened_then}results/of/C2/"))
    assert client.get(f"{opened_then}results/of/C2/page.pdf").status_code == 200
    move(TIM, int(opened_then.split("/")[2]), Stage.RELEASED, now=NOW)
    tree = json.loads(result.text)
    tree["program"] = "0.1"
    del tree["pages"]
    (of_c2,) = [each for each in tree["results"]["decisions"] if each["candidate"] == "C2"]
    of_c2 |= {"pass_mark": 77.0, "outcome": "fail", "margin": -2.0, "reasons": ["below_pass_mark"]}
    exam = int(opened_then.split("/")[2])
    ExamResult.objects.create(
        exam_id=exam, number=2, text=json.dumps(tree), digest="0" * 64, by="tim", at=NOW
    )
    page = text(client.get(f"{opened_then}results/of/C2/"))
    assert "does not work out again what was decided by Fabella 0.1" in page
    assert "to pass 77.0%" in page
    assert "How it came about" not in page
    assert "page.pdf" not in page
    assert client.get(f"{opened_then}results/of/C2/page.pdf").status_code == 404
    assert "does not work out again" in text(client.get(f"{opened_then}results/pages/"))
    assert client.get(f"{opened_then}results/pages/all.zip").status_code == 404
    ((_, code),) = make_codes(TIM, exam, Kind.CANDIDATE, ["C2"], now=NOW, dice=DICE)
    own = Client(SERVER_NAME="localhost")
    own.post("/mark/", {"code": code})
    told = text(own.get("/mark/result/"))
    assert "77.0%" in told
    assert "Station by station" not in told


def test_what_is_told_of_a_result_is_what_was_told_then(client: Client, opened_then: str) -> None:
    """A candidate's page, its PDF, the archive and the grounds of an appeal are those kept, to the letter."""
    result = decide(client, opened_then)
    exam = int(opened_then.split("/")[2])
    addresses = ("results/of/C2/", "results/of/C2/page.pdf")
    before = [client.get(opened_then + each).content for each in addresses]
    then = result.text
    for today, that_day in {
        "You passed.": "You passed, in the words of that day.",
        "To practise": "To learn, as it was called then",
        "is their mean": "was their mean in those days",
        "of 4 marks": "of 4 marks as they were counted then",
    }.items():
        assert today in then, today
        then = then.replace(today, that_day)
    ExamResult.objects.create(exam_id=exam, number=2, text=then, digest="0" * 64, by="tim", at=NOW)
    page, file = (client.get(opened_then + each).content for each in addresses)
    assert [page, file] != before
    assert "was their mean in those days" in page.decode()
    assert "3 of 4 marks as they were counted then" in page.decode()
    pdf = " ".join(" ".join(each.extract_text().split()) for each in PdfReader(BytesIO(file)).pages)
    assert "You passed, in the words of that day." in pdf
    with ZipFile(BytesIO(client.get(f"{opened_then}results/pages/all.zip").content)) as archive:
        assert sorted(archive.namelist()) == ["C1.pdf", "C2.pdf", "C3.pdf"]
        assert archive.read("C2.pdf") == file
    move(TIM, exam, Stage.RELEASED, now=NOW)
    ((_, code),) = make_codes(TIM, exam, Kind.CANDIDATE, ["C2"], now=NOW, dice=DICE)
    own = Client(SERVER_NAME="localhost")
    own.post("/mark/", {"code": code})
    assert "You passed, in the words of that day." in text(own.get("/mark/result/"))
    assert "To learn, as it was called then" in text(own.get("/mark/result/"))
    assert own.get("/mark/result/page.pdf").content == file


def test_a_decision_of_before_pages_were_kept_tells_the_same(client: Client, opened_then: str) -> None:
    """What is worked out again for it is what is kept otherwise."""
    result = decide(client, opened_then)
    addresses = ("results/of/C2/page.pdf", "results/of/C3/page.pdf", "results/pages/all.zip")
    kept = [client.get(opened_then + each).content for each in addresses]
    table = text(client.get(f"{opened_then}results/of/C3/")).partition("How it came about")[2]
    tree = json.loads(result.text)
    del tree["pages"]
    exam = int(opened_then.split("/")[2])
    ExamResult.objects.create(
        exam_id=exam, number=2, text=json.dumps(tree), digest="0" * 64, by="tim", at=NOW
    )
    assert [client.get(opened_then + each).content for each in addresses] == kept
    assert text(client.get(f"{opened_then}results/of/C3/")).partition("How it came about")[2] == table


def annul(client: Client, here: str, step: str = "annul", **typed: str) -> Any:
    """Press what annuls a station, or lets it count after all."""
    return client.post(f"{here}rules/", {"step": step, "station": "one", "why": "the model broke", **typed})


def test_an_annulled_station_counts_for_nobody(client: Client, opened_then: str) -> None:
    """Decided again scores are those of the other station; reports, page, appeal and trail say why."""
    first = decide(client, opened_then)
    assert annul(client, opened_then).status_code == 302
    assert "were decided before rules, weights or the stations that count were changed" in text(
        client.get(opened_then)
    )
    rules = text(client.get(f"{opened_then}rules/"))
    assert rules.count('<td data-is="of the exam">annulled</td>') == 1
    assert rules.count('<td data-is="of the exam">100.0%</td>') == 1
    assert "counting other stations" in text(client.get(f"{opened_then}results/"))
    assert "counting other stations" in text(client.get(f"{opened_then}results/of/C1/"))
    tree = json.loads(decide(client, opened_then).text)
    found = {each["candidate"]: each for each in tree["results"]["decisions"]}
    assert found["C1"]["total"] == pytest.approx(100 * 5 / 6)
    assert found["C3"]["total"] == pytest.approx(100 * 1 / 6)
    assert found["C1"]["missing_stations"] == ["one"]
    assert found["C2"]["outcome"] == "insufficient_evidence"
    assert tree["annulled"] == {"one": "the model broke"}
    assert "counting other stations" not in text(client.get(f"{opened_then}results/of/C1/"))
    told = "One is annulled and counts for nobody: the model broke."
    for page in ("results/", "results/of/C1/", "analysis/"):
        assert told in text(client.get(opened_then + page)), page
    assert "No score counts for One." in json.dumps(tree["pages"]["C1"])
    assert "its station is annulled: the model broke" in text(client.get(f"{opened_then}results/of/C1/"))
    trail = text(client.get(f"{opened_then}trail/"))
    assert "<b>station annulled</b> One</th><td>the model broke</td>" in trail
    assert annul(client, opened_then, "restore", why="it had not").status_code == 302
    again = json.loads(decide(client, opened_then).text)
    assert again["results"] == json.loads(first.text)["results"]
    assert "<b>station counts after all</b> One" in text(client.get(f"{opened_then}trail/"))


def test_annulling_is_refused_in_words(client: Client, opened_then: str) -> None:
    """Without a reason or a station, of the last one, of one that is annulled, and while the exam is open."""
    for typed, says in (
        ({"why": ""}, "is no reason; write 1 to 200 letters"),
        ({"station": "three"}, "cannot be changed so; choose one that counts"),
        ({"step": "restore"}, "cannot be changed so; choose one that was annulled"),
    ):
        answer = annul(client, opened_then, **typed)
        assert answer.status_code == 400
        assert says in unescape(answer.content.decode())
    assert annul(client, opened_then).status_code == 302
    assert "is the last that counts" in annul(client, opened_then, station="two").content.decode()
    assert annul(client, opened_then).status_code == 400
    exam = drafted()
    move(TIM, exam, Stage.OPEN, now=NOW)
    refused = annul(client, f"/exams/{exam}/")
    assert refused.status_code == 409
    assert "A station is annulled once the exam is closed" in refused.content.decode()
    assert "Annul it" not in text(client.get(f"/exams/{exam}/rules/"))


def test_judges_estimates_come_to_what_is_decided_by_them(client: Client, opened_then: str) -> None:
    """A station that was annulled counts nothing on their page either, before anything is decided again."""
    exam = int(opened_then.split("/")[2])
    judged = Estimates(
        judges=("Ada", "Ben"), items=("one", "two"), share=((0.4, 0.6), (0.5, 0.9)), max_mark=(6, 6)
    )
    rules = replace(THEN, method=CutMethod.ANGOFF, estimates=(judged,))
    put_paper(TIM, exam, "rules", write_rules(rules), why="board of 3 March", now=NOW)
    page = text(client.get(f"{opened_then}rules/judges/"))
    assert "2 judges, 2 stations: pass mark 60.0%" in page
    assert "annulled" not in page
    annul(client, opened_then)
    told = "2 judges, 2 stations: pass mark 75.0%"
    for each in ("rules/judges/", "rules/"):
        page = text(client.get(opened_then + each))
        assert told in page, each
        assert "One, annulled, counts nothing" in page, each
    decided = json.loads(decide(client, opened_then).text)
    assert decided["results"]["pass_mark"]["cut"] == pytest.approx(75)


def test_a_kept_decision_is_read_once(
    client: Client, opened_then: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It holds kilobytes of each candidate, and whoever looked at their pages had it read several times."""
    kept, asked = decide(client, opened_then).text, list[str]()
    loads = json.loads

    def heard(told: str, **how: Any) -> Any:
        asked.append(told)
        return loads(told, **how)

    monkeypatch.setattr(json, "loads", heard)
    for page in ("results/pages/", "results/pages/", "results/", "results/of/C1/"):
        assert client.get(opened_then + page).status_code == 200
    assert asked.count(kept) == 1


def test_an_exam_is_gathered_once_an_edition(client: Client, opened_then: str) -> None:
    """Every report of the same marks rests on what was gathered once; whatever is said makes another."""
    exam = int(opened_then.split("/")[2])

    def frozen() -> FrozenExam:
        return freeze(TIM, draft_of(TIM, exam))

    first = frozen()
    assert frozen() is first
    annul(client, opened_then)
    annulled = frozen()
    assert dict(annulled.annulled) == {"one": "the model broke"}
    assert frozen() is annulled
    state_presence(TIM, exam, "C2", Presence.ABSENT, at_min=nan, why="ill", now=NOW)
    absent = frozen()
    assert absent.marks != annulled.marks
    put_paper(TIM, exam, "weights", '{"two": 2}', now=NOW)
    assert dict(frozen().weights) == {"two": 2}
    unseen = SheetKey(candidate="C2", station="two", examiner="Fred")
    ids = count()
    call_void(TIM, exam, [unseen], reason="burnt", now=NOW, name=lambda: f"named-when-it-burnt-{next(ids)}")
    assert frozen().void == (("C2", "two", "Fred", "burnt"),)
    with pytest.raises(NotAllowed):
        freeze(actor("sam", Role.STUDENT), draft_of(TIM, exam))


def of_another_program(name: str) -> str:
    """A station with a sign, a topic and a kind of item that this program does not know."""
    tree = json.loads(write_station(station(name)))
    tree["topic"] = "topic_of_another_day"
    tree["items"][0] |= {"domain": "kind_of_another_day", "signs": ["sign_of_another_day"], "seconds": 30}
    return json.dumps(tree)


def test_an_exam_whose_stations_were_all_annulled_before_that_was_refused_can_be_mended(
    client: Client, opened_then: str
) -> None:
    """Two leads could once annul the last two at the same moment: no page breaks over what they kept."""
    exam = int(opened_then.split("/")[2])
    for each in ("one", "two"):
        ExamPaper.objects.create(
            exam_id=exam,
            name=ANNULLED + each,
            version=1,
            text="annulled\n",
            why="the model broke",
            by="tim",
            at=NOW,
        )
    for page in ("", "rules/", "results/", "analysis/", "trail/", "results/of/C1/"):
        assert "Traceback" not in text(client.get(opened_then + page)), page
    assert client.post(f"{opened_then}results/", {"step": "decide"}).status_code == 400
    assert annul(client, opened_then, "restore", why="it had not").status_code == 302
    decide(client, opened_then)


def test_a_station_of_another_program_is_marked_decided_and_printed(client: Client) -> None:
    """What the program has dropped or renamed since takes no station from an exam that is held."""
    exam = drafted()
    ExamPaper.objects.create(
        exam_id=exam, name="station:one", version=2, text=of_another_program("one"), why="", by="tim", at=NOW
    )
    assert client.get(f"/exams/{exam}/stations/one/").status_code == 200
    move(TIM, exam, Stage.OPEN, now=NOW, usual=THEN)
    here = close(exam)
    for page in ("", "stations/", "stations/one/", "watch/", "rules/", "analysis/", "papers/"):
        assert "cannot be read" not in text(client.get(here + page)), page
    guide = PdfReader(BytesIO(client.get(f"{here}stations/one/papers.pdf").content))
    printed = " ".join(" ".join(page.extract_text().split()) for page in guide.pages)
    assert "Does look" in printed
    assert "kind_of_another_day" in printed
    decide(client, here)
    own = PdfReader(BytesIO(client.get(f"{here}results/of/C3/page.pdf").content))
    assert "One: does look" in " ".join(" ".join(page.extract_text().split()) for page in own.pages)
    assert client.get(f"{here}results/decision.zip").status_code == 200
