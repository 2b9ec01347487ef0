from itertools import cycle

import pytest
from django.db import DatabaseError, connections, transaction

from fabella.errors import InputError
from fabella.record import Setting
from fabella.store import NotAllowed, NotThere, Role
from fabella.store.router import SCHOOL
from fabella.store.school import bench_models as bench
from fabella.store.school.classes import classes_of, end_class, open_class
from fabella.store.school.learner import ClassPass
from fabella.store.school.seats import begin_next
from fabella.store.school.sets import (
    LONGEST_NAME,
    add_patient,
    arrange,
    difficulties,
    keep_difficulty,
    make_set,
    patient_of,
    set_of,
    sets_of,
)
from fabella.store.school.sums import sums_of
from fabella.teach import Difficulty, Recipe, Terms
from tests.store.people import LATER, NOW, actor

pytestmark = pytest.mark.usefixtures("database")

TIM, SAM = actor("tim", Role.TEACHER), actor("sam", Role.STUDENT, Role.CLINICIAN, Role.ADMINISTRATOR)
RECIPE = Recipe(seed=7, setting=Setting.EMERGENCY, curriculum="first", age_years=24)
WISHED = (("medial_meniscus_tear", "displaced"),)
TABLES = [
    each._meta.db_table
    for each in (
        bench.PracticeSet,
        bench.SetPatient,
        bench.SetOrder,
        bench.PatientDifficulty,
        bench.PracticeClass,
        bench.ClassEnd,
        bench.ClassRun,
    )
]


def filled(*names: str) -> tuple[int, list[int]]:
    """A set with patients of these names, and their numbers."""
    made = make_set(TIM, "Injured knees", now=NOW)
    return made, [
        add_patient(TIM, made, Recipe(seed=seed), name=name, now=NOW) for seed, name in enumerate(names)
    ]


def test_a_set_is_read_as_it_was_kept() -> None:
    """Name, maker, and each patient with its recipe and what was asked for come back as given, in order."""
    made = make_set(TIM, "  Injured   knees ", now=NOW)
    first = add_patient(TIM, made, RECIPE, name="Locked", wished=WISHED, now=NOW)
    second = add_patient(TIM, made, Recipe(seed=8), name="Other", now=NOW)
    kept = set_of(TIM, made)
    assert (kept.name, kept.maker) == ("Injured knees", "Tim")
    assert [each.id for each in kept.patients] == [first, second]
    assert (kept.patients[0].recipe, kept.patients[0].wished) == (RECIPE, WISHED)
    assert patient_of(TIM, second).wished == ()
    assert [each.id for each in sets_of(TIM).read] == [made]


@pytest.mark.parametrize(
    ("name", "says"),
    [("", "missing"), ("x" * (LONGEST_NAME + 1), "too long"), ("injured KNEES", "taken")],
)
def test_a_name_is_told_what_is_wrong_with_it(name: str, says: str) -> None:
    """A set needs a name of its own that fits on a line."""
    make_set(TIM, "Injured knees", now=NOW)
    with pytest.raises(InputError, match=says):
        make_set(TIM, name, now=NOW)


def test_patients_are_put_into_order_left_out_and_taken_in_again() -> None:
    """The latest order holds; whoever is not named stands apart and is not lost; nonsense is refused."""
    made, (a, b, c) = filled("A", "B", "C")
    arrange(TIM, made, [c, a], now=NOW)
    kept = set_of(TIM, made)
    assert [each.name for each in kept.patients] == ["C", "A"]
    assert [each.name for each in kept.left_out] == ["B"]
    arrange(TIM, made, [b, c, a], now=NOW)
    assert [each.name for each in set_of(TIM, made).patients] == ["B", "C", "A"]
    for wrong in ([a, a], [a, 99]):
        with pytest.raises(InputError, match="none of this set"):
            arrange(TIM, made, wrong, now=NOW)


def test_difficulty_is_kept_once_for_its_terms_and_the_evidence() -> None:
    """Another station or edition of the evidence is another difficulty; a second one changes nothing."""
    _, (a, b) = filled("A", "B")
    keep_difficulty(TIM, a, None, Difficulty(sureness=0.5, seconds=60), edition="1", now=NOW)
    keep_difficulty(TIM, a, None, Difficulty(sureness=0.9, seconds=60), edition="1", now=NOW)
    assert difficulties(TIM, [a, b], None, edition="1") == {a: Difficulty(sureness=0.5, seconds=60)}
    assert difficulties(TIM, [a, b], 8, edition="1") == difficulties(TIM, [a], None, edition="2") == {}


def test_only_a_teacher_reaches_the_bench() -> None:
    """Whatever other roles somebody has, the store refuses to show, make or change anything of it."""
    made, (patient,) = filled("A")
    terms = {"name": "c", "terms": Terms(), "shuffled": False, "opens": NOW, "closes": LATER}
    for asked in (
        lambda: make_set(SAM, "x", now=NOW),
        lambda: sets_of(SAM),
        lambda: set_of(SAM, made),
        lambda: patient_of(SAM, patient),
        lambda: add_patient(SAM, made, RECIPE, name="x", now=NOW),
        lambda: arrange(SAM, made, [], now=NOW),
        lambda: difficulties(SAM, [patient], None, edition="1"),
        lambda: open_class(SAM, made, **terms, now=NOW, dice=lambda _: 0),  # type: ignore[arg-type]
        lambda: classes_of(SAM),
        lambda: end_class(SAM, 1, now=NOW),
        lambda: sums_of(SAM, 1, now=NOW),
    ):
        with pytest.raises(NotAllowed):
            asked()
    for gone in (lambda: set_of(TIM, 99), lambda: patient_of(TIM, 99), lambda: sums_of(TIM, 99, now=NOW)):
        with pytest.raises(NotThere):
            gone()


@pytest.mark.parametrize("table", TABLES)
def test_the_database_refuses_to_change_or_remove(table: str) -> None:
    """No SQL changes, removes or replaces anything of a set, a difficulty or a class."""
    made, (patient,) = filled("A")
    keep_difficulty(TIM, patient, 8, Difficulty(sureness=0.5, seconds=60), edition="1", now=NOW)
    faces = cycle(range(20))
    opened = open_class(
        TIM,
        made,
        name="c",
        terms=Terms(),
        shuffled=False,
        opens=NOW,
        closes=LATER,
        now=NOW,
        dice=lambda _: next(faces),
    )
    begin_next(ClassPass("one"), classes_of(TIM)[0], now=NOW)
    end_class(TIM, opened, now=NOW)
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
