"""What a suggestion is made of: plain frozen values, worded elsewhere."""

from __future__ import annotations

from dataclasses import dataclass

from fabella.anatomy import Side


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What one outcome of a suggested step would do: its chance, and the lesion it would move most (0..1)."""

    outcome: str
    chance: float
    lesion: str
    now: float
    then: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NextStep:
    """A manoeuvre, question or image not yet done, with what it would tell and what it costs.

    ``kind`` is "question", "manoeuvre" or "image"; ``bits`` the expected information about the state of the
    knee; ``minutes`` the time it takes; ``hurts`` 0 (no) to 3 (very); ``outlooks`` one entry an outcome.
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Withheld:
    """A step that would tell something but must not be done now, and why."""

    id: str
    name: str
    side: Side
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """Ranked next steps for the affected side or sides.

    ``enough`` is true when nothing left at the bedside would change the plan; ``images`` are ranked apart.
    """

    bedside: tuple[NextStep, ...]
    images: tuple[NextStep, ...]
    withheld: tuple[Withheld, ...]
    enough: bool
