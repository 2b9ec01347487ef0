"""Which signs the living figure shows, so that no words beside it need tell them: reading it is the skill."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from types import MappingProxyType

from fabella.anatomy import Side, other
from fabella.figure import View
from fabella.protocol import Kind, load_protocol
from fabella.teach import VIEWS, Act, Run, Turn, seen_so_far
from fabella.teach.moved import MOVED
from fabella.teach.said import said_of

_OWN_SIDE = None
_SENTENCE = re.compile(r"(?<=\.) ")

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
        "high_arch": View.FRONT,
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
        "deformity": View.ABOVE,
        "held_flexed": _OWN_SIDE,
        "posterior_swelling": _OWN_SIDE,
        "posterior_sag": _OWN_SIDE,
    }
)
"""Signs that the legs show in the position in which they are looked for, and from where they are seen best:
None is from the side of the leg in question. Every other sign that does not move is told in words."""


def view_for(sign: str, side: Side | None, position: str) -> View | None:
    """Return from where a sign is seen best in a position; None where the legs do not show it."""
    if sign not in SEEN_FROM:
        return None
    view = SEEN_FROM[sign]
    if view is not None:
        return view
    sideways = (each for each in VIEWS.get(position, ()) if each.value.endswith(str(side)))
    return next(sideways, None)


def moves(turn: Turn) -> bool:
    """Say whether something moved that can be seen when something was done, as `motion_of` would draw it."""
    event, shown = turn.event, turn.seen.shown
    if event.act is not Act.DO or event.sign not in MOVED or shown is None or not shown.possible:
        return False
    return shown.level is not None or shown.value is not None


def is_left_to_the_eye(turn: Turn) -> bool:
    """Say whether no words tell what was done in a turn, since the figure shows it.

    An angle that is taken with a goniometer is read off it, and told.
    """
    shown = turn.seen.shown
    if shown is None or not shown.possible or turn.event.sign is None:
        return False
    sign = load_protocol().sign(turn.event.sign)
    is_read_off = sign.kind is Kind.MOVE and not sign.scale.levels
    return sign.id in SEEN_FROM or (moves(turn) and not is_read_off)


def seen_words(run: Run, turn: Turn) -> str:
    """Return what is seen of one leg where a sign is looked for, ungraded, for whoever asked for words."""
    event = turn.event
    look = seen_so_far(run.turns[: run.turns.index(turn) + 1])
    view = None if look is None else view_for(event.sign or "", event.side, look.position)
    if look is None or view is None or event.side is None:
        return ""
    elsewhere = str(other(event.side))
    said = _SENTENCE.split(said_of(look, view))
    return " ".join(each for each in said if str(event.side) in each.lower() or elsewhere not in each.lower())


def reads_the_figure(run: Run) -> bool:
    """Say whether whoever plays a run reads the figure, so that words must not tell what it shows."""
    return not (run.finished or run.terms.told or run.in_words)


def latest_first(run: Run) -> Iterator[tuple[int, Turn]]:
    """Yield the turns of a run with their numbers, from 1."""
    return zip(range(len(run.turns), 0, -1), reversed(run.turns), strict=True)


def tests_of(run: Run) -> Iterator[int]:
    """Yield the numbers of the turns in which something moved, the latest first."""
    return (number for number, turn in latest_first(run) if moves(turn))
