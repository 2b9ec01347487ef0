"""What a student's beliefs amount to, in words."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from fabella.protocol import load_protocol
from fabella.stats import brier_parts, calibration
from fabella.teach import BeliefFact, HabitFact, ItemKind, RunFacts, learned_from
from fabella.teach.facts import ALERT
from fabella.teach.learned import Belief, Judged
from fabella.teach.record_words import belief_words, habit_rate_words, next_lines
from fabella.teach.repetition import Item, Scheduled

TODAY = date(2026, 3, 9)
EMPTY = RunFacts(minutes=8.0, told=False, seconds=400.0, signs=(), habits=(), beliefs=())


def told(chances: list[float], true: list[bool]) -> str:
    """Return the first sentence on some beliefs."""
    belief = Belief(
        n=len(chances),
        bins=calibration(chances, true),
        parts=brier_parts(chances, true),
        unnamed=0,
        latest=None,
    )
    return belief_words(belief)[0]


@pytest.mark.parametrize(
    ("n", "right", "by_chance"), [(20, 13, True), (20, 12, False), (200, 149, True), (200, 148, False)]
)
def test_being_too_sure_is_told_as_chance_where_it_may_be(n: int, right: int, *, by_chance: bool) -> None:
    """Beliefs of 0.8 that are right as often as said are so in .8 n of n, give or take 1.96 sqrt(n .8 .2).

    That is 16 and 3.51 of 20, 160 and 11.09 of 200. Spiegelhalter 1986 Stat Med 5:421-433 (from memory): the
    errors of calibrated probabilities sum to 0 with the variance sum p (1 - p).
    """
    says = told([0.8] * n, [True] * right + [False] * (n - right))
    assert says.startswith("On average you are surer than right, by ")
    assert says.endswith(", which may be chance.") == by_chance


def runs(*facts: RunFacts) -> list[tuple[datetime, RunFacts]]:
    """One run a day."""
    begin = datetime(2026, 3, 2, 18, tzinfo=UTC)
    return [(begin + timedelta(days=day), each) for day, each in enumerate(facts)]


def test_who_has_learned_how_sure_to_be_is_told_so() -> None:
    """Twenty beliefs far too sure, then twenty as sure as right: the whole, and apart the last twenty."""

    def said(p: float, right: int) -> list[RunFacts]:
        facts = [BeliefFact(lesion="acl_tear", believed=p, present=each < right) for each in range(20)]
        return [replace(EMPTY, beliefs=(each,)) for each in facts]

    early, late = said(0.9, 8), said(0.8, 16)
    now = datetime(2026, 5, 1, tzinfo=UTC)
    both = belief_words(learned_from(runs(*early, *late), now=now).belief)
    assert both[:2] == (
        "On average you are surer than right, by 25%.",  # 34 - 24 of 40
        "Over the last 20 you are as sure as you are right.",
    )
    assert not [line for line in belief_words(learned_from(runs(*early), now=now).belief) if "last" in line]


def test_a_habit_that_was_taken_up_is_told_as_kept_now() -> None:
    """Half of all runs, but each of the last: counted from the end, and only where it was not always so."""

    def kept(*days: bool) -> str:
        facts = [replace(EMPTY, habits=(HabitFact(habit="consent", kept=each, share=None),)) for each in days]
        (habit,) = learned_from(runs(*facts), now=datetime(2026, 5, 1, tzinfo=UTC)).habits
        return habit_rate_words(habit)

    assert kept(False, False, False, True, True, True).endswith("3 of 6; each of the last 3")
    assert "last" not in kept(False, True, False, True, True)
    assert "last" not in kept(True, True, True, True)


def test_each_lesion_is_told_as_it_was_judged() -> None:
    """There and held, there and not named, there and doubted, not there and held: each in its own count."""
    beliefs = (
        [("acl_tear", 0.9, True)],
        [("acl_tear", 0.2, True), ("medial_meniscus_tear", 0.6, False)],
        [("acl_tear", None, True), ("medial_meniscus_tear", 0.4, False)],
    )
    facts = [
        replace(EMPTY, beliefs=tuple(BeliefFact(lesion=a, believed=b, present=c) for a, b, c in each))
        for each in beliefs
    ]
    assert learned_from(runs(*facts), now=datetime(2026, 5, 1, tzinfo=UTC)).lesions == (
        Judged(lesion="acl_tear", there=3, named=2, held=1, overcalled=0),
        Judged(lesion="medial_meniscus_tear", there=0, named=0, held=0, overcalled=1),
    )


def test_the_next_patient_is_met_with_three_things_at_most_the_weightiest_first() -> None:
    """What harms, then what was missed oftenest, of what is due by tomorrow; with nothing, what is next."""

    def item(kind: ItemKind, about: str, missed: int, days: int) -> Scheduled:
        return Scheduled(
            item=Item(kind=kind, about=about),
            due=TODAY + timedelta(days=days),
            met=9,
            missed=missed,
            recall=0.5,
            sound=False,
        )

    protocol = load_protocol()
    scheduled = [
        item(ItemKind.DO, "pain_on_squatting", 2, -12),
        item(ItemKind.READ, "lachman", 7, 0),
        item(ItemKind.KEEP, "both_knees", 5, 1),
        item(ItemKind.KEEP, ALERT, 1, 1),
        item(ItemKind.READ, "effusion_sweep", 9, 2),
    ]
    lines = next_lines(scheduled, TODAY, protocol=protocol)
    assert [line.split(":")[0] for line in lines] == [
        "Clear what cannot wait before everything else",
        "Read with care",
        "Examine both knees",
    ]
    assert "missed" not in lines[1]
    assert lines[1].endswith("misread 7 of 9.")
    assert next_lines(scheduled[4:], TODAY, protocol=protocol) == (
        "Read with care: sweep test, misread 9 of 9.",
    )
    assert next_lines([], TODAY, protocol=protocol) == ()
    rude = [item(ItemKind.KEEP, habit, 1, 1) for habit in ("chaperone", "closing", "completion", "consent")]
    first, second, *_ = next_lines([*rude, item(ItemKind.READ, "lachman", 1, 1)], TODAY, protocol=protocol)
    assert first.startswith("Ask for consent")
    assert second.startswith("Read with care")
