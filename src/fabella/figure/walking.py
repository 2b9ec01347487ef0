"""A pair of legs that walks on the spot, as key positions of one whole stride, from the side or the front."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

from fabella.anatomy import Side, other
from fabella.figure.bare_side import bare_items, shorts
from fabella.figure.footing import Steps
from fabella.figure.living import mirrored
from fabella.figure.motion import Motion
from fabella.figure.pose import Leg, build_leg
from fabella.figure.seen_legs import View
from fabella.figure.sheet import Item, Sheet, Window
from fabella.figure.stride import Thrust, WalkingLeg
from fabella.figure.walking_front import FLOOR, WINDOW, walking_legs

_SIDE = Window(left=-310.0, top=-470.0, width=620.0, height=490.0)
_TITLES = {
    View.FRONT: "Both legs walking, from the front",
    View.BACK: "Both legs walking, from behind",
    View.RIGHT: "Both legs walking, from the right side",
    View.LEFT: "Both legs walking, from the left side",
}
_BEHIND = ("", "comes less far", "hardly comes")
_FRAMES = 20
_PIXELS = 3200.0


@dataclass(frozen=True, kw_only=True)
class Walk:
    """How somebody walks: both legs, and steps of either foot a minute (40 to 160)."""

    right: WalkingLeg = field(default_factory=WalkingLeg)
    left: WalkingLeg = field(default_factory=WalkingLeg)
    cadence_per_min: float = 113.0

    def of(self, side: Side) -> WalkingLeg:
        """Return the leg of a side."""
        return self.right if side is Side.RIGHT else self.left

    def contact_pct(self, side: Side) -> float:
        """Return when a foot meets the ground, percent of the stride, which starts with the right one.

        Both spells on two feet last equally long.
        """
        if side is Side.RIGHT:
            return 0.0
        return 50 + (self.right.stance_share_pct - self.left.stance_share_pct) / 2

    @cached_property
    def steps(self) -> Steps:
        """The stride as the feet meet the floor."""
        return Steps(
            pose={each: self.of(each).pose for each in Side},
            contact_pct={each: self.contact_pct(each) for each in Side},
            stance_pct={each: self.of(each).stance_share_pct for each in Side},
        )

    @property
    def stride_ms(self) -> float:
        """The time of two steps."""
        return 120_000 / self.cadence_per_min

    @property
    def keys_pct(self) -> tuple[float, ...]:
        """Key positions: evenly spaced, and each contact, toe-off and greatest bend of a knee."""
        events = [
            (self.contact_pct(side) + own) % 100
            for side in Side
            for own in (0.0, self.of(side).stance_share_pct, self.of(side).peak_pct)
        ]
        even = [100 * step / _FRAMES for step in range(_FRAMES + 1)]
        far = [each for each in even if each in {0.0, 100.0} or min(abs(each - e) for e in events) > 1]
        return tuple(sorted({*far, *(each for each in events if each > 0)}))


def walk(how: Walk, view: View) -> Motion:
    """Return a stride as key positions.

    Parameters
    ----------
    how
        Both legs and the cadence.
    view
        ``FRONT``, ``BACK``, ``RIGHT`` or ``LEFT``.

    Raises
    ------
    ValueError
        For another view.
    """
    if view not in _TITLES:
        raise ValueError(f"nobody is seen walking from {view}; from {', '.join(_TITLES)} only")
    sheets = tuple(_sheet(how, view, at) for at in how.keys_pct)
    return Motion(
        title=sheets[0].title,
        words=walk_words(how),
        keys_pct=how.keys_pct,
        sheets=sheets,
        duration_ms=how.stride_ms,
        loops=True,
    )


def walk_words(how: Walk) -> str:
    """Return a walk in words, as it is seen."""
    parts = [f"{round(how.cadence_per_min)} steps a minute."]
    for side in Side:
        leg = how.of(side)
        out = round(leg.foot_out_deg)
        points = "straight ahead" if out == 0 else f"{abs(out)}° {'outwards' if out > 0 else 'inwards'}"
        parts.append(
            f"The {side} foot is on the ground for {round(leg.stance_share_pct)} % of the stride and points "
            f"{points}; the {side} knee bends to {round(leg.peak_flexion_deg)}° in swing."
        )
        if leg.limp:
            parts.append(
                f"The {side} thigh {_BEHIND[min(leg.limp, 2)]} behind the body before the foot leaves."
            )
        if leg.stiff:
            parts.append(f"The {side} knee hardly bends as it takes weight.")
        if leg.thrust is not Thrust.NONE:
            way = "outwards" if leg.thrust is Thrust.VARUS else "inwards"
            parts.append(f"The {side} knee is thrown {way} as it takes weight.")
        if leg.drops:
            parts.append(f"While the {side} leg stands alone, the {other(side)} side of the pelvis drops.")
    return " ".join(parts)


def _sheet(how: Walk, view: View, at_pct: float) -> Sheet:
    if view in {View.FRONT, View.BACK}:
        legs = walking_legs(
            {each: how.of(each) for each in Side},
            own_pct={each: how.steps.own_pct(each, at_pct) for each in Side},
            standing=[each for each in Side if how.steps.stands(each, at_pct)],
            back=view is View.BACK,
        )
        floor = Item(tone="soft", points=((-400.0, FLOOR), (400.0, FLOOR)), way="chain", weight=14)
        return Sheet(title=_TITLES[view], window=WINDOW, scale=_PIXELS / WINDOW.height, items=(floor, *legs))
    items = tuple(_from_side(how, view.near, at_pct))
    if view.near is Side.LEFT:
        items = tuple(map(mirrored, items))
    return Sheet(title=_TITLES[view], window=_SIDE, scale=_PIXELS / _SIDE.width, items=items)


def walking_leg(how: Walk, side: Side, at_pct: float) -> tuple[Leg, float]:
    """Return a leg in profile so far through the stride, above the floor at 0, and the bend of its toes."""
    found = how.steps.footing(side, at_pct)
    return build_leg(found.pose, hip=(0.0, found.hip)), found.toes_deg


def _from_side(how: Walk, near: Side, at_pct: float) -> Iterator[Item]:
    yield Item(tone="soft", points=((-400.0, 0.0), (400.0, 0.0)), way="chain", weight=14)
    for side in (other(near), near):
        leg, toes_deg = walking_leg(how, side, at_pct)
        seen, far = how.of(side).seen, side is not near
        yield from bare_items(leg, seen, far=far, hatched=False, toes_deg=toes_deg)
    yield from shorts(leg)
