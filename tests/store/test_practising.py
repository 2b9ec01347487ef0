import json
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from django.apps import apps
from django.db import DatabaseError, connections, transaction

from fabella.anatomy import Side
from fabella.errors import InputError
from fabella.record import Setting
from fabella.store import NotThere, Role
from fabella.store.batches import Outcome
from fabella.store.router import SCHOOL
from fabella.store.school.adding import MOST_EVENTS, add_events, read_events
from fabella.store.school.models import (
    PracticeBelief,
    PracticeEvent,
    PracticeHabit,
    PracticeLesson,
    PracticeOutcome,
    PracticeRun,
    PracticeSign,
)
from fabella.store.school.practising import begin_run, keep_lesson, lessons_before, run_of, runs_of
from fabella.store.school.remembering import keep_facts, past_runs
from fabella.teach import (
    Act,
    BeliefFact,
    HabitFact,
    Lesson,
    Reading,
    Recipe,
    RunFacts,
    SignFact,
    Terms,
    Topic,
)
from tests.store.people import NOW, actor

pytestmark = pytest.mark.usefixtures("database")

SAM, EVE = actor("sam", Role.STUDENT), actor("eve", Role.STUDENT, Role.TEACHER, Role.CLINICIAN)
RECIPE = Recipe(seed=7, setting=Setting.EMERGENCY, curriculum="first")
TABLES = [each._meta.db_table for each in (PracticeRun, PracticeEvent, PracticeLesson)]
FACTS = [each._meta.db_table for each in (PracticeOutcome, PracticeSign, PracticeHabit, PracticeBelief)]

FACTS_OF_A_RUN = RunFacts(
    minutes=8.0,
    told=True,
    seconds=431.5,
    signs=(
        SignFact(
            sign="lachman", side=Side.RIGHT, reading=Reading.MISSED, abnormal=True, at_s=60.0, seconds=12.0
        ),
        SignFact(
            sign="giving_way", side=None, reading=Reading.LEFT_OUT, abnormal=None, at_s=None, seconds=0.0
        ),
    ),
    habits=(HabitFact(habit="both_knees", kept=False, share=0.4),),
    beliefs=(
        BeliefFact(lesion="acl_tear", believed=0.7, present=True),
        BeliefFact(lesion="pcl_tear", believed=None, present=True),
    ),
)


def event(key: str, **told: Any) -> dict[str, Any]:
    """An event as a client sends it."""
    return {"id": f"made-for-the-test-{key}", "act": "do", **(told or {"sign": "greeting"})}


def begun() -> int:
    """A run of Sam's, on the clock."""
    return begin_run(SAM, RECIPE, Terms(minutes=8, told=True), now=NOW)


def test_a_run_is_read_as_it_was_kept() -> None:
    """Recipe, terms and events come back as they were given, in their order."""
    run = begun()
    add_events(
        SAM, run, [event("1"), event("2", sign="lachman", side="right"), event("3", act="finish")], now=NOW
    )
    kept = run_of(SAM, run)
    assert (kept.recipe, kept.terms, kept.begun) == (RECIPE, Terms(minutes=8, told=True), NOW)
    assert [each.act for each in kept.events] == [Act.DO, Act.DO, Act.FINISH]
    assert kept.finished


def test_a_repeat_is_kept_once_and_answered_the_same() -> None:
    """An event that is sent again, alone or in one batch, changes nothing and has the same answer."""
    run = begun()
    first = add_events(SAM, run, [event("1"), event("2"), event("1")], now=NOW)
    again = add_events(SAM, run, [event("2"), event("1")], now=NOW + timedelta(hours=1))
    assert [each.number for each in first] == [1, 2, 1]
    assert [each.number for each in again] == [2, 1]
    assert PracticeEvent.objects.count() == 2


def test_what_is_wrong_is_refused_by_itself() -> None:
    """A wrong event, an id used for something else, or no id is refused with its reason; the rest is kept."""
    run = begun()
    batch = [event("1"), event("1", sign="consent"), event("2", sign="lachmann"), {"act": "do"}, event("3")]
    results = add_events(SAM, run, batch, now=NOW)
    saved = [each.outcome is Outcome.SAVED for each in results]
    assert saved == [True, False, False, False, True]
    assert "something else" in str(results[1].problems[0])
    assert "lachman" in str(results[2].problems[0])
    assert len(run_of(SAM, run).events) == 2


def test_nothing_is_added_after_the_end() -> None:
    """When a run is finished its events are complete; a repeat of one is still answered as it was."""
    run = begun()
    add_events(SAM, run, [event("1"), event("2", act="finish")], now=NOW)
    late, repeat = add_events(SAM, run, [event("3"), event("1")], now=NOW)
    assert (late.outcome, repeat.number) == (Outcome.REFUSED, 1)
    assert len(run_of(SAM, run).events) == 2


def test_a_run_does_not_grow_without_end() -> None:
    """After the most events that a run can have, no further one is kept."""
    run = begun()
    rows = [
        PracticeEvent(
            run_id=run, number=at, key=f"row-of-the-test-{at}", act="watch_face", event="{}", at=NOW
        )
        for at in range(1, MOST_EVENTS + 1)
    ]
    PracticeEvent.objects.bulk_create(rows)
    assert add_events(SAM, run, [event("1")], now=NOW)[0].outcome is Outcome.REFUSED


def test_a_record_is_the_students_alone() -> None:
    """Nobody else, whatever their roles, finds, reads, lists, writes or closes a student's run."""
    run = begun()
    for asked in (
        lambda: run_of(EVE, run),
        lambda: add_events(EVE, run, [event("1")], now=NOW),
        lambda: keep_lesson(EVE, run, Lesson(topic=Topic.PAIN), brier=None, log_bits=None, now=NOW),
    ):
        with pytest.raises(NotThere):
            asked()
    assert runs_of(EVE).read == ()
    assert [each.id for each in runs_of(SAM).read] == [run]


def test_the_list_tells_how_each_run_stands() -> None:
    """The latest run stands first; whether it is finished and what it taught stands with it."""
    first = begun()
    add_events(SAM, first, [event("1", act="finish")], now=NOW)
    second = begun()
    lesson = Lesson(topic=Topic.LEFT_OUT, about="lachman")
    keep_lesson(SAM, first, lesson, brier=0.2, log_bits=1.5, now=NOW)
    keep_lesson(SAM, first, Lesson(topic=Topic.PAIN), brier=None, log_bits=None, now=NOW)
    lines = runs_of(SAM).read
    assert [(each.id, each.finished, each.lesson) for each in lines] == [
        (second, False, None),
        (first, True, lesson),
    ]
    assert lessons_before(SAM, second) == {"left_out": 1}
    assert lessons_before(SAM, first) == lessons_before(EVE, second) == {}


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"events": [1]}', '{"events": 7}', '{"events": [[]]}'])
def test_what_is_no_batch_is_refused(text: str) -> None:
    """What is no list of events is refused as a whole."""
    with pytest.raises(InputError, match=r"list of events|is empty"):
        read_events(text)
    with pytest.raises(InputError, match="too many"):
        read_events(json.dumps({"events": [{}] * 101}))


@pytest.mark.parametrize("table", [*TABLES, *FACTS])
def test_the_database_refuses_to_change_or_remove(table: str) -> None:
    """No SQL changes, removes or replaces what was practised."""
    run = begun()
    add_events(SAM, run, [event("1", act="finish")], now=NOW)
    keep_lesson(SAM, run, Lesson(topic=Topic.PAIN), brier=None, log_bits=None, now=NOW)
    keep_facts(SAM, run, FACTS_OF_A_RUN, now=NOW)
    is_server = connections[SCHOOL].vendor == "postgresql"
    replaced = f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}"  # noqa: S608  a table of ours
    other = f"TRUNCATE {table} CASCADE" if is_server else replaced
    for statement in (f"UPDATE {table} SET id = id", f"DELETE FROM {table}", other):  # noqa: S608
        with (
            pytest.raises(DatabaseError, match="only ever added to"),
            transaction.atomic(using=SCHOOL),
            connections[SCHOOL].cursor() as cursor,
        ):
            cursor.execute(statement)


def test_facts_are_kept_once_and_read_by_their_student_alone() -> None:
    """What a run showed is read as it was given; a second debrief changes nothing, nobody else reads it."""
    run = begun()
    keep_facts(SAM, run, FACTS_OF_A_RUN, now=NOW)
    keep_facts(SAM, run, replace(FACTS_OF_A_RUN, seconds=9.0, signs=()), now=NOW)
    (past,) = past_runs(SAM).read
    assert (past.id, past.facts, past.lesson) == (run, FACTS_OF_A_RUN, None)
    assert past_runs(EVE).read == ()
    with pytest.raises(NotThere):
        keep_facts(EVE, run, FACTS_OF_A_RUN, now=NOW)


def test_no_table_of_the_school_can_be_changed() -> None:
    """Every table that keeps practice has a trigger that refuses each change."""
    tables = {each._meta.db_table for each in apps.get_app_config("school").get_models()}
    with connections[SCHOOL].cursor() as cursor:
        if connections[SCHOOL].vendor == "postgresql":
            cursor.execute("SELECT DISTINCT event_object_table FROM information_schema.triggers")
        else:
            cursor.execute("SELECT DISTINCT tbl_name FROM sqlite_master WHERE type = 'trigger'")
        guarded = {row[0] for row in cursor.fetchall()}
    assert {*TABLES, *FACTS} <= tables <= guarded
