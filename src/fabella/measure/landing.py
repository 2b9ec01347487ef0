"""Whether points can be the landmarks that they are said to be."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping
from itertools import combinations

from fabella.errors import Problem, suggestion
from fabella.measure.points import Frame, Laid, Point
from fabella.measure.quantities import FOOT
from fabella.measure.views import View

_LEAST_PX = 5  # closer together, two points are one
_LEAST_LIMB_PX = 60  # a shorter limb cannot be measured to a few degrees
_FOOT_DEG = (25.0, 155.0)  # judgement: a foot this far from the line of the shin tells where the limb faces


def problems_of(
    view: View, *, points: Mapping[str, Point], frame: Frame, pointed_within_px: float
) -> tuple[Problem, ...]:
    """Return everything that is wrong with the points of a view, each with its remedy; none when all is well.

    What depends on a landmark is only said once the landmarks themselves are in order.
    """
    wrong = (*_pointing(pointed_within_px), *_unplaced(view, points, frame))
    if wrong:
        return wrong
    laid = Laid(points={name: frame.squared(point) for name, point in points.items()}, outwards=1)
    if wrong := tuple(_together(view, laid)):
        return wrong
    return (*_upside_down(view, points), *_out_of_proportion(view, laid), *_faceless(view, laid))


def _pointing(pointed_within_px: float) -> Iterator[Problem]:
    if not (math.isfinite(pointed_within_px) and pointed_within_px >= 0):
        yield Problem(
            place="pointed_within_px",
            value=f"{pointed_within_px:g}",
            says="is not a possible value",
            remedy="use 0 or more",
        )


def problems_of_names(view: View, names: Collection[str]) -> Iterator[Problem]:
    """Yield a problem for each name that is no landmark of a view, and each landmark without a name."""
    wanted = tuple(each.id for each in view.landmarks)
    for name in names:
        if name not in wanted:
            yield Problem(place=name, says=f"is no landmark of {view.id}", remedy=suggestion(name, wanted))
    for landmark in view.landmarks:
        if landmark.id not in names:
            remedy = f"point at the {landmark.name}: {landmark.where}"
            yield Problem(place=landmark.id, says="has no point", remedy=remedy)


def _unplaced(view: View, points: Mapping[str, Point], frame: Frame) -> Iterator[Problem]:
    yield from problems_of_names(view, points)
    for landmark in view.landmarks:
        point = points.get(landmark.id)
        if point is not None and not frame.holds(point):
            yield Problem(
                place=landmark.id,
                value=f"{point.x:g},{point.y:g}",
                says="lies outside the picture",
                remedy=f"use 0 to {frame.width_px:g} across and 0 to {frame.height_px:g} down",
            )


def _together(view: View, laid: Laid) -> Iterator[Problem]:
    for first, second in combinations(view.landmarks, 2):
        if laid.length((first.id, second.id)) < _LEAST_PX:
            yield Problem(
                place=f"{first.id} and {second.id}",
                says="lie on the same spot",
                remedy=f"point at the {first.name} and at the {second.name}",
            )
    if (limb := sum(laid.length(each) for each in view.segments)) < _LEAST_LIMB_PX:
        yield Problem(
            place="points",
            value=f"{limb:.0f} px",
            says="is too small a limb to be measured",
            remedy="take a picture on which the limb is larger",
        )


def _upside_down(view: View, points: Mapping[str, Point]) -> Iterator[Problem]:
    for upper, lower in zip(view.downwards, view.downwards[1:], strict=False):
        if points[upper].y >= points[lower].y:
            above, below = view.landmark(upper), view.landmark(lower)
            yield Problem(
                place=f"{upper} and {lower}",
                says=f"are upside down: the {above.name} lies below the {below.name}",
                remedy="turn the picture upright, or exchange the points",
            )


def _out_of_proportion(view: View, laid: Laid) -> Iterator[Problem]:
    first, second = view.segments
    share = laid.length(first) / laid.length(second)
    least, most = view.proportion
    if not least <= share <= most:
        start, end = (view.landmark(each).name for each in second)
        yield Problem(
            place=f"{first[0]}–{first[1]}",
            value=f"{share:.2f}",
            says=f"times as long as from {start} to {end} is no limb ({least:g} to {most:g})",
            remedy="check that each point lies on its landmark, and that the camera stood square to the limb",
        )


def _faceless(view: View, laid: Laid) -> Iterator[Problem]:
    if FOOT[1] not in {each.id for each in view.landmarks}:
        return
    shin = next(each for each in view.segments if each[1] == FOOT[0])
    angle = abs(laid.turn_deg(shin, FOOT))
    if not _FOOT_DEG[0] <= angle <= _FOOT_DEG[1]:
        yield Problem(
            place=FOOT[1],
            value=f"{angle:.0f} degrees from the shin",
            says="does not tell which way the limb faces",
            remedy="point at the tip of the foot",
        )
