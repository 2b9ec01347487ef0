"""The plate from the side: how far both knees move, where the shin slides, what was felt where."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from textwrap import wrap as wrap_words

from fabella.anatomy import Side, other
from fabella.figure.leg import leg_lines
from fabella.figure.limb import limb
from fabella.figure.marks import arc, arrow, dot, ring
from fabella.figure.pen import Point
from fabella.figure.plan import Spot
from fabella.figure.pose import Leg, LegPose, build_leg, length
from fabella.figure.reach import place_of
from fabella.figure.sheet import Item, Sheet, Window, Words, write
from fabella.report.insets import Motion, motion, slides
from fabella.report.limb import lateral_sign
from fabella.report.marks import arrow_mm, fullness, sites
from fabella.report.plate import build_plate
from fabella.report.plate_layout import label_of
from fabella.report.readings import Outcome, Reading, Readings
from fabella.report.wording import NO_BREAK

_APART = 258.0  # from the middle of the page to a knee, thousandths of stature
_WINDOW = Window(left=-580.0, top=-214.0, width=1160.0, height=514.0)
_SCALE = 3200 / 1160
_TYPE = 86
_LINE, _FIRST = 34.0, -146.0  # from line to line, and the first, thousandths of stature
_LETTERS = 18  # that fit beside a limb
_LINES = 10
_BAND = (-2.0, 66.0)  # kept free for the arrow of a sliding shin
_ARC, _RAY = 168.0, 196.0
_PLACES = {
    "tenderness_quadriceps_insertion": Spot(on="thigh", at=0.86),
    "tenderness_superior_pole": Spot(on="shank", at=-0.06),
    "tenderness_patella": Spot(on="shank", at=-0.02),
    "prepatellar_swelling": Spot(on="shank", at=-0.02, out=6),
    "tenderness_inferior_pole": Spot(on="shank", at=0.05),
    "tenderness_patellar_tendon": Spot(on="shank", at=0.09),
    "tenderness_tibial_tubercle": Spot(on="shank", at=0.14),
    "tubercle_prominent": Spot(on="shank", at=0.14, out=4),
    "tenderness_popliteal": Spot(on="shank", at=0.0, side="back"),
    "popliteal_mass": Spot(on="shank", at=0.02, side="back", out=6),
    "posterior_swelling": Spot(on="thigh", at=0.97, side="back", out=6),
    "tenderness_hamstrings": Spot(on="thigh", at=0.8, side="back"),
    "tenderness_calf": Spot(on="shank", at=0.3, side="back"),
}  # fmt: skip
"""What a view from the side shows better than one from the front, and where."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Panel:
    """One knee: what is drawn, as a figure that faces right, its hip at the origin, and the words beside."""

    items: tuple[Item, ...]
    words: tuple[str, ...]
    slides: bool = False


def build_side_view(readings: Readings) -> Sheet:
    """Return both knees from the side; toes point outwards, the right knee stands on the left."""
    items: list[Item] = []
    words: list[Words] = []
    for side in (Side.RIGHT, Side.LEFT):
        panel = _panel(readings, side)
        way, middle = lateral_sign(side), lateral_sign(side) * _APART
        for item in panel.items:
            points = tuple((middle + way * x, y - length("thigh")) for x, y in item.points)
            items.append(replace(item, points=points, depth=way * item.depth))
        edge, anchor = middle + way * 70, "end" if way < 0 else "start"
        words.append(Words(text=f"{side.capitalize()} knee", at=(edge, _FIRST - 1.3 * _LINE), anchor=anchor))
        for line, y in zip(panel.words, _rows(arrow_too=panel.slides), strict=False):
            words.append(Words(text=line, at=(edge, y), anchor=anchor))
        if _ends_differ(readings, side):  # said on each half, since a page may set one above the other
            for line, up in (("thin lines:", 20 + _LINE), ("the other knee", 20)):
                bottom = _WINDOW.top + _WINDOW.height
                words.append(Words(text=line, at=(way * 105, bottom - up)))
    title = "Both knees from the side. " + build_plate(readings).description
    return Sheet(
        title=title, window=_WINDOW, scale=_SCALE, items=tuple(items), words=tuple(words), type_size=_TYPE
    )


def render_side_view(readings: Readings) -> str:
    """Return both knees from the side as an SVG document with its own colours."""
    return write(build_side_view(readings), alone=True)


def _ends_differ(readings: Readings, side: Side) -> bool:
    """Whether the ends of the other knee's motion are drawn on this one."""
    others = motion(readings, other(side))
    return readings.examined(side) and others is not None and others != motion(readings, side)


def _panel(readings: Readings, side: Side) -> _Panel:
    own = motion(readings, side)
    straight = -own.extension_deg if own and own.extension_deg is not None else 0.0
    leg = build_leg(LegPose(knee_flexion_deg=straight))
    if not readings.examined(side):
        outline = Item(tone="far", points=leg_lines(leg).outline, weight=12)
        return _Panel(items=(outline,), words=("not examined",))
    items = [*_moves(leg, own, motion(readings, other(side))), *limb(leg, whole=False)]
    abnormal = readings.with_outcome(Outcome.ABNORMAL, side)
    fluid = fullness(each for each in abnormal if each.sign in sites() and sites()[each.sign].mark == "pouch")
    words = [own.words] if own else []
    if fluid is not None:
        items.extend(_pouch(leg, fluid))
        words.append("joint swollen")
    found = slides(readings, side)
    items.extend(_slides(leg, found))
    words.extend(map(label_of, found))
    for each in abnormal:
        if each.sign in _PLACES:
            at = place_of(leg, _PLACES[each.sign])
            items.extend(dot(at, radius=9) if sites()[each.sign].mark == "tender" else _seen(at))
            said = label_of(each)
            words.append(f"tender: {said}" if sites()[each.sign].mark == "tender" else said)
    return _Panel(items=tuple(items), words=tuple(_lines(words)), slides=bool(found))


def _lines(words: Iterable[str]) -> list[str]:
    """The words in lines that fit beside the limb; what does not fit is counted."""
    lines = [line for each in words for line in wrap_words(each.replace(NO_BREAK, " "), _LETTERS)]
    if len(lines) <= _LINES:
        return lines
    return [*lines[: _LINES - 1], f"and {len(lines) - _LINES + 1} more lines"]


def _rows(*, arrow_too: bool) -> Iterator[float]:
    """The heights of the lines beside a limb, the band of the arrow left out."""
    y = _FIRST
    while True:
        if not (arrow_too and _BAND[0] < y < _BAND[1]):
            yield y
        y += _LINE


def _moves(leg: Leg, own: Motion | None, others: Motion | None) -> Iterator[Item]:
    """The shank at the end of flexion, the arc on the way there, and the other knee's ends."""
    if others is not None and others != own:
        for end in (others.extension_deg, None if others.flexion_deg is None else -others.flexion_deg):
            if end is not None:
                ray = arc(leg.knee, _RAY, end, end)[0]
                yield Item(tone="soft", points=(leg.knee, ray), way="chain", weight=9)
    if own is None or own.flexion_deg is None:
        return
    bent = leg_lines(build_leg(LegPose(knee_flexion_deg=own.flexion_deg)))
    yield Item(tone="ghost", points=(*bent.knee[2:], *bent.shin, *bent.foot, *bent.calf), weight=11)
    start = own.extension_deg or 0.0
    yield from arrow(arc(leg.knee, _ARC, start, -own.flexion_deg), weight=22)


def _slides(leg: Leg, found: Iterable[Reading]) -> Iterator[Item]:
    """An arrow at the tubercle, as long as the movement in millimetres where the page is 16 cm wide."""
    for way, direction in (("forwards", 1), ("backwards", -1)):
        longest = max((arrow_mm(each) for each in found if sites()[each.sign].way == way), default=0.0)
        if longest:
            near = place_of(leg, Spot(on="shank", at=0.14, out=8))
            far = (near[0] + longest * _WINDOW.width / 160 * leg.shank.forwards[0], near[1])
            yield from arrow((near, far) if direction > 0 else (far, near), size=0.9)


def _pouch(leg: Leg, share: float) -> Iterator[Item]:
    """The pouch above the patella, filled by a share of what it can hold."""
    out = 6 + 16 * share
    bulge = [(0.66, -2.0), (0.74, out * 0.7), (0.83, out), (0.91, out * 0.8), (0.97, -2.0)]
    edge = tuple(place_of(leg, Spot(on="thigh", at=at, out=by)) for at, by in bulge)
    yield Item(tone="accent", points=edge, weight=18)
    yield Item(tone="accent", points=edge, way="hatch", depth=out * 0.9, spacing=8, weight=7)


def _seen(at: Point) -> tuple[Item, ...]:
    return (Item(tone="accent", points=ring(at, 9), way="closed", weight=16),)
