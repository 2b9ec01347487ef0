"""Trunk and near leg in profile, inked: one skin, swelling strokes and hatching on its shaded side."""

from __future__ import annotations

from fabella.figure.leg import leg_lines, patella
from fabella.figure.pen import Point
from fabella.figure.pose import Leg, length
from fabella.figure.sheet import Item
from fabella.figure.torso import silhouette


def limb(leg: Leg, *, whole: bool) -> tuple[Item, ...]:
    """Return trunk and near leg as one skin, with the pen's strokes.

    ``whole`` is a small figure with its whole trunk, without hatching, patella and ankle.
    """
    lines = leg_lines(leg)
    fine = (
        ()
        if whole
        else (
            Item(tone="soft", points=lines.calf[::-1][1:], way="hatch", depth=-17, spacing=8, weight=6),
            Item(tone="soft", points=lines.back[::-1][:-1], way="hatch", depth=-15, spacing=9, weight=6),
            *(Item(tone="soft", points=each, weight=10) for each in (_patella_rim(leg), _malleolus(leg))),
        )
    )
    return (
        Item(tone="skin", points=silhouette(leg, whole=whole), weight=15),
        *fine,
        *(
            Item(tone="ink", points=points, way="ink", weight=weight)
            for points, weight in (
                *(() if whole else ((lines.knee, 16 + min(leg.pose.knee_flexion_deg, 60) / 6),)),
                (lines.back[1:-1], 24),
                (lines.calf, 30),
            )
        ),
    )


def _patella_rim(leg: Leg) -> tuple[Point, ...]:
    """The edge of the patella as it shows beneath the skin."""
    upper, middle, lower = patella(leg)
    inwards = (leg.knee[0] - middle[0], leg.knee[1] - middle[1])
    return tuple(
        (x + deep * inwards[0], y + deep * inwards[1])
        for (x, y), deep in ((upper, 0.2), (middle, 0.48), (lower, 0.24))
    )


def _malleolus(leg: Leg) -> tuple[Point, ...]:
    return tuple(
        leg.shank.place(length("shank") + along, out)
        for along, out in ((-6, -7), (2, -9), (8, -3), (6, 4), (-2, 7))
    )
