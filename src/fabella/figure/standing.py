"""The whole person from the front and from behind, standing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fabella.figure.frontal import UNIT, FrontPose, leg_contour
from fabella.figure.pen import Point
from fabella.figure.sheet import Item
from fabella.figure.tables import body
from fabella.figure.torso import ArmPose, arm_line

_SHOULDER = (69.0, -296.0)  # from the midline and the knee, in units of the front view
_OUTWARDS_DEG = 8.0
_WAIST = ((-45.0, -188.0), (45.0, -188.0))  # of the shorts, and their hem
_HEM = ((4.0, -74.0), (58.0, -78.0))


def standing_person(*, middle: float, back: bool) -> Iterator[Item]:
    """Yield somebody who stands facing the reader, or with the back to the reader, knees at height 0.

    Parameters
    ----------
    middle
        Where the midline stands, in thousandths of stature.
    back
        Whether the back is seen.
    """
    front = body()["front"]
    apart = front["apart"] * UNIT

    def both(points: Sequence[Sequence[float]], side: int) -> tuple[Point, ...]:
        return tuple((middle + side * x * UNIT, y * UNIT) for x, y in points)

    legs = [
        leg_contour(FrontPose(knee=(middle + side * apart, 0.0), lateral=side), each=4) for side in (-1, 1)
    ]
    crotch = (middle, front["crotch"] * UNIT)
    flanks = [both((*front["trunk"], *front["flank"]), side) for side in (-1, 1)]
    yield Item(
        tone="skin", points=(*flanks[0], *legs[0][:-1], crotch, *legs[1][-2::-1], *flanks[1][::-1]), weight=15
    )
    for side in (-1, 1):
        arm = arm_line(
            ArmPose(shoulder_flexion_deg=_OUTWARDS_DEG, elbow_flexion_deg=3),
            shoulder=(_SHOULDER[0] * UNIT, _SHOULDER[1] * UNIT),
        )
        arm = (*arm[:9:2], *arm[9:19:2], *arm[19::2])
        yield Item(tone="skin", points=tuple((middle + side * x, y) for x, y in arm), weight=15)
    head = both(front["head"], -1)
    yield Item(tone="skin", points=(*head, *both(front["head"][1:-1][::-1], 1)), way="closed", weight=15)
    yield from _inner(middle, apart, back=back)


def _inner(middle: float, apart: float, *, back: bool) -> Iterator[Item]:
    """The few lines within the contour that tell front from back."""

    def lines(points: Sequence[Point], *, tone: str = "line") -> Iterator[Item]:
        for side in (-1, 1):
            yield Item(
                tone=tone, points=tuple((middle + side * x * UNIT, y * UNIT) for x, y in points), weight=11
            )

    knee = apart / UNIT
    yield Item(
        tone="soft", points=tuple((middle + x * UNIT, y * UNIT) for x, y in _WAIST), way="chain", weight=9
    )
    yield from lines(_HEM, tone="soft")
    if back:
        yield Item(tone="line", points=((middle, -300 * UNIT), (middle, -196 * UNIT)), way="chain", weight=9)
        yield from lines([(knee - 9, -2), (knee, 1), (knee + 9, -2)])
        yield from lines([(knee - 4, 120), (knee - 3, 140), (knee - 4, 154)])
        return
    yield from lines([(9, -312), (30, -306), (52, -305)])
    yield from lines([(knee - 6, -11), (knee, -1), (knee + 6, -11)])


def leg_axes(middle: float) -> Iterator[tuple[Point, ...]]:
    """Yield the axis of each leg from hip through knee to ankle, for looking at alignment."""
    apart = body()["front"]["apart"]
    for side in (-1, 1):
        lean = 0.105 * 143
        yield tuple(
            (middle + side * (apart + x) * UNIT, y * UNIT) for x, y in ((lean, -143), (0, 0), (0, 143))
        )
