"""The two-level score of 2003 for thrombosis of a leg: its facts and its points.

That of 1997 differs at the edges (calf swelling, surgery window, previous thrombosis) and is never mixed in.
"""

from dataclasses import dataclass

from fabella.flags.logic import Truth, all_of, any_of, given, hint, negate

LIKELY_POINTS_2003 = 2
CALF_CM = 3.0
ALTERNATIVE_POINTS = -2
_TAPE = 6  # decimals: 38.3 - 35.3 is 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class VeinFacts:
    """What the scores ask about one leg; whatever is None is unknown.

    ``calf_difference_cm`` is this calf minus the other, 10 cm below the tibial tubercle;
    ``surgery_12_weeks`` major surgery under general or regional anaesthesia. ``immobilised`` is the answer to
    one question for two items: paralysis or plaster, or bed rest, and nobody said which.
    """

    active_cancer: Truth = None
    paralysis_or_plaster: Truth = None
    bed_rest_3_days: Truth = None
    immobilised: Truth = None
    surgery_12_weeks: Truth = None
    deep_vein_tenderness: Truth = None
    whole_leg_swollen: Truth = None
    calf_difference_cm: float | None = None
    pitting_this_side_only: Truth = None
    superficial_veins: Truth = None
    previous_dvt: Truth = None
    alternative_as_likely: Truth = None


@dataclass(frozen=True, slots=True)
class Points:
    """A score as far as known: ``sure`` counts known items, ``possible`` the unknown ones as well."""

    sure: int
    possible: int


def points_2003(facts: VeinFacts) -> Points:
    """Return the two-level score: 2 or more is likely (Wells 2003 N Engl J Med 349:1227).

    An alternative diagnosis that nobody claimed takes nothing off (the safe reading). Somebody immobilised,
    nobody said how, has a point all the same, unless bed rest would add nothing to the surgery.
    """
    each = items(facts)
    unknown = [item for item, truth in each.items() if truth is None]
    either = facts.immobilised is True and {"immobilised", "bed_rest_or_surgery"} <= set(unknown)
    taken_off = ALTERNATIVE_POINTS if facts.alternative_as_likely else 0
    sure = list(each.values()).count(True) + taken_off
    return Points(sure + either, sure + len(unknown))


def items(facts: VeinFacts) -> dict[str, Truth]:
    """Return what gives a point each, by the criteria of the rule; bed rest and surgery are one item."""
    return {
        "active_cancer": facts.active_cancer,
        "immobilised": _told_apart(facts.paralysis_or_plaster, facts.bed_rest_3_days, facts.immobilised),
        "bed_rest_or_surgery": any_of(
            _told_apart(facts.bed_rest_3_days, facts.paralysis_or_plaster, facts.immobilised),
            facts.surgery_12_weeks,
        ),
        "deep_vein_tenderness": facts.deep_vein_tenderness,
        "whole_leg_swollen": facts.whole_leg_swollen,
        "calf_3_cm_larger": calf_larger(facts),
        "pitting_oedema": facts.pitting_this_side_only,
        "superficial_veins": facts.superficial_veins,
        "previous_dvt": facts.previous_dvt,
    }


def calf_larger(facts: VeinFacts) -> Truth:
    """Say whether this calf is larger by as much as the score asks."""
    return given(facts.calf_difference_cm, lambda cm: round(cm, _TAPE) >= CALF_CM)


def _told_apart(own: Truth, other: Truth, either: Truth) -> Truth:
    """Return one of two things: as asked, or as an answer about either of them leaves it."""
    return all_of(either, hint(negate(other))) if own is None else own
