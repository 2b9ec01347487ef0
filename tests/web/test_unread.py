"""What a newer program has kept costs no list: the others stand there, and it is named with its way out."""

from __future__ import annotations

from datetime import UTC, datetime

from django.test import Client

from fabella.store.exams.models import ExamPaper
from fabella.store.school.bench_models import PracticeSet, SetPatient
from fabella.store.school.models import PracticeOutcome, PracticeRun
from fabella.web.demo.examining import EXAMINER_CODE
from fabella.web.visitor import local_clinician
from tests.web.clinic import as_read

NEWER = '{"format": "fabella.of-tomorrow/9"}'
NOW = datetime(2027, 3, 4, 9, tzinfo=UTC)
WAY_OUT = "If a newer version wrote it, start that one. Nothing is lost"


def test_a_run_of_tomorrow_leaves_the_other_runs(demo: Client) -> None:
    """The list and the record are shown; the run is named in both, and a file without it is not given."""
    me = local_clinician("any").name
    others = PracticeRun.objects.filter(student=me).count()
    run = PracticeRun.objects.create(student=me, begun=NOW, recipe=NEWER, minutes=8, told=True)
    PracticeOutcome.objects.create(run=run, seconds=60, at=NOW)
    says = f"The patient of practice run {run.id} cannot be read by Fabella"
    for address in ("/practice/", "/practice/record/"):
        page = demo.get(address)
        assert page.status_code == 200
        assert says in as_read(page)
        assert WAY_OUT in as_read(page)
    assert demo.get("/practice/").content.count(b"<tr>") == 1 + others
    file = demo.get("/practice/record/record.csv")
    assert file.status_code == 500
    assert says in as_read(file)


def test_a_set_of_tomorrow_leaves_the_other_sets(demo: Client) -> None:
    """The teacher's bench is shown with its other sets, and a patient can still be built and kept."""
    broken = PracticeSet.objects.create(name="Odd knees", maker="Tim", at=NOW)
    SetPatient.objects.create(of=broken, name="Door 3", recipe=NEWER, wished="[]", at=NOW)
    page = demo.get("/teach/")
    assert page.status_code == 200
    assert "The practice patient 'Door 3' of the set 'Odd knees' cannot be read by Fabella" in as_read(page)
    assert WAY_OUT in as_read(page)
    assert "Injured knees</a>" in page.content.decode()
    assert demo.get(f"/teach/sets/{broken.id}/").status_code == 500


def break_station(exam: int, station: str) -> str:
    """Let a newer program have written a station, and return what is said of it."""
    ExamPaper.objects.create(
        exam_id=exam, name=f"station:{station}", version=9, text=NEWER, why="", by="tim", at=NOW
    )
    return f"Version 9 of station {station} cannot be read by Fabella"


def test_a_station_of_tomorrow_leaves_the_pages_of_its_exam_open(demo: Client) -> None:
    """On the day the lead sees everything but what rests on all stations, which says which one is wanting."""
    before = as_read(demo.get("/exams/1/watch/"))
    says = break_station(1, "effusion")
    opened = ["", "trail/", "stations/", "day/", "people/", "timetable/", "timetable/change/"]
    opened += ("codes/examiners/", "papers/", "watch/", "watch/now/", "typed/", "stations/menisci/papers.pdf")
    for address in opened:
        assert demo.get(f"/exams/1/{address}").status_code == 200, address
    for address in ("", "stations/", "watch/", "typed/", "papers/", "stations/effusion/"):
        page = as_read(demo.get(f"/exams/1/{address}"))
        assert says in page, address
        assert WAY_OUT in page, address
    watch = as_read(demo.get("/exams/1/watch/"))
    assert "/effusion/" in demo.get("/exams/1/stations/").content.decode()
    assert "Menisci and locking" in watch
    assert before.count("The swollen knee") > watch.count("The swollen knee") == 0, "no sheet is called blank"
    for address in ("rules/", "rules/judges/", "analysis/", "results/", "papers/stations.pdf"):
        refused = demo.get(f"/exams/1/{address}")
        assert refused.status_code == 500, address
        assert says in as_read(refused)
    overview = demo.get("/exams/1/")
    assert "Station effusion cannot be read by this program." in as_read(overview)
    assert demo.post("/exams/1/", {"stage": "closed"}).status_code == 500
    assert "open for marking" in as_read(demo.get("/exams/1/"))


def test_examiners_of_other_stations_go_on_marking(demo: Client) -> None:
    """A tablet at a station that can be read is as before; one at the other is told why, loses nothing."""
    assert demo.post("/mark/", {"code": EXAMINER_CODE}).status_code == 302
    tree = demo.get("/api/mark/sheets").json()
    (own,) = tree["stations"]
    break_station(1, next(each for each in ("effusion", "menisci") if each != own))
    assert demo.get("/api/mark/sheets").json() == tree
    assert demo.get("/mark/sheets/").status_code == 200
    says = break_station(1, own)
    refused = demo.get("/api/mark/sheets")
    assert refused.status_code == 500
    assert says in refused.json()["error"]["message"]
    event = {"id": "marked-on-the-day-1", "candidate": tree["sheets"][0]["candidate"], "station": own}
    event |= {"act": "comment", "item": "", "text": "good", "at": NOW.isoformat()}
    sent = demo.post("/api/mark/events", {"operations": [event]}, content_type="application/json")
    assert sent.status_code == 500, "no refusal: it waits on the tablet"


def test_a_draft_is_mended_by_an_earlier_version_or_by_removing_the_station(demo: Client) -> None:
    """Either way out stands on the page of the station; until then the exam cannot be opened."""
    exam = ExamPaper.objects.filter(name="station:2", text__contains="whole_knee").latest("id").exam_id
    here = f"/exams/{exam}/stations/2/"
    says = break_station(exam, "2")
    page = demo.get(here)
    assert says in as_read(page)
    assert f"{here}versions/1/" in page.content.decode()
    assert demo.get(f"{here}versions/9/").status_code == 500
    assert demo.post(f"/exams/{exam}/", {"stage": "open"}).status_code == 500
    assert demo.post(here, {"move": "out:greets", "seen": "9"}).status_code == 500
    assert demo.post(f"{here}versions/1/").status_code == 302
    assert "version 10" in as_read(demo.get(here))
    assert says not in as_read(demo.get(f"/exams/{exam}/"))
    ExamPaper.objects.create(exam_id=exam, name="station:2", version=11, text=NEWER, why="", by="tim", at=NOW)
    assert demo.post(here, {"move": "away", "seen": "11"}).status_code == 302
    assert "cannot be read" not in as_read(demo.get(f"/exams/{exam}/stations/"))


def test_rules_of_tomorrow_are_named_as_no_mistake_of_the_lead(demo: Client) -> None:
    """The page of the rules says which version cannot be read, and does not ask the lead to correct it."""
    ExamPaper.objects.create(exam_id=1, name="rules", version=9, text=NEWER, why="", by="tim", at=NOW)
    page = demo.get("/exams/1/rules/")
    assert page.status_code == 500
    assert "Version 9 of the rules cannot be read by Fabella" in as_read(page)
