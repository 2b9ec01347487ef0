"""Kocher's count for the irritable hip of a child: derived for the hip, and refused for the knee."""

from dataclasses import dataclass

from fabella.errors import InputError, Problem
from fabella.flags.logic import Truth, given

FEVER_C = 38.5
ESR_MM_H = 40.0
WHITE_COUNT_PER_UL = 12_000.0
PROBABILITY_BY_COUNT = (0.002, 0.03, 0.40, 0.931, 0.996)
"""Predicted probability of a septic hip by count; the first is an upper limit (printed "< 0.2 %")."""


@dataclass(frozen=True, slots=True)
class HipCount:
    """How many of the four criteria are known to be present, and how many could be."""

    sure: int
    possible: int

    @property
    def probability(self) -> float | None:
        """Predicted probability of a septic hip, None while a criterion is unknown."""
        return PROBABILITY_BY_COUNT[self.sure] if self.sure == self.possible else None


def septic_hip_count(
    *,
    joint: str,
    temperature_c: float | None,
    cannot_bear_weight: Truth,
    esr_mm_h: float | None,
    white_count_per_ul: float | None,
) -> HipCount:
    """Count the criteria of Kocher 1999 for the hip of a child; every limit is strict.

    Parameters
    ----------
    joint
        Must be ``"hip"``: the count was derived there and is not validated for any other joint.
    temperature_c, esr_mm_h, white_count_per_ul
        Degrees Celsius, mm/h, cells per microlitre; None = unknown.
    cannot_bear_weight
        None = unknown.

    Raises
    ------
    InputError
        When the joint is not the hip.

    Notes
    -----
    Source: Kocher 1999 J Bone Joint Surg Am 81:1662-1670, 10.2106/00004623-199912000-00002.
    """
    if joint != "hip":
        remedy = "use the rules for the septic knee of a child; only 'hip' is allowed"
        raise InputError([Problem(place="joint", value=joint, says="was never validated", remedy=remedy)])
    criteria = (
        given(temperature_c, lambda celsius: celsius > FEVER_C),
        cannot_bear_weight,
        given(esr_mm_h, lambda rate: rate > ESR_MM_H),
        given(white_count_per_ul, lambda count: count > WHITE_COUNT_PER_UL),
    )
    sure = criteria.count(True)
    return HipCount(sure, sure + criteria.count(None))
