from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta, timezone
from functools import cache
from math import exp

import pytest
from fsrs import Scheduler

from fabella.anatomy import Side, other
from fabella.grade import levels_of
from fabella.protocol import Kind, load_protocol
from fabella.stats import wilson
from fabella.teach import (
    Act,
    BeliefFact,
    Encounter,
    Event,
    HabitFact,
    Hidden,
    Item,
    ItemKind,
    Reading,
    Recipe,
    RunFacts,
    Scheduled,
    SignFact,
    Terms,
    debrief,
    draw_patient,
    due_on,
    facts_of,
    learned_from,
    recipe_for,
    replay,
    schedule,
    write_recipe,
)
from fabella.teach.due import MOST_TRIES, MOST_WANTED, SHOWS
from fabella.teach.facts import ALERT, GENTLE, HARMLESS
from fabella.teach.left_out import pressing_alarms
from fabella.teach.recognition import ENOUGH
from fabella.teach.repetition import by_weight
from tests.teach.patients import patient_with, reasoner

PROTOCOL = load_protocol()
DAY_ONE = datetime(2026, 3, 2, 18, tzinfo=UTC)
EMPTY = RunFacts(minutes=8.0, told=False, seconds=400.0, signs=(), habits=(), beliefs=())
LACHMAN = Item(kind=ItemKind.READ, about="lachman")


def torn() -> Hidden:
    """Somebody with a complete tear of the anterior cruciate ligament."""
    return patient_with("acl_tear", "complete", age_years=24)


def read(reading: Reading, *, abnormal: bool | None = True, sign: str = "lachman") -> SignFact:
    """One reading of a sign on the right."""
    return SignFact(sign=sign, side=Side.RIGHT, reading=reading, abnormal=abnormal, at_s=9.0, seconds=10.0)


def runs(*days: tuple[int, RunFacts]) -> list[tuple[datetime, RunFacts]]:
    """Runs on days counted from the first."""
    return [(DAY_ONE + timedelta(days=day), facts) for day, facts in days]


def with_signs(*signs: SignFact) -> RunFacts:
    """A run in which these signs were met."""
    return replace(EMPTY, signs=signs)


def only(found: tuple[Scheduled, ...], item: Item) -> Scheduled:
    """The schedule of one item."""
    (one,) = [each for each in found if each.item == item]
    return one


@cache
def played(*, told: bool = False) -> tuple[Encounter, dict[tuple[str, Side | None], Reading]]:
    """A run that reads some graded signs of the knee complained of rightly and some wrongly, on purpose."""
    hidden = torn()
    side = hidden.person.side
    graded = [
        sign
        for sign in PROTOCOL.signs
        if sign.kind in (Kind.LOOK, Kind.FEEL)
        and len(sign.scale.levels) > 1
        and sign.seconds
        and not (sign.is_person or sign.is_summary)
    ]
    showing = [sign for sign in graded if hidden.outcomes[sign.id, side].level > 0][:2]
    silent = [sign for sign in graded if hidden.outcomes[sign.id, side].level == 0][:3]
    events = [Event(act=Act.DO, sign=each) for each in ("greeting", "consent", "exposure", "giving_way")]
    wanted: dict[tuple[str, Side | None], Reading] = {("giving_way", None): Reading.TOLD}
    for sign, level, reading in (
        (showing[0], 0, Reading.MISSED),
        (showing[1], hidden.outcomes[showing[1].id, side].level, Reading.RIGHT),
        (silent[0], 1, Reading.OVERCALLED),
        (silent[1], 0, Reading.RIGHT),
        (silent[2], None, Reading.NOT_RECORDED),
    ):
        events.append(Event(act=Act.DO, sign=sign.id, side=side))
        if level is not None:
            events.append(Event(act=Act.RECORD, sign=sign.id, side=side, level=levels_of(sign)[level]))
        wanted[sign.id, side] = reading
    never = silent[0].id, other(side)
    events.append(Event(act=Act.RECORD, sign=never[0], side=never[1], level=levels_of(silent[0])[0]))
    wanted[never] = Reading.NOT_DONE
    events.append(Event(act=Act.BELIEVE, beliefs=(("acl_tear", 0.7), ("pcl_tear", 0.2))))
    events.append(Event(act=Act.FINISH))
    return replay(hidden, Terms(told=told), events), wanted


@cache
def facts(*, told: bool = False) -> RunFacts:
    """The facts of that run."""
    encounter, _ = played(told=told)
    return facts_of(encounter, debrief(encounter, reasoner=reasoner()))


def test_facts_tell_what_became_of_every_sign() -> None:
    """Each sign that was done or recorded has the reading that the student gave it, and what it showed."""
    encounter, wanted = played()
    found = {(each.sign, each.side): each for each in facts().signs if each.reading is not Reading.LEFT_OUT}
    assert {place: each.reading for place, each in found.items()} == wanted
    for (sign, side), each in found.items():
        if each.reading in (Reading.TOLD, Reading.NOT_DONE):
            assert each.abnormal is None
        else:
            assert each.abnormal is (encounter.hidden.outcomes[sign, side].level > 0)
            assert each.seconds >= PROTOCOL.sign(sign).seconds
    assert facts().seconds == encounter.run.clock_s


def test_facts_tell_habits_and_beliefs() -> None:
    """Habits stand where they could come up; each lesion believed or there stands once, with its truth."""
    habits = {each.habit: each.kept for each in facts().habits}
    assert habits["consent"]
    assert not habits["hand_hygiene"]
    assert not habits["both_knees"]
    assert {HARMLESS, GENTLE} <= habits.keys()
    assert (ALERT in habits) is bool(pressing_alarms(torn(), protocol=PROTOCOL))
    believed = {each.lesion: (each.believed, each.present) for each in facts().beliefs}
    assert believed["acl_tear"] == (0.7, True)
    assert believed["pcl_tear"][0] == 0.2
    there = {lesion for lesion, _ in torn().complaint.lesions}
    assert {lesion for lesion, (_, present) in believed.items() if present} == there
    assert believed.keys() == there | {"acl_tear", "pcl_tear"}


def test_what_an_examiner_told_is_no_reading() -> None:
    """Where findings are told, what was not recorded counts as told and says nothing about recognition."""
    unread = [place for place, reading in played()[1].items() if reading is Reading.NOT_RECORDED]
    found = {(each.sign, each.side): each.reading for each in facts(told=True).signs}
    assert [found[place] for place in unread] == [Reading.TOLD]
    told = learned_from([(DAY_ONE, with_signs(read(Reading.TOLD)))], now=DAY_ONE)
    assert told.signs == ()


def test_recognition_counts_what_was_there_and_what_was_not() -> None:
    """Sensitivity and specificity of the student are shares of knees that showed it and that did not."""
    some = [Reading.RIGHT] * 4 + [Reading.GRADE] * 2 + [Reading.MISSED] * 2
    without = [Reading.RIGHT] * 3 + [Reading.OVERCALLED]
    signs = [read(each) for each in some] + [read(each, abnormal=False) for each in without]
    (found,) = learned_from([(DAY_ONE, with_signs(*signs))], now=DAY_ONE).signs
    assert (found.seen.right, found.seen.n) == (6, 8)
    assert (found.cleared.right, found.cleared.n) == (3, 4)
    assert (found.graded.right, found.graded.n) == (4, 6)
    assert found.seen.interval == wilson(successes=6, n=8)
    assert found.cleared.interval is None
    assert found.cleared.n < ENOUGH


def test_few_beliefs_have_no_parts_of_a_score() -> None:
    """Below twenty beliefs no score is taken apart; from there on the parts add up."""
    few = replace(EMPTY, beliefs=(BeliefFact(lesion="acl_tear", believed=0.7, present=True),))
    assert learned_from([(DAY_ONE, few)], now=DAY_ONE).belief.parts is None
    many = runs(*((day, few) for day in range(20)))
    parts = learned_from(many, now=DAY_ONE).belief.parts
    assert parts is not None
    assert parts.brier == pytest.approx(0.09)
    assert parts.brier == pytest.approx(
        parts.reliability - parts.resolution + parts.uncertainty + parts.within
    )


def test_nothing_comes_again_that_was_never_missed() -> None:
    """Right readings and kept habits begin no course of repetition."""
    fine = replace(
        with_signs(read(Reading.RIGHT)), habits=(HabitFact(habit="consent", kept=True, share=None),)
    )
    assert schedule(runs((0, fine), (1, fine)), now=DAY_ONE) == ()


def test_what_was_missed_comes_again_the_next_day_and_then_ever_later() -> None:
    """After a slip an item is due the next day; each right reading on its day makes the wait longer."""
    history = [(0, with_signs(read(Reading.MISSED)))]
    waits, day = [], 0
    for _ in range(5):
        due = only(schedule(runs(*history), now=DAY_ONE), LACHMAN).due
        waits.append((due - DAY_ONE.date()).days - day)
        day += waits[-1]
        history.append((day, with_signs(read(Reading.RIGHT))))
    assert waits[0] == 1
    assert waits == sorted(waits)
    assert waits[-1] > 10
    history.append((day + 1, with_signs(read(Reading.MISSED))))
    again = only(schedule(runs(*history), now=DAY_ONE), LACHMAN)
    assert (again.due - DAY_ONE.date()).days - (day + 1) < waits[-1]
    assert (again.met, again.missed) == (7, 2)


def test_the_days_are_those_of_the_published_formulas() -> None:
    """Stability after "again", then "good" a day later, follows the formulas of FSRS-6 written out here.

    The formulas are those of the algorithm's public description, the numbers the library's default weights:
    S0 = w[G-1]; D0 = w4 - e^(w5 (G-1)) + 1; R = (1 + F t / S)^-w20 with F = 0.9^(-1/w20) - 1;
    S' = S (1 + e^w8 (11 - D) S^-w9 (e^(w10 (1-R)) - 1)); the wait for R = 0.9 is S' days, rounded.
    """
    w = Scheduler().parameters
    stability, difficulty = w[0], w[4] - exp(0) + 1
    factor = 0.9 ** (-1 / w[20]) - 1
    recall = (1 + factor * 1 / stability) ** -w[20]
    growth = exp(w[8]) * (11 - difficulty) * stability ** -w[9] * (exp(w[10] * (1 - recall)) - 1)
    wait = max(1, round(stability * (1 + growth)))
    missed, right = with_signs(read(Reading.MISSED)), with_signs(read(Reading.RIGHT))
    one_day = only(schedule(runs((0, missed)), now=DAY_ONE + timedelta(days=1)), LACHMAN)
    assert one_day.recall == pytest.approx(recall)
    then = only(schedule(runs((0, missed), (1, right)), now=DAY_ONE), LACHMAN)
    assert (then.due - DAY_ONE.date()).days == 1 + wait


def test_the_worse_side_counts_and_a_degree_off_weighs_less() -> None:
    """A slip on one side outweighs a right reading on the other; a wrong degree waits no less than a miss."""
    both = with_signs(read(Reading.RIGHT), replace(read(Reading.MISSED), side=Side.LEFT))
    assert only(schedule(runs((0, both)), now=DAY_ONE), LACHMAN).missed == 1
    later = DAY_ONE + timedelta(days=30)
    by_grade = only(schedule(runs((0, with_signs(read(Reading.GRADE)))), now=later), LACHMAN)
    by_miss = only(schedule(runs((0, with_signs(read(Reading.MISSED)))), now=later), LACHMAN)
    assert by_grade.recall > by_miss.recall


@pytest.mark.parametrize(
    ("slip", "shown"), [(Reading.MISSED, True), (Reading.OVERCALLED, False)], ids=["missed", "overcalled"]
)
def test_only_the_knee_that_was_misread_is_a_review(slip: Reading, shown: bool) -> None:
    """Who missed a sign must read one that is there; who saw one that was not, a knee without it."""
    first = (0, with_signs(read(slip, abnormal=shown)))
    same = (1, with_signs(read(Reading.RIGHT, abnormal=shown)))
    opposite = (1, with_signs(read(Reading.RIGHT, abnormal=not shown)))
    assert only(schedule(runs(first, opposite), now=DAY_ONE), LACHMAN).met == 1
    met = only(schedule(runs(first, same), now=DAY_ONE), LACHMAN)
    assert (met.met, met.sound) == (2, not shown)


def test_what_cannot_wait_is_a_habit_where_there_is_any() -> None:
    """With a septic knee that is there to be found, finding nothing of it is told as a habit not kept."""
    hidden = patient_with("septic_arthritis", seed=6, age_years=50)
    assert pressing_alarms(hidden, protocol=PROTOCOL)
    encounter = replay(hidden, Terms(), [Event(act=Act.FINISH)])
    found = {each.habit: each.kept for each in facts_of(encounter, debrief(encounter)).habits}
    assert found[ALERT] is False
    assert GENTLE not in found


@pytest.mark.parametrize("zone_h", [-11, -5, 0, 5.5, 13])
@pytest.mark.parametrize("day", [date(2026, 2, 28), date(2028, 2, 28), date(2026, 12, 31)])
@pytest.mark.parametrize("hour", [0, 8, 23])
def test_what_was_missed_comes_on_the_next_day_wherever_one_is(day: date, hour: int, zone_h: float) -> None:
    """The next day is that of the clock on the wall, early and late, across months, leap days and years."""
    begun = datetime.combine(day, time(hour, tzinfo=timezone(timedelta(hours=zone_h))))
    missed = with_signs(read(Reading.MISSED))
    found = only(schedule([(begun, missed)], now=begun + timedelta(minutes=20)), LACHMAN)
    assert found.due == day + timedelta(days=1)


def test_habits_and_what_was_left_out_come_again_too() -> None:
    """A habit not kept and a sign left out twice are due the next day, and wait longer once done."""
    lapse = HabitFact(habit="both_knees", kept=False, share=0.4)
    bad = replace(with_signs(replace(read(Reading.LEFT_OUT, abnormal=None), at_s=None)), habits=(lapse,))
    good = replace(with_signs(read(Reading.NOT_RECORDED)), habits=(replace(lapse, kept=True),))
    keep, do = Item(kind=ItemKind.KEEP, about="both_knees"), Item(kind=ItemKind.DO, about="lachman")
    first = schedule(runs((0, bad), (1, bad)), now=DAY_ONE)
    assert {each.item for each in due_on(first, DAY_ONE.date() + timedelta(days=2))} == {keep, do}
    assert due_on(first, DAY_ONE.date() + timedelta(days=1)) == ()
    assert (only(first, do).met, only(first, do).missed) == (2, 2)
    second = schedule(runs((0, bad), (1, bad), (2, good)), now=DAY_ONE)
    assert all(only(second, item).due > only(first, item).due for item in (keep, do))


def test_what_was_left_out_once_fills_no_list() -> None:
    """Dozens of signs that a patient each would have needed are told in their debriefs; twice is a gap."""
    signs = [sign.id for sign in PROTOCOL.signs if sign.scale.levels][:40]
    once = [
        with_signs(replace(read(Reading.LEFT_OUT, abnormal=None, sign=each), at_s=None)) for each in signs
    ]
    days = list(enumerate([*once, once[3]]))
    assert [each.item.about for each in schedule(runs(*days), now=DAY_ONE)] == [signs[3]]


def test_what_is_looked_for_in_the_next_patient_is_what_matters_most() -> None:
    """Of many due items those that spare harm and those missed oftenest are looked for, not the oldest."""
    old = [replace(due(sign.id), due=DAY_ONE.date() - timedelta(days=30)) for sign in PROTOCOL.signs[:30]]
    often, harm = replace(due("pivot_shift"), missed=9), due(ALERT, kind=ItemKind.KEEP)
    assert by_weight([*old, often, harm])[:2] == (harm, often)
    chosen = [
        recipe_for(Recipe(seed=1000 * seed, curriculum="ligaments"), [*old, often]) for seed in range(12)
    ]
    assert max(each.wanted for each in chosen) <= MOST_WANTED


def due(sign: str, *, kind: ItemKind = ItemKind.READ, sound: bool = False) -> Scheduled:
    """An item that is due."""
    item = Item(kind=kind, about=sign)
    return Scheduled(item=item, due=DAY_ONE.date(), met=1, missed=1, recall=0.5, sound=sound)


def test_the_next_patient_brings_up_what_is_due() -> None:
    """Most patients chosen for a sign show it on the knee complained of; by chance far fewer would."""
    recipes = [Recipe(seed=1000 * seed, curriculum="ligaments") for seed in range(12)]
    chosen = [recipe_for(each, [due("pivot_shift")]) for each in recipes]
    shown = [_shows(each.recipe, "pivot_shift") for each in chosen]
    wanted = [bool(each.wanted) for each in chosen]
    assert [each.brought for each in chosen] == [each.wanted for each in chosen]
    assert all(shows for shows, was in zip(shown, wanted, strict=True) if was)
    assert 0 < sum(wanted) < len(wanted), f"wanted on {SHOWS:.0%}, so that due does not mean abnormal"
    assert sum(shown) > sum(_shows(each, "pivot_shift") for each in recipes)


def _shows(recipe: Recipe, sign: str) -> bool:
    hidden = draw_patient(recipe)
    return hidden.outcomes[sign, hidden.person.side].level > 0


def test_the_recipe_of_a_due_patient_holds_no_answer() -> None:
    """Only the seed differs from the recipe asked for: no sign, lesion or item stands in it."""
    asked = Recipe(seed=77, curriculum="ligaments")
    chosen = recipe_for(asked, [due("lachman"), due("consent", kind=ItemKind.KEEP)]).recipe
    assert replace(chosen, seed=77) == asked
    assert "lachman" not in write_recipe(chosen)
    assert 0 <= chosen.seed - 77 < MOST_TRIES


def test_a_wish_that_cannot_be_met_ends() -> None:
    """When no patient of the curriculum shows what is due, the one that shows most is taken."""
    many = [due(sign.id) for sign in PROTOCOL.signs if sign.kind is Kind.TEST][:9]
    chosen = recipe_for(Recipe(seed=5, curriculum="front"), many)
    assert 0 < chosen.brought <= chosen.wanted <= len(many)
    habit = recipe_for(Recipe(seed=5), [due("greeting", kind=ItemKind.KEEP)])
    assert (habit.recipe, habit.wanted) == (Recipe(seed=5), 0)
