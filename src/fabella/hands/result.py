"""What an audit of one clinician's examinations says, as frozen types."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from fabella.anatomy import Side
from fabella.evidence.facts import AccuracyUsed
from fabella.hands.confirmation import Method
from fabella.stats import Bin, BrierParts, Interval, Verified
from fabella.workup import Reason


@dataclass(frozen=True, slots=True, kw_only=True)
class Cells(Verified):
    """Knees by what a sign said and what was seen inside later.

    ``untestable`` counts knees with the lesion in which the sign could not be tested; knees whose truth is
    not known stand in ``positive_unknown`` and ``negative_unknown``.
    """

    untestable: int = 0

    @property
    def present(self) -> int:
        """Knees with the lesion in which the sign was tested."""
        return self.positive_present + self.negative_present

    @property
    def absent(self) -> int:
        """Knees without the lesion in which the sign was tested."""
        return self.positive_absent + self.negative_absent

    @property
    def unknown(self) -> int:
        """Knees in which the sign was tested and nobody looked inside."""
        return self.positive_unknown + self.negative_unknown


class Against(StrEnum):
    """How an own share stands against the published one."""

    TOO_FEW = "too_few"
    ALIKE = "alike"
    LOWER = "lower"
    HIGHER = "higher"


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnShare:
    """A sensitivity or specificity in one's own hands, all shares 0..1.

    Parameters
    ----------
    counted
        The plain share of the knees that were looked into, with its exact 95 % interval; None when there was
        none. It is only what was counted: who is looked into is no fair sample.
    own
        The best estimate with its 90 % interval: the published value, moved by the own knees, those that
        were not looked into taken as like those with the same finding that were.
    published, printed
        What it started from with a 95 % interval, and whether that was printed; else it is the score
        interval of the number of knees.
    against
        `LOWER` or `HIGHER` only when the published interval lies wholly beyond the own one and beyond the
        exact one of what was counted; `TOO_FEW` below `MIN_KNEES` knees.
    """

    counted: Interval | None
    own: Interval
    published: Interval
    printed: bool
    against: Against


@dataclass(frozen=True, slots=True, kw_only=True)
class SignInOwnHands:
    """How well one sign tells its lesions in one's own hands; ``used`` names targets, row and source."""

    used: AccuracyUsed
    cells: Cells
    sensitivity: OwnShare
    specificity: OwnShare

    @property
    def sign(self) -> str:
        """The sign's id."""
        return self.used.sign


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """How the probabilities that were told agree with what was seen.

    Parameters
    ----------
    statements, knees
        Probabilities told of lesions that were looked for later, and the knees they are about.
    bins, brier
        Calibration by fifths, and the Brier score with its parts.
    before
        The Brier score of the probabilities before the examination (setting, age, sex, mechanism alone).
    gain
        By how much examining lowered the mean squared error of a knee, with a 95 % interval over knees; None
        when there is one knee only.
    level_right, level_told
        Of the lesions found at a stated level and told at 50 % or more: how often the likeliest level
        was the one found.
    """

    statements: int
    knees: int
    bins: tuple[Bin, ...]
    brier: BrierParts
    before: float
    gain: Interval | None
    level_right: int
    level_told: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Surprise:
    """A lesion that was found though hardly expected, or not found though nearly certain.

    ``found`` is `ABSENT`, `PRESENT` or a level; ``misled`` the findings that had spoken the wrong way, the
    weightiest first.
    """

    examination: str
    examined_on: date | None
    side: Side
    lesion: str
    found: str
    method: Method
    seen_on: date
    probability: float
    before: float
    misled: tuple[Reason, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnHands:
    """Everything learned from what was seen inside.

    ``examinations`` counts those given, ``confirmed`` the knees that were looked into; ``unmatched`` names
    the confirmations whose examination was not given, ``foreknown`` the examinations of a knee that had been
    looked into before, of which nothing is counted. ``signs`` stand with the most knees looked into first,
    ``surprises`` with the greatest first; ``told`` is None while nothing was looked for.
    """

    examinations: int
    confirmed: int
    unmatched: tuple[str, ...]
    foreknown: tuple[str, ...]
    signs: tuple[SignInOwnHands, ...]
    told: Told | None
    surprises: tuple[Surprise, ...]
