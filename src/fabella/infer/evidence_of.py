"""What one knee's findings say, in the form the posterior takes them."""

from __future__ import annotations

from dataclasses import dataclass, field

from fabella.infer.context import Setting


@dataclass(frozen=True, slots=True, kw_only=True)
class Observation:
    """One sign's outcome on one knee, as evidence over its levels.

    ``weights`` (levels of the sign + 1,), each 0..1: how compatible what was found is with each true report,
    the first being normal. A plain report is a 1 among 0s; "abnormal, grade not given" is 0 then 1s; a
    measurement spreads over the grades its error allows. ``aspect_of`` names the sign that was recorded, when
    this is one aspect of it.
    """

    sign: str
    weights: tuple[float, ...]
    aspect_of: str | None = None
    abnormal: bool = field(init=False, compare=False)
    """Whether what was found is likelier abnormal than normal."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "abnormal", self.weights[0] < 0.5 * max(self.weights))

    @property
    def recorded(self) -> str:
        """Return the sign that was recorded."""
        return self.aspect_of or self.sign

    @property
    def grades(self) -> int:
        """Return the number of levels above normal."""
        return len(self.weights) - 1


@dataclass(frozen=True, slots=True, kw_only=True)
class ImageRead:
    """What an image of one knee was read to show: the lesions; any other that it can show it does not."""

    image: str
    shows: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class KneeEvidence:
    """One knee before inference: its circumstances, observations and images, and whether it guarded.

    Signs unknown to the model, or void here, are kept in ``unused`` so that nothing is dropped silently.
    """

    setting: Setting
    observations: tuple[Observation, ...]
    images: tuple[ImageRead, ...] = ()
    guarded: bool = False
    unused: tuple[str, ...] = field(default=())


def plain(sign: str, level: int, grades: int = 1) -> Observation:
    """Return a plain report of one level (0 = normal) of a sign with ``grades`` levels above normal."""
    return Observation(sign=sign, weights=tuple(float(k == level) for k in range(grades + 1)))
