"""The evidence of a measurement: the picture with the points, lines and arc by which it was taken."""

from __future__ import annotations

import base64
import math
from dataclasses import dataclass
from textwrap import wrap

from fabella.measure import Arm, Passing, PictureMeasurement, Point, Turn
from fabella.picture import Picture
from fabella.report import measured_words as words
from fabella.report.document import Figure
from fabella.report.labels import SIZE_MM
from fabella.report.plate import PALETTE
from fabella.report.svg import svg_template
from fabella.report.wording import sentence

WIDTH_MM = 160.0
_LEFT, _TOP, _GAP, _FOOT = 5.0, 14.0, 6.0, 5.0
_BOX = (96.0, 150.0)  # the most that the picture may take, across and down
_EACH_MM = 1.22  # of a letter in the small type of the column
_OTHERS_MM, _MARKS_MM, _SMALL_MM = 45.5, 4.4, 3.2  # where the column goes on, and its lines
_OTHER_MM = 8.2
_STEPS, _EDGE_MM = 12, 1.0  # of the arc looked along, and what it keeps from the edge of the picture
_ARC_SHARE, _LEAST_ARC_MM, _MOST_ARC_MM = 0.42, 4.0, 17.0
_HALF_TURN = 180.0
_NARROW_DEG = 25.0  # of an arc too narrow to hold its value
_LETTER_MM = 2.3  # of a letter of the value
_APART_MM = 14.0  # landmarks nearer than this push their numbers apart


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One landmark: its number, its place on the plate in mm, and where its number stands."""

    number: int
    name: str
    x: float
    y: float
    label_x: float
    label_y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredPlate:
    """Everything printed; ``description`` says in words all that is drawn. Lengths in mm of the plate."""

    title: str
    side: str
    description: str
    height_mm: float
    picture: tuple[float, float, float, float]
    jpeg: str
    column_mm: float
    lines: tuple[str, ...]
    dashes: tuple[str, ...]
    arc: str
    value: str
    value_at: tuple[float, float]
    marks: tuple[Mark, ...]
    name: str
    error: str
    interval: str
    others: tuple[tuple[str, str], ...]
    small: tuple[str, ...]
    rows: tuple[float, float, float]


def build_measured_plate(measurement: PictureMeasurement, picture: Picture) -> MeasuredPlate:
    """Return the plate of a measurement on the picture it was taken on."""
    frame = measurement.frame
    tall, across = frame.height_px, frame.width_px * frame.pixel_width
    scale = min(_BOX[0] / across, _BOX[1] / tall)
    width_mm, height_mm = across * scale, tall * scale
    at = {
        name: Point(_LEFT + point.x * frame.pixel_width * scale, _TOP + point.y * scale)
        for name, point in measurement.points.items()
    }
    main = measurement.main
    value = words.value_words(main)
    wide_mm = _LETTER_MM * len(value)
    turn = main.quantity.formula
    box = Point(width_mm, height_mm)
    arc, ghost, middle = "", "", Point(_LEFT, _TOP)
    if isinstance(turn, Turn):
        arc, ghost, middle = _arc(turn, at, wide_mm=wide_mm, box=box)
    column = _LEFT + width_mm + _GAP
    small = _small(measurement, picture, characters=int((WIDTH_MM - _LEFT - column) / _EACH_MM))
    marks_mm = _OTHERS_MM + _OTHER_MM * (len(measurement.readings) - 1) + 1.8
    small_mm = marks_mm + _MARKS_MM * len(at) + 1.6
    passing = [each.quantity.formula for each in measurement.readings]
    dashes = [_path(at, each.line) for each in passing if isinstance(each, Passing)]
    return MeasuredPlate(
        title=measurement.view.name,
        side=f"{measurement.side} limb",
        description=words.spoken(measurement),
        height_mm=max(_TOP + height_mm + _FOOT, small_mm + len(small) * _SMALL_MM + 1),
        picture=(_LEFT, _TOP, width_mm, height_mm),
        jpeg=base64.b64encode(picture.jpeg()).decode("ascii"),
        column_mm=column,
        lines=tuple(_path(at, arm) for arm in _arms(measurement)),
        dashes=(*dashes, *([ghost] if ghost else [])),
        arc=arc,
        value=value,
        value_at=_inside(middle, wide_mm=wide_mm, box=box),
        marks=tuple(
            _mark(number, landmark.name, landmark.id, at)
            for number, landmark in enumerate(measurement.view.landmarks, start=1)
        ),
        name=main.quantity.name,
        error=words.error_words(main),
        interval=words.interval_words(main),
        others=tuple(
            (each.quantity.name, f"{words.value_words(each)} {words.error_words(each)}")
            for each in measurement.readings[1:]
        ),
        small=small,
        rows=(_OTHERS_MM, marks_mm, small_mm),
    )


def render_measured_plate(plate: MeasuredPlate) -> str:
    """Return the plate as an SVG document that holds the picture."""
    return svg_template("fabella.report", "measured_plate").render(
        plate=plate, width=WIDTH_MM, type_mm=SIZE_MM, **PALETTE
    )


def measured_figure(measurement: PictureMeasurement, picture: Picture) -> Figure:
    """Return the plate as a figure of a page."""
    plate = build_measured_plate(measurement, picture)
    return Figure(
        svg=render_measured_plate(plate),
        width_mm=WIDTH_MM,
        height_mm=plate.height_mm,
        alt=plate.description,
    )


def _arms(measurement: PictureMeasurement) -> tuple[Arm, ...]:
    """Return the lines to be drawn, each once, whichever way it is read."""
    arms: dict[frozenset[str], Arm] = {frozenset(each): each for each in measurement.view.segments}
    for reading in measurement.readings:
        formula = reading.quantity.formula
        if isinstance(formula, Turn):
            arms |= {frozenset(each): each for each in (formula.first, formula.second)}
    return tuple(arms.values())


def _path(at: dict[str, Point], arm: Arm) -> str:
    start, end = at[arm[0]], at[arm[1]]
    return f"M{start.x:.2f} {start.y:.2f}L{end.x:.2f} {end.y:.2f}"


def _arc(turn: Turn, at: dict[str, Point], *, wide_mm: float, box: Point) -> tuple[str, str, Point]:
    """Return the arc from the first arm, carried on, to the second; that arm; where the value stands."""
    corner = at[turn.second[0]]
    first, second = (
        (at[arm[1]].x - at[arm[0]].x, at[arm[1]].y - at[arm[0]].y) for arm in (turn.first, turn.second)
    )
    start, end = (math.atan2(y, x) for x, y in (first, second))
    swept = math.degrees(end - start)
    swept -= 2 * _HALF_TURN * round(swept / (2 * _HALF_TURN))
    shorter = min(math.hypot(*first), math.hypot(*second))
    bends = [start + math.radians(swept) * step / _STEPS for step in range(_STEPS + 1)]
    room = min(_room(corner, angle, box) for angle in bends) - _EDGE_MM
    radius = max(min(_ARC_SHARE * shorter, _MOST_ARC_MM, room), _LEAST_ARC_MM)

    def on(angle_rad: float, length_mm: float) -> Point:
        return Point(corner.x + length_mm * math.cos(angle_rad), corner.y + length_mm * math.sin(angle_rad))

    one, two = on(start, radius), on(end, radius)
    arc = f"M{one.x:.2f} {one.y:.2f}A{radius:.2f} {radius:.2f} 0 0 {int(swept > 0)} {two.x:.2f} {two.y:.2f}"
    beyond = on(start, min(radius * 1.45, max(_room(corner, start, box), radius)))
    ghost = f"M{corner.x:.2f} {corner.y:.2f}L{beyond.x:.2f} {beyond.y:.2f}"
    half = start + math.radians(swept) / 2
    if abs(swept) > _NARROW_DEG:
        return arc, ghost, on(half, radius + 3 + abs(math.cos(half)) * wide_mm / 2 + abs(math.sin(half)) * 2)
    aside = half - math.copysign(math.pi / 2, swept)  # beside the carried-on arm, not upon the limb
    middle, out = on(half, radius), 6 + abs(math.cos(aside)) * wide_mm / 2
    return arc, ghost, Point(middle.x + out * math.cos(aside), middle.y + out * math.sin(aside))


def _room(corner: Point, angle_rad: float, box: Point) -> float:
    """Return how far it is from a corner to the edge of the picture in a direction, in mm."""
    across, down = math.cos(angle_rad), math.sin(angle_rad)
    ways = []
    if across:
        ways.append(((_LEFT + box.x if across > 0 else _LEFT) - corner.x) / across)
    if down:
        ways.append(((_TOP + box.y if down > 0 else _TOP) - corner.y) / down)
    return min(ways)


def _inside(point: Point, *, wide_mm: float, box: Point) -> tuple[float, float]:
    """Return a place for the value near its arc that keeps it on the picture."""
    x = min(max(point.x, _LEFT + wide_mm / 2 + 1), _LEFT + box.x - wide_mm / 2 - 1)
    y = min(max(point.y, _TOP + 5), _TOP + box.y - 3)
    return round(x, 2), round(y, 2)


def _mark(number: int, name: str, landmark: str, at: dict[str, Point]) -> Mark:
    """Return a landmark with its number set away from the nearest other one."""
    point = at[landmark]
    nearest = min(
        (each for other, each in at.items() if other != landmark), key=lambda to: math.dist(point, to)
    )
    apart = math.dist(point, nearest)
    if apart < _APART_MM:
        x, y = 3.0 * (point.x - nearest.x) / apart, 3.0 * (point.y - nearest.y) / apart
    else:
        x, y = 2.6, -2.6
    return Mark(
        number=number,
        name=name,
        x=round(point.x, 2),
        y=round(point.y, 2),
        label_x=round(point.x + x, 2),
        label_y=round(point.y + y + 1.1, 2),
    )


def _small(measurement: PictureMeasurement, picture: Picture, *, characters: int) -> tuple[str, ...]:
    mirrored = ("The picture is a mirror image.",) if measurement.mirrored else ()
    paragraphs = (
        f"Above 0: {measurement.main.quantity.positive}.",
        sentence(measurement.view.method),
        words.parts_words(measurement.main),
        *mirrored,
        *picture.remarks,
    )
    return tuple(line for each in paragraphs for line in wrap(each, characters))
