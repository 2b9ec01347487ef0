"""What the points on a picture come to, as a page shows it: lines, arc, values, what can be entered."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any

from PIL import Image

from fabella.anatomy import Side
from fabella.errors import InputError, Problem
from fabella.measure import Frame, LimbSide, PictureMeasurement, Point, View, measure_on_picture
from fabella.picture import Picture
from fabella.protocol import load_protocol
from fabella.record import Examination, Finding, State
from fabella.record.pictured import finding_of_picture
from fabella.report import measured_words as words
from fabella.report.measured_plate import build_measured_plate
from fabella.report.wording import quantity
from fabella.stats.written import spaced

POINT = "p-"
"""What the names of the fields begin with that hold points, as ``x,y`` in pixels."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """Lines, dashes and arc as paths in a box of its own measure: left, top, width, height."""

    box: tuple[float, float, float, float]
    lines: tuple[str, ...]
    dashes: tuple[str, ...]
    arc: str
    value: str
    value_at: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Value:
    """One value in words: its name, itself, its standard error, its interval, what the error is made of."""

    name: str
    value: str
    error: str
    interval: str
    made_of: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """A sign as which a value can be entered, and what stands there now; empty for nothing."""

    sign: str
    name: str
    value: str
    stands: str
    chosen: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """Everything that a page shows once all landmarks are pointed at; ``problems`` instead of values."""

    drawn: Drawn | None = None
    values: tuple[Value, ...] = ()
    offers: tuple[Offer, ...] = ()
    problems: tuple[str, ...] = ()


NOTHING = Reading()


def points_in(typed: Mapping[str, str], view: View) -> dict[str, Point]:
    """Return the points that a form holds; what is none is left out."""
    found: dict[str, Point] = {}
    for landmark in view.landmarks:
        try:
            x, y = map(float, typed.get(POINT + landmark.id, "").split(","))
        except ValueError:
            continue
        found[landmark.id] = Point(x, y)
    return found


def measured(
    view: View, *, side: LimbSide, points: Mapping[str, Point], frame: Frame, mirrored: bool
) -> PictureMeasurement:
    """Return what points come to; raise `InputError` with everything wrong, in words of the trade."""
    try:
        return measure_on_picture(view, side=side, points=points, frame=frame, mirrored=mirrored)
    except InputError as error:
        raise InputError(tuple(_named(each, view) for each in error.problems)) from None


def come_to(
    view: View, *, side: LimbSide, frame: Frame, typed: Mapping[str, str], examination: Examination
) -> Reading:
    """Return what the points ``typed`` come to: nothing before all are there, or what is wrong with them."""
    points = points_in(typed, view)
    if len(points) < len(view.landmarks):
        return NOTHING
    try:
        found = measured(view, side=side, points=points, frame=frame, mirrored="mirrored" in typed)
        return reading_of(found, examination, typed=typed)
    except InputError as error:
        return Reading(problems=tuple(map(str, error.problems)))


def reading_of(
    measurement: PictureMeasurement, examination: Examination, *, typed: Mapping[str, str]
) -> Reading:
    """Return what a page shows; of what was ``typed``, ``as`` is the sign that was chosen.

    An empty one is no sign at all; where nothing was chosen yet, it is the ``sign`` that was to be measured,
    else the usual one of the view.
    """
    wanted = typed.get("as", typed.get("sign", ""))
    offers = tuple(_offers(measurement, examination, wanted))
    if offers and "as" not in typed and not any(each.chosen for each in offers):
        offers = tuple(_offers(measurement, examination, offers[0].sign))
    return Reading(drawn=_drawn(measurement), values=values_of(measurement), offers=offers)


def values_of(measurement: PictureMeasurement) -> tuple[Value, ...]:
    """Return the values of a measurement in words, the main one first."""
    return tuple(
        Value(
            name=each.quantity.name,
            value=words.value_words(each),
            error=words.error_words(each),
            interval=words.interval_words(each),
            made_of=words.parts_words(each),
        )
        for each in measurement.readings
    )


def entry_of(measurement: PictureMeasurement, examination: Examination, sign: str) -> dict[str, Any] | None:
    """Return the finding that a measurement states of a sign, None where it gives none.

    As when a value is typed, a grade and a note that stood there stay; its error is kept with the picture.
    """
    found = finding_of_picture(measurement, sign)
    if found is None:
        return None
    stood = examination.finding(sign, found.side)
    kept = Finding(sign=sign) if stood is None or stood.state is State.UNTESTABLE else stood
    judged = kept.state is State.ABNORMAL or kept.level is not None
    entry = replace(found, state=kept.state if judged else None, level=kept.level, note=kept.note)
    return {name: value for name, value in asdict(entry).items() if value is not None}


def _blank_picture(frame: Frame) -> Picture:
    """Return a picture of one pixel, for drawing what lies on a picture without it."""
    return Picture(image=Image.new("L", (1, 1)), frame=frame, kind="JPEG")


def _offers(measurement: PictureMeasurement, examination: Examination, wanted: str) -> Iterator[Offer]:
    protocol = load_protocol()
    for sign in measurement.view.signs:
        found, measure = finding_of_picture(measurement, sign), protocol.sign(sign).scale.measure
        if found is None or found.value is None or measure is None or not measure.allows(found.value):
            continue
        yield Offer(
            sign=sign,
            name=protocol.sign(sign).name,
            value=_value_of(found),
            stands=_stands(examination, sign, found.side),
            chosen=sign == wanted,
        )


def _stands(examination: Examination, sign: str, side: Side | None) -> str:
    stood = examination.finding(sign, side)
    if stood is None or stood.state is State.NOT_EXAMINED:
        return ""
    level = spaced(stood.level or "")
    state = "" if stood.state is None else spaced(stood.state.value)
    return ", ".join(each for each in (_value_of(stood) or level or state, stood.method) if each)


def _value_of(finding: Finding) -> str:
    return "" if finding.value is None or finding.unit is None else quantity(finding.value, finding.unit)


def _drawn(measurement: PictureMeasurement) -> Drawn:
    plate = build_measured_plate(measurement, _blank_picture(measurement.frame))
    return Drawn(
        box=plate.picture,
        lines=plate.lines,
        dashes=plate.dashes,
        arc=plate.arc,
        value=plate.value if plate.arc else "",
        value_at=plate.value_at,
    )


def _named(problem: Problem, view: View) -> Problem:
    """Return a problem with the landmarks and quantities of its place by their names instead of their ids."""
    names = {each.id: each.name for each in view.landmarks} | {each.id: each.name for each in view.quantities}
    return replace(problem, place=re.sub(r"\w+", lambda word: names.get(word[0], word[0]), problem.place))
