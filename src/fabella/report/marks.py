"""Marks on a limb: what was found, drawn where it was found."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from types import MappingProxyType

from fabella.figure import knee_sites
from fabella.report.curves import Point, number, smooth
from fabella.report.limb import Pose, skin_edge
from fabella.report.readings import Reading
from fabella.report.wording import YES_OR_NO

LONGEST_ARROW_MM = 13.0
_ARROW_PER_GRADE_MM = 4.0
"""A grade without millimetres: 1+, 2+, 3+ as 4, 8 and 12 mm (a convention of this drawing)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One mark: its kind, its place on the page, and the path it is drawn with (empty for a plain symbol)."""

    kind: str
    at: Point
    path: str = ""
    behind: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """Where a sign stands on the plate, and how."""

    mark: str
    say: str
    at: Point
    behind: bool
    rides: bool
    way: str


@cache
def sites() -> Mapping[str, Site]:
    """Return the place of every sign that has one, by sign id."""
    return MappingProxyType(
        {
            sign: Site(
                mark=row["mark"],
                say=row["say"],
                at=(float(row.get("at", (0, 0))[0]), float(row.get("at", (0, 0))[1])),
                behind=row.get("behind", False),
                rides=row.get("rides", False),
                way=row.get("way", ""),
            )
            for sign, row in knee_sites().items()
        }
    )


def place(pose: Pose, site: Site) -> Point:
    """Return where a site stands on the page; what lies on the patella rides up and down with it."""
    return pose.places([site.at], up=pose.patella_up if site.rides else 0.0)[0]


def arrow_mm(reading: Reading) -> float:
    """Return the length of a laxity arrow: the millimetres measured, else 4 mm a grade, at most 13 mm."""
    measured = reading.value if reading.unit == "mm" else None
    length = measured if measured is not None else _ARROW_PER_GRADE_MM * max(reading.level, 1)
    return min(max(length, 1.5), LONGEST_ARROW_MM)


def head(tip: Point, *, towards_deg: float) -> str:
    """Return an arrow head at ``tip`` that points in a direction (0 to the right, 90 down the page)."""
    corners = [tip]
    for turn in (180 - 24, 180 + 24):
        angle = math.radians(towards_deg + turn)
        corners.append((tip[0] + 1.7 * math.cos(angle), tip[1] + 1.7 * math.sin(angle)))
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in corners) + "Z"


def opening(pose: Pose, site: Site, length_mm: float) -> Mark:
    """Return the arrow of a joint line that opens on one flank: two heads, ``length_mm`` apart."""
    x, y = pose.place(site.at)
    up, down = y - length_mm / 2, y + length_mm / 2
    shaft = f"M{number(x)} {number(up + 1)}L{number(x)} {number(down - 1)}"
    heads = head((x, up), towards_deg=-90) + head((x, down), towards_deg=90)
    return Mark(kind="arrow", at=(x, y), path=f"{shaft}|{heads}")


def turning(pose: Pose, site: Site) -> Mark:
    """Return a curved arrow round the front of the shin, its head where the tibia turns to."""
    x, y = site.at
    outwards = site.way != "inwards"
    arc = [(math.sin(angle), math.cos(angle)) for angle in (-1.25, -0.8, -0.3, 0.3, 0.8, 1.25)]
    line = pose.places(
        [(across * 7.4 - 0.4, y + 2.2 * down) for across, down in (arc if outwards else arc[::-1])]
    )
    (x0, y0), (x1, y1) = line[-2], line[-1]
    heads = head(line[-1], towards_deg=math.degrees(math.atan2(y1 - y0, x1 - x0)))
    middle = pose.place((x, y + 1.0))
    return Mark(kind="arrow", at=middle, path=f"{smooth(line)}|{heads}")


def tape(pose: Pose, site: Site) -> Mark:
    """Return a measuring tape round the limb at the height of the site."""
    height = pose.place(site.at)[1]
    left, right = sorted((_skin_at(pose, height, lateral=True), _skin_at(pose, height, lateral=False)))
    arcs, ticks = [], []
    for drop in (0.0, 1.0):
        middle = ((left + right) / 2, height + 2.6 + drop)
        arcs.append(
            smooth(
                [
                    (left, height + drop),
                    ((left * 3 + right) / 4, height + 2.0 + drop),
                    middle,
                    ((left + right * 3) / 4, height + 2.0 + drop),
                    (right, height + drop),
                ]
            )
        )
    for step in range(1, 24):
        share = step / 24
        x = left + (right - left) * share
        y = height + 2.6 * (1 - (2 * share - 1) ** 2)
        ticks.append(f"M{number(x)} {number(y)}v{'0.9' if step % 4 == 0 else '0.45'}")
    lateral_x = _skin_at(pose, height, lateral=True)
    return Mark(kind="tape", at=(lateral_x, height + 0.5), path="".join(arcs + ticks))


def gap(pose: Pose, site: Site) -> Mark:
    """Return two short bars, the torn ends on either side of a gap."""
    x, y = site.at
    bars = []
    for down in (-0.8, 0.8):
        ends = [(x - 3.4, y + down * 1.6), (x, y + down), (x + 3.4, y + down * 1.6)]
        start, middle, end = pose.places(ends, up=pose.patella_up if site.rides else 0.0)
        bars.append(smooth([start, middle, end]))
    return Mark(kind="gap", at=place(pose, site), path="".join(bars))


def pouch(pose: Pose, *, share: float) -> str:
    """Return the contour of a swollen joint cavity: the gutters beside the patella and the pouch above it.

    Parameters
    ----------
    pose
        Where the limb stands.
    share
        How full it is, from 0 (just visible) to 1 (as large as the scale goes).
    """
    tall, wide = 3.0 + 9.0 * share, 0.6 + 1.9 * share
    outline = [
        (-5.0, -4.2), (-7.2 - wide, -8.4), (-7.6 - wide, -13.2), (-6.8 - wide, -17.8),
        (-5.0 - wide * 0.8, -19.6 - tall * 0.55), (-2.2, -19.4 - tall), (2.6, -19.6 - tall),
        (6.2 + wide * 0.8, -19.8 - tall * 0.55), (8.2 + wide, -17.8), (9.0 + wide, -13.2),
        (8.6 + wide, -8.4), (6.6, -4.2), (3.4, -5.6), (0.8, -4.6), (-1.6, -5.4),
    ]  # fmt: skip
    return smooth(pose.places(outline, up=pose.patella_up), closed=True)


def fullness(readings: Iterable[Reading]) -> float | None:
    """Return how full the joint is drawn (0 to 1), by the fullest swelling sign; None when there is none."""
    return max((_share(each) for each in readings), default=None)


_GRADED_SWELLING = frozenset({"effusion", "effusion_sweep"})
_UNGRADED_SHARE = 0.6  # a swelling that is there, but of which no size was given


def _share(reading: Reading) -> float:
    if reading.sign not in _GRADED_SWELLING or reading.level == 0:
        return _UNGRADED_SHARE
    return (reading.level - 1) / (reading.levels - YES_OR_NO)


def _skin_at(pose: Pose, height: float, *, lateral: bool) -> float:
    edge = skin_edge(pose, lateral=lateral)
    for (x0, y0), (x1, y1) in pairwise(edge):
        if min(y0, y1) <= height <= max(y0, y1) and y0 != y1:
            return x0 + (x1 - x0) * (height - y0) / (y1 - y0)
    return edge[0][0] if height < edge[0][1] else edge[-1][0]
