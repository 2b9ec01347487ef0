"""What a suggestion is made of: plain frozen values, worded elsewhere."""

from __future__ import annotations

from dataclasses import dataclass

from fabella.anatomy import Side


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What one outcome of a suggested step would do: its chance, and the lesion it would move most (0..1).

    Of lesions, those come first on which it changes the plan.
    """

    outcome: str
    chance: float
    lesion: str
    now: float
    then: float


@dataclass(frozen=True, slots=True)
class OrderedBy:
    """An image that a met rule asks for, by the name of the rule."""

    rule: str


@dataclass(frozen=True, slots=True)
class Confirms:
    """An image that treatment rests on: of these lesions, the likeliest first; ``how`` to take it, or "".

    ``spared_by`` is the source of a rule by which the likeliest is diagnosed without it, or "".
    """

    lesions: tuple[str, ...]
    how: str = ""
    spared_by: str = ""


@dataclass(frozen=True, slots=True)
class Precedes:
    """An image that is taken before another one of the same knee, which is named, whatever it would tell."""

    image: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NextStep:
    """A manoeuvre, question or image not yet done, with what it would tell and what it costs.

    ``kind`` is "question", "manoeuvre" or "image"; ``bits`` the expected information about the state of the
    knee; ``minutes`` the time it takes; ``hurts`` 0 (no) to 3 (very); ``outlooks`` one entry an outcome.
    ``decides`` says of a deed at the bedside whether it has a fair chance of changing the plan by itself,
    ``joins`` whether it is among the most telling of those that have it together where none has it alone.
    ``purpose`` is what an image is for that is named whatever it would tell.
    """

    kind: str
    id: str
    name: str
    side: Side
    bits: float
    minutes: float
    bits_per_minute: float
    hurts: int
    outlooks: tuple[Outlook, ...]
    sources: tuple[str, ...]
    decides: bool = False
    joins: bool = False
    purpose: OrderedBy | Confirms | Precedes | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Withheld:
    """A deed that must not be done now, and every reason; ``kind`` is "sign" or "image"."""

    id: str
    name: str
    side: Side
    reasons: tuple[str, ...]
    kind: str = "sign"

    @property
    def why(self) -> str:
        """All its reasons in one line."""
        return "; ".join(self.reasons)


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """Next steps for the affected side or sides.

    ``first``: images that met rules order, the most urgent rule first. ``bedside``: ranked by what they would
    tell. ``images``: those that treatment rests on, and plain films before magnetic resonance imaging, then
    the others ranked. ``withheld``: images, then signs, the most telling first. ``enough`` is true when
    nothing left at the bedside would change the plan, and a workup names no step there; ``together`` is the
    chance (0..1) that what is left of the routine examination would, 0 where a single step may or nothing of
    it would; ``deferred`` when steps are left out beside what cannot wait; ``unsettled`` when a pressing rule
    is open that questions or the bedside would settle.
    """

    first: tuple[NextStep, ...] = ()
    bedside: tuple[NextStep, ...]
    images: tuple[NextStep, ...]
    withheld: tuple[Withheld, ...]
    enough: bool
    together: float = 0.0
    deferred: bool = False
    unsettled: bool = False

    @property
    def first_only(self) -> bool:
        """Whether nothing is proposed beside what cannot wait but what its rules order."""
        return self.deferred and not self.bedside and not self.images
