"""What is seen of the legs, in words: for whoever cannot see the figure, and asks for them.

Both legs are told alike and nothing is graded or named: what the figure would show is said, with
about-numbers, so that reading it stays the student's own work.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from fabella.figure import View, walk_words
from fabella.teach.drawn import walk_of
from fabella.teach.seen import LegLook, Look

_STRAIGHT_DEG, _LEVEL_MM = 0.5, 0.5
_HOLLOWS = (
    "the hollows beside the {} kneecap are plain to see",
    "the hollows beside the {} kneecap are shallow",
    "the hollows beside the {} kneecap are filled, and the skin stands out above it",
    "the skin bulges all round the {} kneecap and a hand's breadth above it",
)
_THIGH = (
    "the {} thigh is round down to the kneecap",
    "the {} thigh is flatter above the inner side of the kneecap",
    "the {} thigh is thin, and hollow above the inner side of the kneecap",
)
_CALF = ("the {} calf is round", "the {} calf is a little thin", "the {} calf is thin")
_RED = ("", "the skin over the {} knee is reddish", "the skin over the {} knee is red")
_THERE = {
    "bruise": "there is a bruise below the inner side of the {} knee",
    "scar": "a scar runs down the inner side of the {} kneecap",
    "wound": "the skin below the {} knee is open",
    "prepatellar": "a round swelling lies on the {} kneecap",
    "tubercle": "the bump below the {} kneecap stands out",
    "patella_high": "the {} kneecap lies high",
    "patella_low": "the {} kneecap lies low",
    "patella_out": "the {} kneecap lies on the outer side of the knee",
    "behind": "a swelling stands out in the hollow behind the {} knee",
    "deformed": "the {} shin lies out of line with the thigh and the foot is rolled out",
    "held_flexed": "the {} knee is kept half bent",
}
_SKIN = ("bruise", "scar", "wound", "prepatellar", "tubercle")


def said_of(look: Look, view: View) -> str:
    """Return what is seen from one side, in sentences; empty where nothing of it is known.

    Parameters
    ----------
    look
        How the legs look in a position.
    view
        From where; one of `VIEWS` of the position. A walk is told alike from every side.
    """
    if look.position == "walking":
        return walk_words(walk_of(look))
    parts = [*_PAIR.get(view, _nothing)(look)]
    for leg in (look.right, look.left):
        parts.extend(_OWN[view](leg))
    return " ".join(f"{each[0].upper()}{each[1:]}." for each in parts if each)


def _nothing(_: Look) -> Iterator[str]:
    yield ""


def _front(leg: LegLook) -> Iterator[str]:
    side = leg.side
    if leg.alignment_deg is not None:
        yield _points(leg)
    if leg.patella_turned_in is not None:
        faces = "inwards" if leg.patella_turned_in else "straight ahead"
        yield f"the {side} kneecap faces {faces}"
    yield from _above(leg)
    if leg.flat_foot is not None:
        arch = "touches the ground" if leg.flat_foot else "is high" if leg.high_arch else "is a hollow"
        yield f"the inner border of the {side} foot {arch}"


def _points(leg: LegLook) -> str:
    deg = leg.alignment_deg or 0.0
    if abs(deg) < _STRAIGHT_DEG:
        return f"the {leg.side} shin runs in line with the thigh"
    way = "outwards" if deg > 0 else "inwards"
    return f"from the {leg.side} knee down the shin points about {round(abs(deg))}° {way} of the thigh"


def _above(leg: LegLook) -> Iterator[str]:
    """What the skin shows, standing from the front and lying from above."""
    side = leg.side
    for words, level in ((_HOLLOWS, leg.fullness), (_THIGH, leg.wasting), (_RED, leg.redness)):
        if level is not None:
            yield words[level].format(side)
    for name in (*_SKIN, "patella_high", "patella_low", "patella_out", "deformed"):
        if getattr(leg, name):
            yield _THERE[name].format(side)


def _back(leg: LegLook) -> Iterator[str]:
    side = leg.side
    if leg.heel_deg is not None:
        way = "outwards" if leg.heel_deg > 0 else "inwards"
        yield f"the {side} heel leans about {round(abs(leg.heel_deg))}° {way}"
    if leg.flat_foot is not None:
        seen = "several toes show" if leg.flat_foot else "one toe shows"
        yield f"{seen} beside the {side} heel"
    if leg.alignment_deg is not None:
        yield _points(leg)
    if leg.calf_wasting is not None:
        yield _CALF[leg.calf_wasting].format(side)
    if leg.behind:
        yield _THERE["behind"].format(side)


def _beside(leg: LegLook) -> Iterator[str]:
    """The profile of a leg, standing or lying."""
    side = leg.side
    if leg.held_flexed:
        yield _THERE["held_flexed"].format(side)
    elif leg.extension_deg is not None:
        deg, way = round(abs(leg.extension_deg)), "bent" if leg.extension_deg < 0 else "beyond straight"
        if abs(leg.extension_deg) < _STRAIGHT_DEG:
            yield f"the {side} knee is straight"
        else:
            yield f"the {side} knee is {way} by about {deg}°"
    if leg.fullness is not None:
        above = ("is flat", "is a little full", "stands out", "bulges")[leg.fullness]
        yield f"above the {side} kneecap the thigh {above}"
    if leg.behind:
        yield _THERE["behind"].format(side)


def _right_angle(leg: LegLook) -> Iterator[str]:
    if leg.tubercle:
        yield _THERE["tubercle"].format(leg.side)


def _sunk(look: Look) -> Iterator[str]:
    """How far the shins stand apart, in one line of sight."""
    right, left = look.right.sag_mm, look.left.sag_mm
    if right is None or left is None:
        return
    apart = right - left
    if abs(apart) < _LEVEL_MM:
        yield "both shins stand equally far forward"
    else:
        behind, other = ("right", "left") if apart > 0 else ("left", "right")
        mm = round(abs(apart))
        yield f"below the kneecap the {behind} shin stands about {mm} mm behind the {other} one"


_OWN: dict[View, Callable[[LegLook], Iterator[str]]] = {
    View.FRONT: _front,
    View.BACK: _back,
    View.RIGHT: _beside,
    View.LEFT: _beside,
    View.ABOVE: _above,
    View.LYING_RIGHT: _beside,
    View.LYING_LEFT: _beside,
    View.RIGHT_ANGLE_RIGHT: _right_angle,
    View.RIGHT_ANGLE_LEFT: _right_angle,
}
_PAIR: dict[View, Callable[[Look], Iterator[str]]] = {
    View.RIGHT_ANGLE_RIGHT: _sunk,
    View.RIGHT_ANGLE_LEFT: _sunk,
}
