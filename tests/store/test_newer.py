"""What a newer program has kept is refused by its place and way out, as no mistake of whoever opens it."""

import re

import pytest

from fabella.record import Setting
from fabella.store import Role, Unreadable
from fabella.store.clinic.confirmation_models import Confirmation
from fabella.store.clinic.confirming import confirmations_of
from fabella.store.clinic.picture_models import MeasuredPicture
from fabella.store.clinic.picturing import pictures_of
from fabella.store.exams.duties import SheetKey
from fabella.store.exams.models import ExamPaper, MarkEvent
from fabella.store.exams.papers import station_of, timetable_of
from fabella.store.exams.sheets import all_sheets, entries_of
from fabella.store.school.bench_models import SetPatient
from fabella.store.school.models import PracticeEvent, PracticeRun, PracticeSign
from fabella.store.school.practising import begin_run, run_of, runs_of
from fabella.store.school.remembering import keep_facts, past_runs
from fabella.store.school.sets import make_set, set_of, sets_of
from fabella.teach import Recipe, RunFacts, Terms
from tests.store.exam_days import TIM, drafted, opened
from tests.store.people import ANN, NOW, actor, new_visit

pytestmark = pytest.mark.usefixtures("database")

SAM = actor("sam", Role.STUDENT)
NOTHING = RunFacts(minutes=8, told=False, seconds=60, signs=(), habits=(), beliefs=())
NEWER = '{"format": "fabella.of-tomorrow/9", "act": "sing"}'
WAY_OUT = r"cannot be read by Fabella .* If a newer version wrote it, start that one\. Nothing is lost"


def test_a_mark_of_a_newer_program_is_named() -> None:
    """The sheet, and the whole exam that the lead looks at, name the mark by its place."""
    exam = opened()
    key = SheetKey(candidate="C1", station="one", examiner="Edith")
    place = {"candidate": key.candidate, "station": key.station, "examiner": key.examiner}
    MarkEvent.objects.create(
        exam_id=exam, **place, number=1, key="k-1", event=NEWER, device="t", by="x", at=NOW
    )
    with pytest.raises(Unreadable, match=f"^Mark 1 of C1 at one {WAY_OUT}"):
        entries_of(exam, key)
    with pytest.raises(Unreadable, match=f"^Mark 1 of C1 at one {WAY_OUT}"):
        all_sheets(TIM, exam)


@pytest.mark.parametrize("name", ["station:one", "timetable"])
def test_a_paper_of_a_newer_program_is_named(name: str) -> None:
    """A station or timetable in a form of tomorrow is named with its version."""
    exam = drafted()
    ExamPaper.objects.create(exam_id=exam, name=name, version=2, text=NEWER, why="", by="tim", at=NOW)
    with pytest.raises(Unreadable, match=f"^Version 2 of .*{name.partition(':')[0]}.* {WAY_OUT}"):
        station_of(exam, "one") if name != "timetable" else timetable_of(exam)


def test_a_practice_run_of_a_newer_program_is_named() -> None:
    """What was done in a run, and the patient of a run, are each named by the run's number."""
    run = begin_run(SAM, Recipe(seed=7, setting=Setting.EMERGENCY, curriculum="first"), Terms(), now=NOW)
    PracticeEvent.objects.create(run_id=run, number=1, key="k-1", act="sing", event=NEWER, at=NOW)
    with pytest.raises(Unreadable, match=f"^What was done in practice run {run} {WAY_OUT}"):
        run_of(SAM, run)
    newer = PracticeRun.objects.create(student=SAM.name, begun=NOW, recipe=NEWER, minutes=8, told=True)
    runs = runs_of(SAM)
    assert [each.id for each in runs.read] == [run], "the others are listed"
    (says,) = runs.unread
    assert re.match(f"The patient of practice run {newer.id} {WAY_OUT}", says)


def test_a_patient_of_a_set_is_named() -> None:
    """A teacher's patient in a form of tomorrow is named as the teacher calls it; other sets are listed."""
    made, other = (make_set(TIM, name, now=NOW) for name in ("Knees", "More knees"))
    SetPatient.objects.create(of_id=made, name="Door 3", recipe=NEWER, wished="[]", at=NOW)
    named = f"The practice patient 'Door 3' of the set 'Knees' {WAY_OUT}"
    with pytest.raises(Unreadable, match=f"^{named}"):
        set_of(TIM, made)
    sets = sets_of(TIM)
    assert [each.id for each in sets.read] == [other]
    (says,) = sets.unread
    assert re.match(named, says)


def test_what_a_debriefed_run_showed_is_named_and_the_others_count() -> None:
    """A reading of tomorrow in one run leaves the record of the others; the run and the way out are told."""
    recipe = Recipe(seed=7, setting=Setting.EMERGENCY, curriculum="first")
    first = begin_run(SAM, recipe, Terms(), now=NOW)
    second = begin_run(SAM, recipe, Terms(minutes=4), now=NOW)
    for run in (first, second):
        keep_facts(SAM, run, NOTHING, now=NOW)
    PracticeSign.objects.create(
        run_id=second, sign="lachman", side="left", reading="sung", abnormal=True, at_s=1, seconds=1
    )
    runs = past_runs(SAM)
    assert [each.id for each in runs.read] == [first]
    assert re.match(f"What practice run {second} showed {WAY_OUT}", runs.unread[0])


def test_what_was_found_later_and_measured_is_named() -> None:
    """A confirmation and a measured picture are named by the number that they have in their visit."""
    visit = new_visit()
    by = {"author": "ann", "shown": "Ann", "device": "tablet", "at": NOW}
    Confirmation.objects.create(visit_id=visit, number=1, payload=NEWER, **by)
    with pytest.raises(Unreadable, match=f"^What was found later, number 1 of visit {visit}, {WAY_OUT}"):
        confirmations_of(ANN, visit)
    MeasuredPicture.objects.create(
        visit_id=visit, number=1, operation="of-tomorrow", payload=NEWER, picture=b"", **by
    )
    with pytest.raises(Unreadable, match=f"^Measured picture 1 of visit {visit} {WAY_OUT}"):
        pictures_of(ANN, visit)
