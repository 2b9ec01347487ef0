"""Which signs the living figure shows, so that no words beside it need tell them: reading it is the skill."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import lru_cache
from types import MappingProxyType

from fabella.anatomy import Side
from fabella.figure import View
from fabella.teach import Run, Turn, motion_of

_OWN_SIDE = None
_REMEMBERED = 4096

SEEN_FROM: Mapping[str, View | None] = MappingProxyType(
    {
        "varus_alignment": View.FRONT,
        "valgus_alignment": View.FRONT,
        "patellae_turning_in": View.FRONT,
        "swelling_visible": View.FRONT,
        "quadriceps_wasting": View.FRONT,
        "erythema": View.FRONT,
        "ecchymosis": View.FRONT,
        "scar": View.FRONT,
        "open_wound": View.FRONT,
        "standing_fixed_flexion": _OWN_SIDE,
        "standing_recurvatum": _OWN_SIDE,
        "flat_foot": View.BACK,
        "high_arch": _OWN_SIDE,
        "calf_wasting": View.BACK,
        "hindfoot_valgus": View.BACK,
        "hindfoot_varus": View.BACK,
        "antalgic_gait": View.FRONT,
        "stiff_knee_gait": _OWN_SIDE,
        "varus_thrust": View.FRONT,
        "valgus_thrust": View.FRONT,
        "trendelenburg_gait": View.BACK,
        "foot_progression_angle": View.BACK,
        "patella_dislocated_now": View.ABOVE,
        "high_riding_patella": View.ABOVE,
        "low_riding_patella": View.ABOVE,
        "prepatellar_swelling": View.ABOVE,
        "tubercle_prominent": View.ABOVE,
        "posterior_sag": _OWN_SIDE,
    }
)
"""Signs that the legs show in the position in which they are looked for, and from where they are seen best:
None is from the side of the leg in question. Every other sign that does not move is told in words."""

_SIDEWAYS = {
    "standing": (View.RIGHT, View.LEFT),
    "walking": (View.RIGHT, View.LEFT),
    "knees_90": (View.RIGHT_ANGLE_RIGHT, View.RIGHT_ANGLE_LEFT),
}


def view_for(sign: str, side: Side | None, position: str) -> View | None:
    """Return from where a sign is seen best in a position; None where the legs do not show it."""
    if sign not in SEEN_FROM:
        return None
    view = SEEN_FROM[sign]
    if view is not None:
        return view
    sideways = _SIDEWAYS.get(position)
    return None if sideways is None else sideways[side is Side.LEFT]


@lru_cache(maxsize=_REMEMBERED)
def moved(turn: Turn) -> str | None:
    """Return in words what moved when something was done; None where nothing moves that can be seen."""
    motion = motion_of(turn, None)
    return None if motion is None else motion.words


def is_shown(turn: Turn) -> bool:
    """Say whether the figure shows what was done in a turn."""
    shown = turn.seen.shown
    if shown is None or not shown.possible:
        return False
    return (turn.event.sign or "") in SEEN_FROM or moved(turn) is not None


def leaves_it_to_the_eye(run: Run) -> bool:
    """Say whether whoever plays a run reads the figure, so that words must not tell what it shows."""
    return not (run.finished or run.terms.told or run.in_words)


def tests_of(run: Run) -> Iterator[int]:
    """Yield the numbers (from 1) of the turns in which something moved, the latest first."""
    for number in range(len(run.turns), 0, -1):
        if moved(run.turns[number - 1]) is not None:
            yield number
