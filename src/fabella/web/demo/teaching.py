"""A set of three patients and a class of six invented students, for the teacher's bench."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from fabella.anatomy import Side
from fabella.record import Acuity, Mechanism, Setting, Sex
from fabella.store import Actor
from fabella.store.school.adding import add_events
from fabella.store.school.classes import class_of, open_class
from fabella.store.school.learner import ClassPass
from fabella.store.school.practising import keep_lesson
from fabella.store.school.remembering import keep_facts
from fabella.store.school.seats import begin_next
from fabella.store.school.sets import add_patient, make_set, sets_of
from fabella.teach import HabitFact, Lesson, Reading, Recipe, RunFacts, SignFact, Terms, Topic
from fabella.web.demo.examining import thrown

CODE = "HMNPRT"
"""Of the invented class; everybody may know it."""
_PATIENTS = (
    (
        "Locked knee, 24 years",
        Recipe(
            seed=227,
            setting=Setting.EMERGENCY,
            age_years=24,
            sex=Sex.MALE,
            acuity=Acuity.ACUTE,
            mechanism=Mechanism.TWIST,
            side=Side.LEFT,
        ),
        (("medial_meniscus_tear", "displaced"),),
    ),
    ("Gives way on the pitch", Recipe(seed=24, setting=Setting.SPORTS_CLINIC, curriculum="ligaments"), ()),
    ("First knees, any", Recipe(seed=11, curriculum="first"), ()),
)
_READINGS = (
    Reading.RIGHT,
    Reading.MISSED,
    Reading.RIGHT,
    Reading.LEFT_OUT,
    Reading.RIGHT,
    Reading.OVERCALLED,
)
_TOPICS = (Topic.LEFT_OUT, Topic.LEFT_OUT, Topic.BOTH_KNEES, Topic.MISREAD, Topic.LEFT_OUT, Topic.CONSENT)


def teach_when_nobody_did(actor: Actor, *, now: datetime) -> None:
    """Keep the set and its class unless there is any."""
    if sets_of(actor).read:
        return
    made = make_set(actor, "Injured knees", now=now)
    for name, recipe, wished in _PATIENTS:
        add_patient(actor, made, recipe, name=name, wished=wished, now=now)
    given = open_class(
        actor,
        made,
        name="Year 4, Tuesday group",
        terms=Terms(minutes=8),
        shuffled=False,
        opens=now - timedelta(days=1),
        closes=now + timedelta(days=30),
        now=now,
        dice=thrown(CODE),
    )
    kept = class_of(actor, given)
    for number, (reading, topic) in enumerate(zip(_READINGS, _TOPICS, strict=True)):
        student = ClassPass(f"invented-student-{number}")
        run = begin_next(student, kept, now=now)
        add_events(student, run, [{"id": f"invented-class-run-{run}", "act": "finish"}], now=now)
        lesson = Lesson(topic=topic, about="lachman" if topic in (Topic.LEFT_OUT, Topic.MISREAD) else "")
        keep_lesson(student, run, lesson, brier=0.2 + number / 10, log_bits=2.0, now=now)
        keep_facts(student, run, _facts(number, reading), now=now)


def _facts(number: int, reading: Reading) -> RunFacts:
    """Return made-up facts: these students were never there."""
    return RunFacts(
        minutes=8,
        told=False,
        seconds=400,
        signs=tuple(_signs(number, reading)),
        habits=(
            HabitFact(habit="consent", kept=bool(number), share=None),
            HabitFact(habit="both_knees", kept=number % 2 == 0, share=0.5),
            HabitFact(habit="face_watched", kept=reading is Reading.RIGHT, share=None),
        ),
        beliefs=(),
    )


def _signs(number: int, reading: Reading) -> Iterator[SignFact]:
    seen = {Reading.MISSED: True, Reading.OVERCALLED: False, Reading.RIGHT: False}
    for sign, how in (
        ("lachman", reading),
        ("effusion_sweep", Reading.MISSED if number % 3 == 0 else Reading.RIGHT),
        ("joint_line_tenderness_medial", Reading.NOT_RECORDED if number % 4 == 0 else Reading.RIGHT),
    ):
        yield SignFact(
            sign=sign, side=Side.LEFT, reading=how, abnormal=seen.get(how), at_s=60.0 + number, seconds=20
        )
