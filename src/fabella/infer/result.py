"""What a conclusion is made of: plain frozen values, worded elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from fabella.anatomy import Side

ANY_LEVEL = "any level"
"""The level name under which the levels of one lesion are added up."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Grounding:
    """Shares (adding up to 1, or all 0 without evidence) of what a number rests on."""

    published: float
    derived: float
    judgement: float


class Reason(NamedTuple):
    """How far one finding, or one image, moved one lesion.

    ``weight_bits`` is the change of its log2 odds when the findings of the same physical cause are left out
    and put back, shared among them: +1 doubles the odds. ``abnormal`` says whether the finding was likelier
    abnormal than normal; ``brought`` that the lesion by itself often brings it; ``foreign`` that it is
    abnormal, and the lesion by itself hardly brings it oftener than nothing listed does. Where it is an
    ``image``, ``sign`` is its id and ``abnormal`` says whether it shows the lesion. A named tuple, as
    thousands are made in one conclusion.
    """

    sign: str
    abnormal: bool
    weight_bits: float
    sources: tuple[str, ...]
    grounding: Grounding
    brought: bool = False
    foreign: bool = False
    image: bool = False

    @property
    def explained_otherwise(self) -> bool:
        """Whether it moves the lesion only by what it says of others.

        It speaks against a lesion that often brings it, as something else explains it better; or for one that
        does not bring it, as it makes others less likely still.
        """
        return self.brought if self.weight_bits < 0 else self.foreign


@dataclass(frozen=True, slots=True, kw_only=True)
class LesionProbability:
    """Posterior of one level of one lesion (or `ANY_LEVEL`) with its 90 % interval, all in 0..1."""

    lesion: str
    level: str
    prior: float
    probability: float
    low: float
    high: float
    reasons_for: Sequence[Reason]
    reasons_against: Sequence[Reason]
    grounding: Grounding


@dataclass(frozen=True, slots=True, kw_only=True)
class Combination:
    """One whole state of a knee, as (lesion, level) pairs; empty when nothing listed is present."""

    lesions: tuple[tuple[str, str], ...]
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """How well the findings fit anything the model knows.

    ``p_value`` is the posterior predictive probability (0..1) of findings at least as surprising as these
    among knees that do have the concluded lesions; ``poor`` is true when it is below 0.07, as it is in one of
    twenty knees drawn from the model itself and examined by all routine signs. ``odd`` lists the signs that
    fit worst, the worst first.
    """

    p_value: float
    poor: bool
    odd: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class KneeConclusion:
    """Everything concluded about one knee.

    ``lesions`` are sorted by probability and hold one `ANY_LEVEL` entry a lesion besides its levels;
    ``nothing_listed`` is the posterior probability that no lesion of the model is present;
    ``findings`` are the ids of the signs that entered, ``images`` of the images, ``unused`` of the signs that
    have no meaning in the model or test what is not there.
    """

    side: Side
    symptomatic: bool
    lesions: tuple[LesionProbability, ...]
    combinations: tuple[Combination, ...]
    nothing_listed: float
    guarding: float
    fit: Fit
    findings: tuple[str, ...]
    images: tuple[str, ...] = ()
    unused: tuple[str, ...]

    def any_level(self) -> tuple[LesionProbability, ...]:
        """Return one entry a lesion, levels added up, the most probable first."""
        return tuple(entry for entry in self.lesions if entry.level == ANY_LEVEL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Conclusion:
    """The probabilities of lesions on each knee, and the edition of the evidence they come from."""

    edition: str
    knees: tuple[KneeConclusion, ...]

    def knee(self, side: Side) -> KneeConclusion:
        """Return the conclusion about one side."""
        return next(knee for knee in self.knees if knee.side is side)
