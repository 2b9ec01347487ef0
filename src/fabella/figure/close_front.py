"""A knee from the front, close to, as a hand meets it: patella and hollow where they are moved."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from fabella.anatomy import Side
from fabella.figure.bare_front import shaped
from fabella.figure.frontal import UNIT, FrontPose
from fabella.figure.hands import hand_items, laid
from fabella.figure.living import mirrored
from fabella.figure.pen import Point
from fabella.figure.pose import MM
from fabella.figure.seen_legs import SeenLeg, bump
from fabella.figure.sheet import Item, Sheet, Window
from fabella.figure.tables import body, hands, knee_outline

_WINDOW = Window(left=-58 * UNIT, top=-50 * UNIT, width=116 * UNIT, height=82 * UNIT)
_SCALE = 3200.0 / _WINDOW.width
_FULL_MM = 7.0  # from so much fluid on the hollow is gone
_CREASE = ((-9.6, -21), (-10.6, -12.5), (-9.4, -3.5))  # between patella and inner hollow
_HOLLOW, _STROKES = 5.6, 9
_TENSE = (((-15, -70), (-13, -22)), ((-4, -70), (-3, -25)), ((9, -70), (6, -25)))
"""The muscle above the patella, from beyond the window."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CloseKnee:
    """A right knee from the front; of a left knee the whole drawing is mirrored.

    Parameters
    ----------
    patella_mm
        Where the patella stands: outwards and towards the foot of its place, millimetres.
    bulge_mm
        How far the inner hollow stands out with fluid, 0 to 12.
    tense
        0 with a slack thigh to 1 with its muscle drawn tight above the patella.
    hands
        What holds or strokes: the hand's shape, its tip in units of the front view, its turn in degrees, and
        whether thumb and little finger are exchanged.
    """

    seen: SeenLeg = field(default_factory=SeenLeg)
    patella_mm: Point = (0.0, 0.0)
    bulge_mm: float = 0.0
    tense: float = 0.0
    hands: tuple[tuple[str, Point, float, bool], ...] = ()

    @property
    def pose(self) -> FrontPose:
        """The leg at its alignment."""
        return FrontPose(valgus_deg=self.seen.alignment_deg, lateral=-1)

    @property
    def flanks(self) -> tuple[tuple[Point, ...], tuple[Point, ...]]:
        """The skin of the lateral and of the medial flank, from above."""
        front, skin = body()["front"], knee_outline()["skin"]
        lateral = (*front["lateral_above"][-1:], *skin["lateral"], *front["lateral_below"][:1])
        medial = (*front["medial_above"][-1:], *skin["medial"], *front["medial_below"][:1])
        flat = replace(self.seen, fullness=0)  # the fluid of the inner flank is what moves
        return (
            self.pose.places(shaped(self.seen, each) for each in lateral),
            self.pose.places(self._filled(shaped(flat, each)) for each in medial),
        )

    def _filled(self, point: Point) -> Point:
        return point[0] - self.bulge_mm / MM / UNIT * bump(point[1], -11, 17), point[1]

    @property
    def patella(self) -> tuple[Point, ...]:
        """The outline of the patella."""
        across, down = (each / MM / UNIT for each in self.patella_mm)
        points = next(each for each in knee_outline()["shape"] if each["name"] == "patella")["points"]
        return self.pose.places((x + across, y + down) for x, y in points)

    def items(self) -> Iterator[Item]:
        """Yield the knee as it is inked."""
        lateral, medial = self.flanks
        yield Item(tone="skin", points=(*lateral, *medial[::-1]), weight=0)
        for flank in (lateral, medial):
            yield Item(tone="ink", points=flank, way="ink", weight=28)
        yield Item(tone="soft", points=self.pose.places(_CREASE), weight=10)
        deep = _HOLLOW * max(0.0, 1 - self.bulge_mm / _FULL_MM)
        for step in range(_STROKES):  # shade in the hollow, which goes as it fills
            share = (step + 0.5) / _STROKES
            x, y = -9.9 - 0.7 * bump(share, 0.5, 0.5), -20.0 + 16.0 * share
            far = deep * (0.45 + 0.55 * bump(share, 0.5, 0.6))
            stroke = self.pose.places(((x, y), (x - far, y - 0.5 * far)))
            yield Item(tone="soft", points=stroke, way="chain", weight=10)
        outer = ((10.2, -20), (11.6, -13), (9.6, -5))
        yield Item(tone="soft", points=self.pose.places(outer), weight=12 if self.seen.fullness < 2 else 4)  # noqa: PLR2004 - moderate
        for top, foot in _TENSE:
            reach = tuple(a + (b - a) * self.tense for a, b in zip(top, foot, strict=True))
            yield Item(tone="line", points=self.pose.places((top, reach)), way="chain", weight=14)
        yield Item(tone="bone", points=self.patella, way="closed", weight=14)
        tubercle = ((-3.4, 11), (-1.6, 16.4), (0.8, 17.6), (3.4, 16), (5, 10.6))
        yield Item(tone="soft", points=self.pose.places(tubercle), weight=9)
        for hold, at, turn_deg, flip in self.hands:
            place = laid(self.pose.place(at), (1.0, 0.0), turn_deg=turn_deg, flip=flip)
            yield from hand_items(hands()[hold]["parts"], place)

    def sheet(self, title: str, side: Side, more: Sequence[Item] = ()) -> Sheet:
        """Return the drawing of a knee of a side, with ``more`` drawn over it."""
        items = (*self.items(), *more)
        window = _WINDOW
        if side is Side.LEFT:
            items = tuple(map(mirrored, items))
            window = replace(window, left=-window.left - window.width)
        return Sheet(title=title, window=window, scale=_SCALE, items=items)
