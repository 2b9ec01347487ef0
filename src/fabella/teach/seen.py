"""What a student gets to see, feel and hear: the only types that may leave for a page, a card or a terminal.

Nothing here knows a lesion. What is sent of a sign is what its manoeuvre shows to anybody who does it.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from fabella.anatomy import Side


class Face(StrEnum):
    """What the face shows, to somebody who watches it."""

    CALM = "calm"
    FROWN = "frown"
    WINCE = "wince"
    GRIMACE = "grimace"


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What a sign shows, for a figure to draw or for words.

    ``level`` counts from 0 (nothing to see) to ``levels`` - 1; ``value`` is a reading in ``unit``, unrounded;
    ``possible`` is false when pain or guarding prevented the test, and nothing else is then told. ``firm``
    says how a movement ends, and ``travel_mm`` how far it goes, where the manoeuvre shows that besides its
    sign.
    """

    level: int | None
    levels: int
    value: float | None
    unit: str | None
    possible: bool
    firm: bool | None = None
    travel_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LegLook:
    """How one leg looks in a position; what cannot be seen in it is None.

    Angles are in degrees: ``alignment_deg`` valgus positive, ``foot_progression_deg`` outwards positive,
    ``extension_deg`` positive beyond straight, ``heel_deg`` outwards positive. ``fullness``, ``wasting``,
    ``redness`` are levels from 0; ``stance_share_pct`` is of the gait
    cycle, ``peak_flexion_deg`` of the knee in swing, ``sag_mm`` how far the tibia has sunk back.
    """

    side: Side
    alignment_deg: float | None = None
    patella_turned_in: bool | None = None
    fullness: int | None = None
    wasting: int | None = None
    calf_wasting: int | None = None
    redness: int | None = None
    bruise: bool | None = None
    scar: bool | None = None
    wound: bool | None = None
    extension_deg: float | None = None
    flat_foot: bool | None = None
    high_arch: bool | None = None
    heel_deg: float | None = None
    prepatellar: bool | None = None
    tubercle: bool | None = None
    patella_high: bool | None = None
    patella_low: bool | None = None
    patella_out: bool | None = None
    behind: bool | None = None
    deformed: bool | None = None
    held_flexed: bool | None = None
    sag_mm: float | None = None
    limp: int | None = None
    stiff: bool | None = None
    thrust: str | None = None
    foot_progression_deg: float | None = None
    stance_share_pct: float | None = None
    peak_flexion_deg: float | None = None
    trendelenburg: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """Both legs as they lie open to view in a position; cadence and speed while walking."""

    position: str
    right: LegLook
    left: LegLook
    cadence_per_min: float | None = None
    speed_m_per_s: float | None = None
    stride_cm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What one action brought.

    Parameters
    ----------
    seconds, clock_s
        What it took, and the clock after it.
    said
        The patient's words, empty when there are none.
    told
        The finding in words, only where the examiner tells findings.
    shown, look
        For the figure: what the sign shows, and how the legs look after a change of position.
    face
        Only once the face is watched.
    covered
        The legs are still covered: nothing could be seen or felt.
    refused
        The patient does not let it be done.
    """

    seconds: float
    clock_s: float
    said: str = ""
    told: str = ""
    shown: Shown | None = None
    look: Look | None = None
    face: Face | None = None
    covered: bool = False
    refused: bool = False


def seen_tree(seen: Seen) -> dict[str, Any]:
    """Return what was seen as plain values for JSON; what is empty or unknown is left out."""
    return {key: value for key, value in _plain(seen).items() if value not in (None, "", False)}


def _plain(thing: Any) -> dict[str, Any]:
    tree: dict[str, Any] = {}
    for name in thing.__dataclass_fields__:
        value = getattr(thing, name)
        if isinstance(value, Shown | LegLook | Look):
            value = {key: each for key, each in _plain(value).items() if each is not None}
        elif isinstance(value, StrEnum):
            value = value.value
        tree[name] = value
    return tree
