"""Landmarks on a picture in, values with their standard errors out."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from fabella.errors import Problem, Problems
from fabella.measure.landing import problems_of
from fabella.measure.points import Frame, Laid, Point
from fabella.measure.quantities import Quantity
from fabella.measure.views import LimbSide, SeenFrom, View

_MOST_ERROR_DEG = 20.0  # judgement: beyond it no error is carried on linearly any more
_STEP_PX = 1e-3  # small against a pixel, large against rounding
_Z95 = 1.96
_COARSE = 1.5  # judgement: a standard error from which tenths tell nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureReading:
    """One value read off a picture.

    Parameters
    ----------
    quantity
        What it is; ``value`` and the errors are in its unit.
    value
        The value, positive as ``quantity.positive`` says.
    pointing_error
        Standard error that comes of placing the landmarks.
    standard_error
        Standard error altogether: placing the landmarks, and taking the picture anew.
    """

    quantity: Quantity
    value: float
    pointing_error: float
    standard_error: float

    @property
    def interval(self) -> tuple[float, float]:
        """Return the ends of the 95 % interval, in the unit of the quantity."""
        half = _Z95 * self.standard_error
        return self.value - half, self.value + half

    def rounded(self, value: float) -> float:
        """Return a value to the places that the standard error leaves: tenths below 1.5, else whole units."""
        return round(value, 1 if self.standard_error < _COARSE else 0) + 0.0  # no -0


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureMeasurement:
    """What one picture of one limb gives, and how it was taken: enough to draw it again.

    Parameters
    ----------
    view, side, mirrored, frame, points
        As they were given to :func:`measure_on_picture`.
    readings
        One for each quantity of the view that the picture allows, in the order of the view.
    """

    view: View
    side: LimbSide
    mirrored: bool
    frame: Frame
    points: Mapping[str, Point]
    readings: tuple[PictureReading, ...]

    @property
    def method(self) -> str:
        """Return how it was taken, as it is written in the record: from where, and whether mirrored."""
        return f"{self.view.method}{', mirrored' if self.mirrored else ''}"

    @property
    def main(self) -> PictureReading:
        """Return the reading for which the view is taken."""
        return self.readings[0]

    def reading_for(self, sign: str) -> PictureReading | None:
        """Return the reading that can be entered as a sign of the protocol; None when there is none."""
        return next((each for each in self.readings if sign in each.quantity.signs), None)


def measure_on_picture(
    view: View,
    *,
    side: LimbSide,
    points: Mapping[str, Point],
    frame: Frame,
    mirrored: bool = False,
    pointed_within_px: float = 1.0,
) -> PictureMeasurement:
    """Return what a view's landmarks on a picture come to, each value with its standard error.

    Parameters
    ----------
    view
        One of `VIEWS`; it says what is pointed at and what comes of it.
    side
        The patient's own side, right or left.
    points
        A place in pixels for each landmark of the view, by its id.
    frame
        Size and scale of the picture.
    mirrored
        True where right and left are exchanged on the picture, as in a mirror; from the side it is all one.
    pointed_within_px
        Standard error of hitting the spot meant, in pixels, 0 or more.

    Raises
    ------
    InputError
        With every landmark that is missing, unknown, off the picture, on top of another or anatomically
        impossible, and with every value that no limb has.

    Notes
    -----
    A landmark is placed with an error of ``placed_mm`` in any direction, turned into pixels by the scale of
    the picture or else by the limb on it (``segments``, ``adult_mm``), and with ``pointed_within_px`` too.
    Errors of landmarks are independent and carried on linearly: variance = sum of (derivative x error)
    squared. What the literature gives for taking the picture anew (``method_error``) is added as one more
    variance. As it holds some pointing already, the whole is rather too large than too small.
    """
    Problems(problems_of(view, points=points, frame=frame, pointed_within_px=pointed_within_px)).raise_any()
    laid = Laid(
        points={each.id: frame.squared(points[each.id]) for each in view.landmarks},
        outwards=_outwards(view, side=side, mirrored=mirrored),
    )
    readings = tuple(
        _read(quantity, view=view, laid=laid, frame=frame, pointed_within_px=pointed_within_px)
        for quantity in view.quantities
        if quantity.unit == "deg" or frame.mm_per_px is not None
    )
    Problems(filter(None, (_impossible(each, view=view) for each in readings))).raise_any()
    return PictureMeasurement(
        view=view,
        side=side,
        mirrored=mirrored,
        frame=frame,
        points=MappingProxyType({each.id: points[each.id] for each in view.landmarks}),
        readings=readings,
    )


def _outwards(view: View, *, side: LimbSide, mirrored: bool) -> int:
    exchanged = (side == "left") + mirrored + (view.seen_from is SeenFrom.ABOVE)
    return -1 if exchanged % 2 else 1


def _read(
    quantity: Quantity, *, view: View, laid: Laid, frame: Frame, pointed_within_px: float
) -> PictureReading:
    scale = frame.mm_per_px if quantity.unit == "mm" and frame.mm_per_px else 1.0
    limb_px = sum(laid.length(each) for each in view.segments)
    px_per_mm = 1 / frame.mm_per_px if frame.mm_per_px else limb_px / view.adult_mm
    variance = 0.0
    for landmark in view.landmarks:
        error_px = math.hypot(landmark.placed_mm * px_per_mm, pointed_within_px)
        for dx, dy in ((_STEP_PX, 0.0), (0.0, _STEP_PX)):
            ahead = quantity.formula.of(_moved(laid, landmark.id, dx, dy))
            behind = quantity.formula.of(_moved(laid, landmark.id, -dx, -dy))
            variance += ((ahead - behind) / (2 * _STEP_PX) * error_px) ** 2
    pointing = math.sqrt(variance) * scale
    return PictureReading(
        quantity=quantity,
        value=quantity.formula.of(laid) * scale,
        pointing_error=pointing,
        standard_error=math.hypot(pointing, quantity.method_error),
    )


def _moved(laid: Laid, name: str, dx: float, dy: float) -> Laid:
    point = laid.points[name]
    return Laid(points={**laid.points, name: Point(point.x + dx, point.y + dy)}, outwards=laid.outwards)


def _impossible(reading: PictureReading, *, view: View) -> Problem | None:
    quantity = reading.quantity
    if quantity.unit == "deg" and reading.pointing_error > _MOST_ERROR_DEG:
        return Problem(
            place=quantity.id,
            value=f"{reading.pointing_error:.0f} deg",
            says="is the error of pointing alone, which tells nothing of the angle",
            remedy="have the limb larger on the picture, or point more exactly",
        )
    if quantity.low <= reading.value <= quantity.high:
        return None
    remedy = "check that each point lies on its landmark"
    if view.seen_from is not SeenFrom.SIDE:
        remedy += (
            ", that side, medial and lateral are not exchanged, and whether the picture is a mirror image"
        )
    elif 0 <= reading.value < quantity.low:
        remedy += "; a knee as straight as this is measured with the view straight_knee"
    return Problem(
        place=quantity.id,
        value=f"{reading.value:.1f} {quantity.unit}",
        says=f"is outside what a limb can have ({quantity.low:g} to {quantity.high:g})",
        remedy=remedy,
    )
