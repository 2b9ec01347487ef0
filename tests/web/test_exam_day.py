"""The lead plans the day: people, timetable, changes on the day, codes and papers, stage by stage."""

import re
from concurrent.futures import Future
from concurrent.futures.process import BrokenProcessPool
from datetime import date
from html import unescape
from io import BytesIO
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.test.utils import override_settings
from pypdf import PdfReader

from fabella.exam import faults
from fabella.store.exams.codes import Kind, pass_by_code
from fabella.store.exams.leading import Stage, stage_of
from fabella.store.exams.papers import put_paper, timetable_of, versions_of
from fabella.web.examining import placing
from fabella.web.examining.day_plan import USUAL
from fabella.web.examining.drafting import ORDER, write_order
from fabella.web.pages import exam_change
from fabella.web.visitor import local_clinician
from fabella.web.workers import Workers
from tests.store.people import NOW

LEAD = local_clinician("any")
HERE = "/exams/1/"
CANDIDATES = "candidate,extra time,conflicts\n" + "".join(
    f"C{number},{'25%' if number == 6 else ''},{'Fern' if number == 1 else ''}\n" for number in range(1, 7)
)
EXAMINERS = "examiner,reserve\nEmber,\nFern,\nRowan,yes\n"


def text(answer: Any) -> str:
    """The page as it is read."""
    return unescape(answer.content.decode())


def words(file: Any) -> list[str]:
    """The text of a PDF file, a page each, without line breaks."""
    return [" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(file.content)).pages]


def plan(client: Client, **typed: str) -> Any:
    """Send a plan: three rounds of two stations without rests, the third with longer stations."""
    version = re.findall(r'name="seen" value="(\d+)"', text(client.get(f"{HERE}day/")))[0]
    usual = {**USUAL, "rounds": "3", "longer": "3: 25", "seen": version}
    return client.post(f"{HERE}day/", usual | typed)


def name(client: Client, candidates: str = CANDIDATES, examiners: str = EXAMINERS, **more: Any) -> Any:
    """Send the people."""
    seen = re.findall(r'name="seen" value="([\d ]+)"', text(client.get(f"{HERE}people/")))[0]
    typed = {"candidates": candidates, "examiners": examiners, "seen": seen, **more}
    return client.post(f"{HERE}people/", typed)


def make(client: Client) -> Any:
    """Have a timetable made."""
    seen = re.findall(r'name="seen" value="(\d+)"', text(client.get(f"{HERE}timetable/")))[0]
    return client.post(f"{HERE}timetable/", {"seen": seen})


@pytest.fixture
def exam(client: Client) -> Client:
    """A browser of a lead with an exam of two stations, on a day that is far off."""
    client.post("/exams/", {"name": "Year 4", "day": "2127-03-04"})
    for topic in ("ligaments", "menisci"):
        client.post(f"{HERE}stations/", {"step": "propose", "topic": topic, "minutes": "8", "painful": ""})
    return client


@pytest.fixture
def placed(exam: Client) -> Client:
    """The same with everybody placed."""
    plan(exam)
    name(exam)
    assert make(exam).headers["Location"] == f"{HERE}timetable/"
    return exam


def test_what_is_missing_is_told_step_by_step(exam: Client) -> None:
    """Before there is a plan, people and a timetable the exam cannot be opened, and the page says why."""
    page = text(exam.get(HERE))
    in_order = (
        "Rounds of the day are missing",
        "Candidates are missing",
        "Examiners are missing",
        "Timetable is not",
    )
    told = [page.index(each) for each in in_order]
    assert told == sorted(told)
    assert "Stations are missing" not in page
    assert exam.post(HERE, {"stage": "open"}).status_code == 400
    answer = make(exam)
    for each in ("rounds of the day: are missing", "candidates: are missing", "examiners: are missing"):
        assert each in text(answer)
    assert stage_of(1) is Stage.DRAFT


def test_a_part_of_an_exam_is_called_the_same_on_its_page(demo: Client) -> None:
    """Whatever is chosen among the parts of an exam, the page that opens bears that name."""
    parts = text(demo.get("/exams/1/")).partition('class="parts-of-exam"')[2].partition("</ol>")[0]
    links = re.findall(r'<a href="([^"]+)">([^<]+)</a>', parts)
    assert len(links) >= 10
    for address, title in links:
        assert re.search(rf"<h1[^>]*>{title}", text(demo.get(address))), (address, title)


def test_a_new_exam_says_what_to_write_first(client: Client) -> None:
    """Stations come first, the timetable last; once everybody is placed nothing of it is missing."""
    client.post("/exams/", {"name": "Year 4", "day": "2127-03-04"})
    missing = text(client.get(HERE)).partition("Still missing:")[2].partition("</ul>")[0]
    told = re.findall(r"<li>(.*?)</li>", missing)
    assert told[0] == "Stations are missing; propose at least one."
    assert told[-1] == "Timetable is not there; make one."


def test_a_plan_tells_what_it_comes_to(exam: Client) -> None:
    """Rounds with their times, and how many candidates there is room for."""
    assert plan(exam).status_code == 302
    page = text(exam.get(f"{HERE}day/"))
    assert "2 places × 1 circuit × 3 rounds: room for 6 candidates; 2 examiners" in page
    for each in ("09:00", "09:20", "09:35", "09:55", "10:10", "10:34"):  # two stations of 8 + 2, then 10 + 2
        assert f">{each}</td>" in page
    plan(exam, station_min="6")
    assert "written for others: station 1 (8), station 2 (8)" in text(exam.get(f"{HERE}day/"))


def test_a_day_that_ends_after_midnight_is_told_with_its_plan(exam: Client) -> None:
    """It was told at the timetable only, after everybody had been named."""
    plan(exam, first="22:30")
    assert "Round 3 ends after midnight: begin earlier, or plan another day." in text(exam.get(f"{HERE}day/"))
    plan(exam)
    assert "after midnight" not in text(exam.get(f"{HERE}day/"))


def test_an_exam_that_is_still_marked_is_not_closed_by_the_first_button(placed: Client) -> None:
    """While sheets are wanting, closing stands there without being what the page asks for."""
    close = r'<button( class="main")? name="stage" value="(?:open|closed)"'
    assert re.findall(close, text(placed.get(HERE))) == [' class="main"']
    placed.post(HERE, {"stage": "open"})
    assert re.findall(close, text(placed.get(HERE))) == [""]


def test_who_looks_for_a_late_candidate_among_the_changes_is_shown_where(placed: Client) -> None:
    """The change of a timetable replaces examiners; the page says where a candidate is said to be late."""
    page = text(placed.get(f"{HERE}timetable/change/"))
    assert 'href="/exams/1/watch/#away"' in page


def test_a_plan_that_is_wrong_is_told_at_its_fields(exam: Client) -> None:
    """All of them at once, and what was typed stands there still."""
    answer = plan(exam, first="noon", rounds="many", circuits="")
    assert (answer.status_code, text(answer).count('class="says"')) == (400, 3)
    assert 'value="noon"' in text(answer)


def test_a_plan_changed_meanwhile_is_not_overwritten(exam: Client) -> None:
    """Whoever planned on an older page is told, and nothing is kept."""
    plan(exam)
    assert plan(exam, seen="0", rounds="2", longer="").status_code == 409
    assert "3 rounds" in text(exam.get(f"{HERE}day/"))


def test_people_are_pasted_or_uploaded(exam: Client) -> None:
    """A file takes the place of what stands in its field, with or without a mark of its encoding."""
    file = SimpleUploadedFile("people.csv", b"\xef\xbb\xbfcandidate\r\nZo\xc3\xab\r\n")
    assert name(exam, "ignored", candidates_file=file).status_code == 302
    assert "Zoë" in text(exam.get(f"{HERE}people/"))
    answer = name(exam, candidates_file=SimpleUploadedFile("people.xls", b"\xff\xfe\x00"))
    assert (answer.status_code, "save it as CSV in UTF-8" in text(answer)) == (400, True)


def test_people_that_are_wrong_are_told_in_one_message(exam: Client) -> None:
    """Both tables with line numbers; nothing is kept, and what was uploaded stands there to be mended."""
    plan(exam)
    file = SimpleUploadedFile("people.csv", b"candidate,extra time\nC1,lots\n")
    answer = name(exam, examiners="examiner,away\nEmber,9\n", candidates_file=file)
    page = text(answer)
    assert answer.status_code == 400
    for each in ("candidates, line 2, extra time: 'lots'", "examiners, line 2, away: '9'"):
        assert each in page
    assert "C1,lots" in page
    assert versions_of(LEAD, 1, "candidates") == ()


def test_what_is_typed_or_copied_keeps_its_spaces(exam: Client) -> None:
    """A number keeps its per cent sign on the line where it is read; fields and examples stay as they are."""
    plan(exam, longer="3: 25 %")
    name(exam, "candidate,extra time\nC1,25 %\nC2,\n")
    day, people = (text(exam.get(f"{HERE}{each}/")) for each in ("day", "people"))
    assert 'value="3: 25 %"' in day
    assert "stations 25\u00a0% longer" in day
    assert "C1,25 %" in people
    assert "C002,25 %,Edith" in people


def test_a_timetable_holds_and_is_read_in_three_ways(placed: Client) -> None:
    """Nothing is broken; each way of reading it shows everybody at their place and time."""
    table = timetable_of(1)
    assert table is not None
    assert faults(table) == ()
    seat = next(each for each in table.seats if each.candidate == "C6")
    assert seat.turn == 2, "who has a right to more time sits in the longer round"
    pages = {
        by: text(placed.get(f"{HERE}timetable/?by={by}")) for by in ("circuits", "candidates", "examiners")
    }
    assert "Circuit A. Round 3, 10:10 to 10:34, stations 25\u00a0% longer" in pages["circuits"]
    assert "Station 2: Menisci and locking" in pages["circuits"]
    for each in table.stops():
        what = f'<span class="at">{int(each.begins_min) // 60:02}:{int(each.begins_min) % 60:02}</span>'
        assert f"{what} {each.candidate}<" in pages["circuits"]
        assert f"{what} station {each.station}<" in pages["candidates"]
    for duty in table.duties:
        assert f"round {duty.turn + 1}, circuit A, station {duty.station}<" in pages["examiners"]
    lines = pages["circuits"].split('<ul class="when-where in-turn">')[1:]
    lines = [each.partition("</ul>")[0] for each in lines]
    times = {tuple(re.findall(r'<span class="at">([0-9:]+)</span>', each)) for each in lines}
    assert len(times) == len(pages["circuits"].split('<section class="block">')) - 1, "a line for each round"
    empty = sum(each.count("</span> –<") for each in lines)
    assert empty == sum(map(len, times)) * len(table.day.places) - len(list(table.stops()))


def test_a_day_on_which_nobody_can_be_placed_is_told(exam: Client) -> None:
    """The reason stands on the page, and no timetable is kept."""
    plan(exam, rounds="1", longer="")
    name(exam, "C1\nC2\nC3\n")
    answer = make(exam)
    assert (answer.status_code, "the day has 2 places" in text(answer)) == (400, True)
    assert timetable_of(1) is None


class Elsewhere(Workers):
    """Another process, which comes to an end when the test says so."""

    def __init__(self) -> None:
        super().__init__(1)
        self.begun = 0

    def start(self, function: Any, *arguments: Any) -> Any:
        """Begin."""
        self.begun += 1
        self._work, self._promise = (function, arguments), Future[Any]()
        return self._promise

    def done(self) -> None:
        """Come to the end."""
        function, arguments = self._work
        self._promise.set_result(function(*arguments))

    def lost(self) -> None:
        """End without an answer."""
        self._promise.set_exception(BrokenProcessPool("killed"))


def test_while_it_is_worked_out_the_page_waits(exam: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """The page says so and asks again; when it is there, the next asking keeps it."""
    plan(exam)
    name(exam)
    monkeypatch.setattr(placing, "is_elsewhere", lambda: True)
    monkeypatch.setattr(placing, "_workers", work := Elsewhere())
    page = text(make(exam))
    assert "being worked out" in page
    assert 'data-awaited="making"' in page
    assert timetable_of(1) is None
    work.lost()
    assert "being worked out" in text(make(exam)), "a process that was lost is begun anew"
    make(exam)
    work.done()
    assert make(exam).status_code == 302
    assert work.begun == 2


def test_a_change_of_people_is_told_until_the_timetable_is_made_again(placed: Client) -> None:
    """Plan and people may move on; the page says that the timetable has not."""
    name(placed, CANDIDATES.replace("C2,", "D2,"))
    assert "were changed after this timetable was made" in text(placed.get(f"{HERE}timetable/"))
    assert "to be made again" in text(placed.get(HERE))
    make(placed)
    assert "were changed after" not in text(placed.get(f"{HERE}timetable/"))


def test_who_drops_out_is_replaced_and_the_change_is_shown_first(placed: Client) -> None:
    """Nothing is kept before it was seen; then timetable and people say the same, with the reason."""
    absent = {"examiner": "Fern", "first": "1", "last": "3"}
    before = timetable_of(1)
    shown = text(placed.post(f"{HERE}timetable/change/", absent))
    assert "6 of 6 candidates stay where they were" in shown
    assert '<td data-is="was">Fern</td><td data-is="now"><b>Rowan</b></td>' in shown
    assert timetable_of(1) == before
    carried = dict(re.findall(r'name="(\w+)" value="([^"]*)"', shown.partition("What would change")[2]))
    answer = placed.post(f"{HERE}timetable/change/", carried | {"step": "keep"})
    assert answer.headers["Location"] == f"{HERE}timetable/"
    table = timetable_of(1)
    assert table is not None
    assert faults(table) == ()
    assert "Fern" not in {each.examiner for each in table.duties}
    assert "were changed after" not in text(placed.get(f"{HERE}timetable/"))
    assert "Fern is away in rounds 1 to 3" in text(placed.get(f"{HERE}trail/"))
    assert "Fern,,,,1; 2; 3" in text(placed.get(f"{HERE}people/"))


def test_what_has_begun_stays(placed: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """By the clock of the day, duties and seats of rounds that have begun are what they were."""
    placed.post(HERE, {"stage": "open"})
    before = timetable_of(1)
    assert before is not None
    monkeypatch.setattr(exam_change, "rounds_begun", lambda *_: 2)
    assert "2 of 3 rounds have begun" in text(placed.get(f"{HERE}timetable/change/"))
    shown = text(placed.post(f"{HERE}timetable/change/", {"examiner": "Ember", "first": "3", "last": "3"}))
    assert "round 1" not in shown.partition("What would change")[2].lower()
    assert re.findall(r">Round (\d), circuit A, station \d</th>", shown) in (["3"], ["3", "3"])


def test_who_leaves_in_a_running_round_is_replaced_in_it(
    placed: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A round that has begun changes only where its own examiner is away."""
    monkeypatch.setattr(exam_change, "rounds_begun", lambda *_: 2)
    absent = {"examiner": "Ember", "first": "2", "last": "3"}
    shown = text(placed.post(f"{HERE}timetable/change/", absent))
    assert re.findall(r">Round (\d), circuit A", shown) == ["2", "3"]
    assert "6 of 6 candidates stay" in shown


def test_another_order_of_the_stations_waits_once_a_round_has_begun(
    placed: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It was walked in rounds that had begun, too, and whoever was replaced in one moved everybody."""
    before = timetable_of(1)
    assert before is not None
    put_paper(LEAD, 1, ORDER, write_order(before.day.stations[::-1]), now=NOW)
    absent = {"examiner": "Ember", "first": "2", "last": "3"}
    assert "0 of 6 candidates stay" in text(placed.post(f"{HERE}timetable/change/", absent))
    monkeypatch.setattr(exam_change, "rounds_begun", lambda *_: 2)
    shown = text(placed.post(f"{HERE}timetable/change/", absent))
    assert "the order of the stations" in shown.lower()
    carried = dict(re.findall(r'name="(\w+)" value="([^"]*)"', shown.partition("What would change")[2]))
    again = text(placed.post(f"{HERE}timetable/change/", carried | {"step": ""}))
    assert "6 of 6 candidates stay" in again
    assert placed.post(f"{HERE}timetable/change/", carried | {"step": "keep"}).status_code == 302
    after = timetable_of(1)
    assert after is not None
    assert (after.day.stations, after.seats) == (before.day.stations, before.seats)


@pytest.mark.parametrize(
    ("absent", "says"),
    [
        ({"examiner": "Nobody"}, "is not on this day"),
        ({"examiner": "Ember", "first": "3", "last": "1"}, "comes before the first"),
        ({"examiner": "Ember", "first": "9", "last": ""}, "is no round"),
    ],
)
def test_an_absence_that_is_wrong_is_told(placed: Client, absent: dict[str, str], says: str) -> None:
    """At its field, and nothing is worked out."""
    answer = placed.post(f"{HERE}timetable/change/", absent)
    assert (answer.status_code, says in text(answer).replace("Is no", "is no").replace("Comes", "comes")) == (
        400,
        True,
    )


def test_codes_are_shown_once_as_slips(placed: Client) -> None:
    """Each opens the exam for one examiner; a new one ends the old one, and it can be taken back."""
    here = f"{HERE}codes/examiners/"
    page = text(placed.post(here, {"step": "make"}))
    slips = dict(re.findall(r'<b>(\w+)</b> <span class="code">([\w ]+)</span>', page))
    assert set(slips) == {"Ember", "Fern", "Rowan"}
    for person, code in slips.items():
        found = pass_by_code(code)
        assert (found.exam_id, found.kind, found.person) == (1, Kind.EXAMINER, person)
    assert slips["Ember"] not in text(placed.get(here))
    assert "No other device can open the address on these slips" in page
    with override_settings(ALLOWED_HOSTS=["exams.example"]):
        one = {"step": "make", "person": "Fern"}
        by_name = text(placed.post(here, one, headers={"host": "exams.example:8765"}))
    assert "exams.example:8765/mark/" in by_name
    assert "No other device" not in by_name
    again = text(placed.post(here, {"step": "make", "person": "Ember"}))
    assert slips["Ember"] not in again
    placed.post(here, {"step": "end", "person": "Fern"})
    assert "2 of 3 examiners have one" in text(placed.get(HERE))
    assert placed.get(f"{HERE}codes/volunteers/").status_code == 404


def test_papers_are_for_four_readers(placed: Client) -> None:
    """Candidate's, examiner's and volunteer's leaf and the equipment, of one station and of all."""
    one, both = (words(placed.get(f"{HERE}{each}.pdf")) for each in ("stations/1/papers", "papers/stations"))
    titles = ("For the candidate", "For the examiner", "For the volunteer", "What has to be there")
    assert [title for page in one for title in titles if f" {title} " in page] == list(titles)
    assert sum("For the candidate" in page for page in both) == 2
    assert "draft, printed" in one[0]


def test_paper_sheets_are_those_of_the_tablets(placed: Client) -> None:
    """A sheet for everybody at every station, with names from the timetable and numbers of items."""
    address = f"{HERE}papers/mark-sheets.pdf"
    pages = words(placed.get(address))
    table = timetable_of(1)
    assert table is not None
    for seat in table.seats:
        assert sum(f"Candidate {seat.candidate} " in page for page in pages) == 2
    own = words(placed.get(f"{address}?station=2&circuit=A"))
    assert sum("Year 4, station 2" in page for page in own) == 6
    assert not any("Year 4, station 1" in page for page in own)
    assert "1 Greets, says who they are" in own[0]
    assert placed.get(f"{address}?station=9").status_code == 400


def test_there_are_no_papers_before_there_is_anything(client: Client) -> None:
    """An exam without stations prints nothing, and says what is wanting."""
    client.post("/exams/", {"name": "Empty", "day": date(2027, 3, 4).isoformat()})
    answer = client.get(f"{HERE}papers/stations.pdf")
    assert (answer.status_code, "write stations" in text(answer)) == (400, True)


def test_an_exam_goes_from_stage_to_stage(placed: Client) -> None:
    """Open, back with a reason, open again, closed; released only with a result; the trail tells it all."""
    assert placed.post(HERE, {"stage": "open"}).status_code == 302
    assert placed.post(HERE, {"stage": "draft"}).status_code == 400, "without a reason"
    placed.post(HERE, {"stage": "draft", "why": "a station was forgotten"})
    placed.post(HERE, {"stage": "open"})
    assert make_anew(placed).status_code == 409
    placed.post(HERE, {"stage": "closed"})
    assert stage_of(1) is Stage.CLOSED
    page = text(placed.get(HERE))
    assert "are not there yet" in page
    assert placed.post(HERE, {"stage": "released"}).status_code == 400
    assert placed.post(HERE, {"stage": "burnt"}).status_code == 400
    trail = text(placed.get(f"{HERE}trail/"))
    assert trail.count("<b>exam now</b>") == 4
    assert "<b>version 1 written</b> Station 1: Ligaments" in trail
    assert "a station was forgotten" in trail


def make_anew(client: Client) -> Any:
    """Ask for a timetable from nothing."""
    return client.post(f"{HERE}timetable/", {"seen": "1"})
