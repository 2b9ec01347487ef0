"""Room on the plate: side views and labels beside a limb, and the words below it."""

from __future__ import annotations

from fabella.anatomy import other
from fabella.report.insets import Inset, motion, motion_inset, slide_inset, slides
from fabella.report.labels import LINE_MM, Label, Wanted, place_labels, wrap
from fabella.report.limb import Pose, lateral_sign, skin_edge
from fabella.report.marks import sites
from fabella.report.readings import Reading, Readings
from fabella.report.wording import NO_BREAK, degree, is_there

_TOP_MM, _COLUMN_END_MM = 12.0, 74.0
_COLUMN_MM = 21.2  # from the middle of the limb to the labels, unless the limb is wider there
_INSET_MM, _INSET_FROM_MM = 28.4, 19.0  # middle and near edge of a side view, from the middle of the limb
_MARGIN_MM = 38.2  # from the middle of the limb to the end of the labels
_LINES_BELOW = 2

_Room = dict[bool, tuple[float, float]]
"""Upper and lower end of the column of labels on the lateral (True) and medial flank, page millimetres."""


def beside(
    readings: Readings, pose: Pose, wanted: tuple[Wanted, ...]
) -> tuple[tuple[Inset, ...], tuple[Label, ...], tuple[Wanted, ...]]:
    """Return the side views and labels of a knee, and the labels for which no room was left."""
    side, outer = pose.side, lateral_sign(pose.side)
    insets = []
    room = {True: (_TOP_MM, _COLUMN_END_MM), False: (_TOP_MM, _COLUMN_END_MM)}
    if own := motion(readings, side):
        at = (pose.x_mm + outer * _INSET_MM, 60.5)
        insets.append(motion_inset(side=side, at=at, own=own, other=motion(readings, other(side))))
        room[True] = (_TOP_MM, 56.0)
    if sliding := slides(readings, side):
        inset, room = _sliding(pose, sliding, wanted, room)
        insets.append(inset)
    labels, left_over = _labels(pose, wanted, room)
    return tuple(insets), labels, left_over


def _sliding(
    pose: Pose, found: tuple[Reading, ...], wanted: tuple[Wanted, ...], room: _Room
) -> tuple[Inset, _Room]:
    """The side view of a sliding shin where no limb is in the way and most labels keep their room."""
    lines = [line for each in found for line in wrap(label_of(each), room_mm=21.4)]
    depth = 10.2 + LINE_MM * (len(lines) - 1) + 0.5  # from the joint line to the end of the words
    options = []
    for lateral, at_the_top in ((False, False), (True, False), (False, True), (True, True)):
        top, bottom = room[lateral]
        y = top + 8.5 if at_the_top else bottom - depth
        rest = (y + depth + 1.5, bottom) if at_the_top else (top, y - 9.5)
        in_the_way = _edge(pose, lateral=lateral, top_mm=y - 8.0, bottom_mm=y + depth) > _INSET_FROM_MM
        _, left_over = _labels(pose, wanted, {**room, lateral: rest})
        options.append((in_the_way, len(left_over), lateral, y, rest))
    _, _, lateral, y, rest = min(options, key=lambda option: option[:2])
    x = pose.x_mm + lateral_sign(pose.side) * (1 if lateral else -1) * _INSET_MM
    return slide_inset(side=pose.side, at=(x, y), found=found, says=lines), {**room, lateral: rest}


def label_of(reading: Reading) -> str:
    """Return what a label says: ``Lachman 2+, 8 mm``, ``pivot shift, clunk``, ``6° varus``."""
    say, how = is_there(reading) or sites()[reading.sign].say, degree(reading)
    if reading.sign == "tibiofemoral_angle":
        return how
    if not how:
        return say
    join = ": " if say.endswith("°") else NO_BREAK if how[0].isdigit() else ", "
    return f"{say}{join}{how}"


def _labels(
    pose: Pose, wanted: tuple[Wanted, ...], room: _Room
) -> tuple[tuple[Label, ...], tuple[Wanted, ...]]:
    """Labels in two columns: what lies on the lateral half goes to the lateral one."""
    outer = lateral_sign(pose.side)
    labels: list[Label] = []
    left_over: list[Wanted] = []
    for lateral in (True, False):
        flank = outer if lateral else -outer
        top, bottom = room[lateral]
        edge = _edge(pose, lateral=lateral, top_mm=top, bottom_mm=bottom)
        ours = [each for each in wanted if (outer * (each.at[0] - pose.x_mm) > 0) is lateral]
        done, rest = place_labels(
            ours,
            edge_mm=pose.x_mm + flank * max(_COLUMN_MM, edge + 1.8),
            page_mm=pose.x_mm + flank * _MARGIN_MM,
            top_mm=top,
            bottom_mm=bottom,
        )
        labels.extend(done)
        left_over.extend(rest)
    return tuple(labels), tuple(left_over)


def _edge(pose: Pose, *, lateral: bool, top_mm: float, bottom_mm: float) -> float:
    """How far the skin reaches from the middle of the joint on one flank, between two heights of the page."""
    flank = lateral_sign(pose.side) * (1 if lateral else -1)
    within = (x for x, y in skin_edge(pose, lateral=lateral) if top_mm < y < bottom_mm)
    return max((flank * (x - pose.x_mm) for x in within), default=0.0)


def below(apart: list[str]) -> tuple[str, ...]:
    """Return up to two lines for what has no place in the drawing; what does not fit is counted."""
    for count in range(len(apart), -1, -1):
        more = "" if count == len(apart) else f"{'; ' if count else ''}{len(apart) - count} more in the text"
        lines = wrap("Also: " + "; ".join(apart[:count]) + more, room_mm=72) if apart else ()
        if len(lines) <= _LINES_BELOW:
            return lines
    return ()
