"""One knee of the plate: its pose, its marks, and the labels and side views that find room beside it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from fabella.anatomy import Side
from fabella.report.curves import number
from fabella.report.insets import MOTION_SIGNS, Inset
from fabella.report.labels import Label, Wanted
from fabella.report.limb import USUAL_ANGLE_DEG, Limb, Pose, draw_limb
from fabella.report.marks import (
    Mark,
    Site,
    arrow_mm,
    fullness,
    gap,
    opening,
    place,
    pouch,
    sites,
    tape,
    turning,
)
from fabella.report.plate_layout import below, beside, label_of
from fabella.report.readings import Outcome, Reading, Readings
from fabella.report.wording import counted, described

JOINT_MM = 42.5
CENTRES_MM = {Side.RIGHT: 40.0, Side.LEFT: 120.0}
"""The right knee stands on the left of the page, as the examiner faces the patient."""

_RIDES = {"high_riding_patella": 4.5, "low_riding_patella": -3.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateKnee:
    """One knee as drawn, with its marks, labels, insets and the words above and below it."""

    side: Side
    title: str
    status: str
    examined: bool
    x_mm: float
    limb: Limb
    pouch: str
    axes: tuple[str, ...]
    marks: tuple[Mark, ...]
    labels: tuple[Label, ...]
    insets: tuple[Inset, ...]
    below: tuple[str, ...]


def plate_knee(readings: Readings, side: Side) -> PlateKnee:
    """Return one knee as drawn."""
    centre = CENTRES_MM[side]
    pose = _pose(readings, side)
    abnormal = readings.with_outcome(Outcome.ABNORMAL, side)
    known = sites()
    placed = [each for each in abnormal if each.sign in known and known[each.sign].mark != "slides"]
    measured = [
        each
        for each in readings.of(side)
        if each.value is not None
        and each.outcome is not Outcome.ABNORMAL
        and _always_shown(known.get(each.sign))
    ]
    fluid = fullness(each for each in placed if known[each.sign].mark == "pouch")
    marks, wanted = _marks(pose, [*placed, *measured])
    insets, labels, left_over = beside(readings, pose, wanted)
    unplaced = [each for each in abnormal if each.sign not in known and each.sign not in MOTION_SIGNS]
    apart = [described(each, beside=False) for each in unplaced] + [each.spoken for each in left_over]
    return PlateKnee(
        side=side,
        title=f"{side.capitalize()} knee",
        status=_status(readings, side),
        examined=readings.examined(side),
        x_mm=centre,
        limb=draw_limb(pose),
        pouch="" if fluid is None else pouch(pose, share=fluid),
        axes=_axes(pose) if _angle(readings, side) is not None else (),
        marks=marks,
        labels=labels,
        insets=insets,
        below=below(apart),
    )


def _always_shown(site: Site | None) -> bool:
    """Measured girth and alignment are drawn even when they are normal."""
    return site is not None and site.mark in {"axis", "tape"}


def _pose(readings: Readings, side: Side) -> Pose:
    angle_deg = _angle(readings, side)
    up = sum(
        by
        for sign, by in _RIDES.items()
        if (found := readings.find(sign, side)) and found.outcome is Outcome.ABNORMAL
    )
    return Pose(
        side=side,
        x_mm=CENTRES_MM[side],
        y_mm=JOINT_MM,
        angle_deg=USUAL_ANGLE_DEG if angle_deg is None else angle_deg,
        patella_up=up,
    )


def _angle(readings: Readings, side: Side) -> float | None:
    measured = readings.find("tibiofemoral_angle", side)
    return None if measured is None else measured.value


def _status(readings: Readings, side: Side) -> str:
    looked = [each for each in readings.of(side) if each.outcome is not Outcome.NOT_EXAMINED]
    abnormal = len(readings.with_outcome(Outcome.ABNORMAL, side))
    return f"{counted(len(looked), 'sign')} examined, {abnormal or 'none'} abnormal"


def _marks(pose: Pose, readings: list[Reading]) -> tuple[tuple[Mark, ...], tuple[Wanted, ...]]:
    """One mark a place, and one label for all that was found there."""
    known = sites()

    def group(reading: Reading) -> tuple[str, float, float]:
        site = known[reading.sign]
        return ("pouch", 0.0, 0.0) if site.mark == "pouch" else (site.mark, *site.at)

    marks, wanted = [], []
    for (kind, _, _), each in groupby(sorted(readings, key=group), key=group):
        found = list(each)
        site = known[found[0].sign]
        mark = _mark(pose, kind, site, found)
        marks.append(mark)
        spoken = "; ".join(described(one, beside=False) for one in found)
        wanted.append(Wanted(text="; ".join(map(label_of, found)), spoken=spoken, at=mark.at))
    return tuple(marks), tuple(wanted)


def _mark(pose: Pose, kind: str, site: Site, found: list[Reading]) -> Mark:
    if kind == "opens":
        return opening(pose, site, max(map(arrow_mm, found)))
    if kind == "turns":
        return turning(pose, site)
    if kind == "tape":
        return tape(pose, site)
    if kind == "gap":
        return gap(pose, site)
    return Mark(kind=kind, at=place(pose, site), behind=site.behind)


def _axes(pose: Pose) -> tuple[str, ...]:
    """The axes of both shafts, the femoral one run on below the joint so that the angle can be seen."""
    (x0, y0), (x1, y1) = pose.femoral_axis
    onwards = (x1 + (x1 - x0) * 0.9, y1 + (y1 - y0) * 0.9)
    (x2, y2), (x3, y3) = pose.tibial_axis
    return (
        f"M{number(x0)} {number(y0)}L{number(onwards[0])} {number(onwards[1])}",
        f"M{number(x1)} {number(y1)}L{number(x2)} {number(y2)}L{number(x3)} {number(y3)}",
    )
