"""What a newer program has kept costs no list: the others stand there, and it is named with its way out."""

from __future__ import annotations

from datetime import UTC, datetime
from html import unescape
from typing import Any

from django.test import Client

from fabella.store.exams.models import ExamPaper
from fabella.store.school.bench_models import PracticeSet, SetPatient
from fabella.store.school.models import PracticeOutcome, PracticeRun
from fabella.web.visitor import local_clinician

NEWER = '{"format": "fabella.of-tomorrow/9"}'
NOW = datetime(2027, 3, 4, 9, tzinfo=UTC)
WAY_OUT = "If a newer version wrote it, start that one. Nothing is lost"


def text(answer: Any) -> str:
    """The page as it is read."""
    return " ".join(unescape(answer.content.decode()).split())


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
        assert says in text(page)
        assert WAY_OUT in text(page)
    assert demo.get("/practice/").content.count(b"<tr>") == 1 + others
    file = demo.get("/practice/record/record.csv")
    assert file.status_code == 500
    assert says in text(file)


def test_a_set_of_tomorrow_leaves_the_other_sets(demo: Client) -> None:
    """The teacher's bench is shown with its other sets, and a patient can still be built and kept."""
    broken = PracticeSet.objects.create(name="Odd knees", maker="Tim", at=NOW)
    SetPatient.objects.create(of=broken, name="Door 3", recipe=NEWER, wished="[]", at=NOW)
    page = demo.get("/teach/")
    assert page.status_code == 200
    assert "The practice patient 'Door 3' of the set 'Odd knees' cannot be read by Fabella" in text(page)
    assert WAY_OUT in text(page)
    assert "Injured knees</a>" in page.content.decode()
    assert demo.get(f"/teach/sets/{broken.id}/").status_code == 500


def test_a_station_of_tomorrow_is_named_as_no_mistake_of_the_lead(demo: Client) -> None:
    """An exam is one whole: its pages name the version that cannot be read; the list of exams stands."""
    ExamPaper.objects.create(
        exam_id=1, name="station:effusion", version=9, text=NEWER, why="", by="tim", at=NOW
    )
    page = demo.get("/exams/1/stations/")
    assert page.status_code == 500
    assert "Version 9 of station:effusion cannot be read by Fabella" in text(page)
    assert WAY_OUT in text(page)
    assert demo.get("/exams/").status_code == 200


def test_rules_of_tomorrow_are_named_as_no_mistake_of_the_lead(demo: Client) -> None:
    """The page of the rules says which version cannot be read, and does not ask the lead to correct it."""
    ExamPaper.objects.create(exam_id=1, name="rules", version=9, text=NEWER, why="", by="tim", at=NOW)
    page = demo.get("/exams/1/rules/")
    assert page.status_code == 500
    assert "Version 9 of the rules cannot be read by Fabella" in text(page)
