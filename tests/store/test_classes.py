from dataclasses import asdict
from datetime import timedelta
from itertools import count, cycle
from random import Random
from typing import Any

import pytest

from fabella.anatomy import Side
from fabella.errors import InputError
from fabella.store import Frozen, NotThere, Role
from fabella.store.school import seats
from fabella.store.school.adding import add_events
from fabella.store.school.classes import (
    CODE_LENGTH,
    KeptClass,
    Stand,
    class_by_code,
    class_of,
    class_of_run,
    end_class,
    open_class,
)
from fabella.store.school.learner import ClassPass
from fabella.store.school.models import PracticeRun
from fabella.store.school.practising import keep_lesson, owns, run_of, runs_of
from fabella.store.school.remembering import keep_facts
from fabella.store.school.seats import begin_next, seats_of
from fabella.store.school.sets import add_patient, arrange, make_set, set_of
from fabella.store.school.sums import FEWEST, SETTLED, Sums, sums_of, sums_over
from fabella.store.short_codes import ALPHABET
from fabella.teach import HabitFact, Lesson, Reading, Recipe, RunFacts, SignFact, Terms, Topic
from tests.store.people import LATER, NOW, actor

pytestmark = pytest.mark.usefixtures("database")

TIM = actor("tim", Role.TEACHER)
TERMS = Terms(minutes=8, told=True)
_keys = (f"made-for-the-test-{number}" for number in count())


def opened(*seeds: int, shuffled: bool = False, **others: Any) -> KeptClass:
    """A class with patients of these seeds, open for an hour."""
    made = make_set(TIM, f"Set {next(_keys)}", now=NOW)
    for seed in seeds or (1, 2, 3):
        add_patient(TIM, made, Recipe(seed=seed), name=f"Patient {seed}", now=NOW)
    terms: dict[str, Any] = {"name": "Year 4", "terms": TERMS, "opens": NOW, "closes": LATER, "now": NOW}
    dice = Random(next(_keys)).randrange
    return class_of(TIM, open_class(TIM, made, shuffled=shuffled, dice=dice, **(terms | others)))


def student(name: object) -> ClassPass:
    """A browser with a pass."""
    return ClassPass(f"secret of {name}")


def finish(
    who: ClassPass,
    kept: KeptClass,
    *,
    reading: Reading = Reading.MISSED,
    at: Any = NOW,
    brier: float | None = 0.5,
) -> int:
    """Play a class's next patient to its debrief; without a Brier score nothing was believed in it."""
    run = begin_next(who, kept, now=NOW)
    add_events(who, run, [{"id": next(_keys), "act": "finish"}], now=at)
    keep_lesson(
        who, run, Lesson(topic=Topic.LEFT_OUT, about="lachman"), brier=brier, log_bits=brier and 1.0, now=at
    )
    sign = SignFact(sign="lachman", side=Side.RIGHT, reading=reading, abnormal=True, at_s=1, seconds=1)
    habit = HabitFact(habit="consent", kept=reading is Reading.RIGHT, share=None)
    facts = RunFacts(minutes=8, told=True, seconds=9, signs=(sign,), habits=(habit,), beliefs=())
    keep_facts(who, run, facts, now=at)
    return run


def test_a_class_is_found_by_its_code_however_it_is_typed() -> None:
    """Small letters, spaces and dashes do no harm; another code finds nothing."""
    kept = opened()
    assert len(kept.code) == CODE_LENGTH
    assert set(kept.code) <= set(ALPHABET)
    assert class_by_code(f" {kept.code[:3].lower()}-{kept.code[3:]} ") == kept
    with pytest.raises(NotThere):
        class_by_code("AAAAAA")


def test_no_two_signs_of_a_code_look_alike() -> None:
    """The alphabet has neither of the pairs that are mistaken for each other, and no vowel to make a word."""
    for pair in ("O0", "I1", "L1", "S5", "Z2", "B8", "G6", "UV", "QO"):
        assert len(set(pair) & set(ALPHABET)) < 2, pair
    assert not set("AEIOU") & set(ALPHABET)


def test_a_code_that_is_taken_is_thrown_again() -> None:
    """Two classes never have one code, though the dice fall alike."""
    faces = cycle([0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1])
    first = opened()
    codes = {first.code}
    for name in ("again", "and again"):
        made = open_class(
            TIM,
            first.set_id,
            name=name,
            terms=TERMS,
            shuffled=False,
            opens=NOW,
            closes=LATER,
            now=NOW,
            dice=lambda _: next(faces),
        )
        codes.add(class_of(TIM, made).code)
    assert len(codes) == 3


def test_what_is_wrong_with_a_class_is_told_at_once() -> None:
    """An empty set, no name, and an end before the beginning are all named in one message."""
    made = make_set(TIM, "empty", now=NOW)
    with pytest.raises(InputError) as error:
        open_class(
            TIM,
            made,
            name=" ",
            terms=TERMS,
            shuffled=False,
            opens=NOW,
            closes=NOW - timedelta(hours=1),
            now=NOW,
            dice=lambda _: 0,
        )
    assert {each.place for each in error.value.problems} == {"name", "set", "closes"}


def test_everybody_meets_the_same_patients_in_the_same_order() -> None:
    """Two students draw the same patients on the class's terms; a set that changes later changes no class."""
    kept = opened(5, 6)
    patients = [each.id for each in set_of(TIM, kept.set_id).patients]
    for who in (student("a"), student("b")):
        first = finish(who, kept)
        arrange(TIM, kept.set_id, patients[::-1], now=NOW)
        second = begin_next(who, kept, now=NOW)
        runs = [run_of(who, each) for each in (first, second)]
        assert [each.recipe for each in runs] == [Recipe(seed=5), Recipe(seed=6)]
        assert {each.terms for each in runs} == {TERMS}


def test_an_order_of_ones_own_is_random_and_fixed() -> None:
    """Shuffled, each student has all patients in an order that never changes, and not all have the same."""
    kept = opened(1, 2, 3, 4, shuffled=True)
    orders = set()
    for number in range(8):
        who = student(number)
        recipes = [run_of(who, finish(who, kept)).recipe.seed for _ in range(4)]
        assert sorted(recipes) == [1, 2, 3, 4]
        assert seats_of(who, kept) == seats_of(who, kept)
        orders.add(tuple(recipes))
    assert len(orders) > 1


def test_a_patient_is_met_once_and_one_at_a_time() -> None:
    """A run that goes on is gone back to; after the last patient there is none."""
    kept, who = opened(1, 2), student("a")
    assert begin_next(who, kept, now=NOW) == begin_next(who, kept, now=NOW)
    assert [each.run_id is None for each in seats_of(who, kept)] == [False, True]
    finish(who, kept)
    finish(who, kept)
    assert all(each.finished for each in seats_of(who, kept))
    with pytest.raises(Frozen, match="every patient"):
        begin_next(who, kept, now=NOW)


def test_a_class_opens_and_closes() -> None:
    """Before its time, after it and once ended nothing is begun; what was begun is still its student's."""
    kept, who = opened(), student("a")
    run = begin_next(who, kept, now=NOW)
    for moment in (NOW - timedelta(minutes=1), LATER):
        with pytest.raises(Frozen, match="not open"):
            begin_next(student("late"), kept, now=moment)
    assert [kept.stand(each) for each in (NOW - timedelta(minutes=1), NOW, LATER)] == list(Stand)
    end_class(TIM, kept.id, now=NOW + timedelta(minutes=5))
    end_class(TIM, kept.id, now=NOW + timedelta(minutes=9))
    ended = class_of(TIM, kept.id)
    assert ended.closes == NOW + timedelta(minutes=5)
    for moment in (NOW + timedelta(minutes=6), NOW + timedelta(minutes=1)):  # a clock may be set back
        with pytest.raises(Frozen):
            begin_next(who, ended, now=moment)
    assert not run_of(who, run).finished


def test_a_class_does_not_grow_without_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """A class that is full takes no further browser, and those in it go on."""
    monkeypatch.setattr(seats, "MOST_STUDENTS", 2)
    kept = opened()
    for name in "ab":
        finish(student(name), kept)
    with pytest.raises(Frozen, match="full"):
        begin_next(student("c"), kept, now=NOW)
    assert begin_next(student("a"), kept, now=NOW)


def test_a_run_of_a_class_is_its_browsers_alone() -> None:
    """No other pass, no teacher and no account finds it; its secret is not in the database."""
    kept, who = opened(), student("a")
    run = begin_next(who, kept, now=NOW)
    for other in (student("b"), TIM, actor("class", *Role)):
        assert not owns(other, run)
        assert runs_of(other).read == ()
        with pytest.raises(NotThere):
            run_of(other, run)
    assert owns(who, run)
    assert class_of_run(run) == kept
    assert who.secret not in PracticeRun.objects.get().student
    assert ":" in who.name, "no account can have such a name"


def shown(kept: KeptClass, *, now: Any = NOW) -> Sums:
    """The sums of a class."""
    return sums_of(TIM, kept.id, now=now)


def test_few_students_have_no_sums() -> None:
    """Below five students nothing but how many began and finished is told, though one finishes many runs."""
    kept = opened(*range(1, 9))
    for _ in range(FEWEST + 1):
        finish(student("diligent"), kept)
    for number in range(FEWEST - 2):
        finish(student(number), kept)
    sums = shown(kept)
    assert (sums.students, sums.finishers, sums.finished) == (4, 4, 9)
    assert (sums.counted, sums.brier, sums.signs, sums.habits, sums.topics) == (0, None, (), (), ())
    assert [each.brier for each in sums.patients] == [None] * 8
    later = shown(kept, now=LATER + SETTLED)
    assert (later.counted, later.signs) == (0, ())


def test_from_five_students_on_there_are_sums() -> None:
    """Signs, habits, lessons and scores are counted over the runs of all, without any name."""
    kept = opened(1)
    for number in range(FEWEST):
        finish(student(number), kept, reading=Reading.MISSED if number else Reading.RIGHT)
    sums = shown(kept)
    (sign,), (habit,) = sums.signs, sums.habits
    assert (sign.sign, sign.right, sign.wrong, sign.missed, sign.left_out) == ("lachman", 1, 4, 4, 0)
    assert (habit.habit, habit.kept, habit.of) == ("consent", 1, 5)
    assert (sums.counted, sums.brier, sums.topics) == (5, 0.5, ((Topic.LEFT_OUT, 5),))
    assert (sums.patients[0].begun, sums.patients[0].finished, sums.patients[0].brier) == (5, 5, 0.5)
    assert not [number for number in range(FEWEST) if student(number).name in str(asdict(sums))]


def test_a_score_of_few_is_not_told_as_that_of_the_class() -> None:
    """Of five students who ended a run one alone named lesions: the mean would be theirs."""
    kept = opened(1)
    for number in range(FEWEST):
        finish(student(number), kept, brier=None if number else 0.5)
    assert (shown(kept).counted, shown(kept).brier) == (FEWEST, None)


def test_an_open_class_grows_by_five_runs_at_a_time() -> None:
    """The sixth run is not told from the first five until five more are there, or the class is over."""
    kept = opened(1)
    for number in range(FEWEST):
        finish(student(number), kept)
    five = shown(kept)
    for number in range(FEWEST, 2 * FEWEST - 1):
        finish(student(number), kept, reading=Reading.RIGHT)
        assert shown(kept).signs == five.signs
    assert shown(kept, now=LATER).signs == five.signs, "runs that go on are waited for"
    assert shown(kept, now=LATER + SETTLED).counted == 2 * FEWEST - 1
    finish(student("last"), kept, at=NOW)
    assert shown(kept).counted == 2 * FEWEST
    late = opened(1)
    for number in range(FEWEST):
        finish(student(number), late)
    finish(student("late"), late, at=LATER + SETTLED + timedelta(minutes=1))
    assert shown(late, now=LATER + 2 * SETTLED).counted == FEWEST, "after that nothing is added"


def test_a_span_adds_up_what_each_class_may_show() -> None:
    """A class that is too small is left out of a year's sums, and said to be."""
    large, small = opened(1), opened(1)
    for number in range(FEWEST):
        finish(student(number), large)
    finish(student("alone"), small, reading=Reading.OVERCALLED)
    year = sums_over(TIM, [large, small], now=NOW)
    assert (year.classes, year.withheld, year.students, year.counted) == (2, 1, 6, 5)
    assert year.signs == shown(large).signs
    assert year.patients == ()
    assert not sums_over(TIM, [small], now=NOW).counted
