"""One small drawing for each position of the examination."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from types import MappingProxyType

from fabella.figure.frontal import UNIT
from fabella.figure.leg import leg_lines
from fabella.figure.limb import limb
from fabella.figure.marks import arrow, dot, ring, round_segment
from fabella.figure.person import couch, hand, person, placed
from fabella.figure.placing import COUCH, Placing, resting
from fabella.figure.pose import LegPose, build_leg, length
from fabella.figure.sheet import Item, Sheet, Window, extent
from fabella.figure.standing import leg_axes, standing_person
from fabella.figure.torso import ArmPose, arm_line

_WIDTH, _HEIGHT = 1200.0, 750.0
_HEAVIER = 0.55  # three eighths of the size of the view box, and stronger lines in a small drawing
_CROPPED = {"vessels_nerves": (330.0, -150.0, 640.0, 100.0)}
FLOOR = length("thigh") + length("shank") + length("ankle")


def position_sheet(position_id: str, *, title: str) -> Sheet:
    """Return the drawing of a position of the examination."""
    items = tuple(_SCENES[position_id]())
    left, top, right, bottom = _CROPPED.get(position_id) or extent(
        point for item in items for point in item.points
    )
    scale = min(_WIDTH / (right - left + 24), _HEIGHT / (bottom - top + 24))
    width, height = _WIDTH / scale, _HEIGHT / scale
    window = Window(
        left=(left + right - width) / 2, top=(top + bottom - height) / 2, width=width, height=height
    )
    return Sheet(
        title=title,
        window=window,
        scale=scale,
        items=tuple(replace(each, weight=each.weight * _HEAVIER) for each in items),
    )


_AT_REST = ArmPose(shoulder_flexion_deg=2, elbow_flexion_deg=4)
_IN_THE_LAP = ArmPose(shoulder_flexion_deg=14, elbow_flexion_deg=62)
_STRAIGHT = LegPose(hip_flexion_deg=-3, ankle_flexion_deg=-22)


def _supine(leg: LegPose, other: LegPose) -> Iterator[Item]:
    yield from couch(-500, 570, pillow=-392)
    yield from placed(person(leg, other, _AT_REST, bowed_deg=8), "supine")


def _sits(arm: ArmPose) -> Iterator[Item]:
    leg = LegPose(hip_flexion_deg=88, knee_flexion_deg=86)
    yield from person(leg, replace(leg, knee_flexion_deg=79), arm, bowed_deg=4, dressed=True)


def _preparation() -> Iterator[Item]:
    yield Item(tone="soft", points=((-260, 390), (420, 390)), way="chain", weight=8)
    yield Item(tone="soft", points=((-170, 92), (-170, 390)), way="chain", weight=18)
    yield Item(tone="soft", points=((90, 92), (90, 390)), way="chain", weight=18)
    yield Item(tone="couch", points=((-240, 64), (130, 64), (130, 94), (-240, 94)), way="polygon", weight=13)
    yield from _sits(ArmPose(shoulder_flexion_deg=40, elbow_flexion_deg=42))
    yield from hand("flat", (216, -152), 188)


def _history() -> Iterator[Item]:
    floor = FLOOR - 262
    yield Item(tone="soft", points=((-200, floor), (890, floor)), way="chain", weight=10)
    for by, mirrored in ((0.0, False), (690.0, True)):
        way = -1 if mirrored else 1
        for x in (-80, 96):
            yield Item(
                tone="soft", points=((by + way * x, 78), (by + way * x, floor)), way="chain", weight=18
            )
        seat = ((-96, 62), (112, 62), (112, 80), (-96, 80))
        yield Item(tone="couch", points=tuple((by + way * x, y) for x, y in seat), way="polygon", weight=12)
        yield Item(tone="soft", points=((by - way * 90, 62), (by - way * 104, -170)), way="chain", weight=18)
        tone = "far" if mirrored else ""
        for item in placed(_sits(_IN_THE_LAP), "sits", (by, 0.0), mirrored=mirrored):
            if not tone:
                yield item
            elif item.tone == "skin":
                yield replace(item, tone=tone, weight=12)


def _standing() -> Iterator[Item]:
    yield Item(tone="soft", points=((-330, 530), (1010, 530)), way="chain", weight=10)
    down = FLOOR - 169 * UNIT
    for middle, back in ((-150.0, False), (830.0, True)):
        for item in standing_person(middle=middle, back=back):
            yield replace(item, points=tuple((x, y + down) for x, y in item.points))
        for axis in leg_axes(middle):
            yield Item(tone="accent", points=tuple((x, y + down) for x, y in axis), way="chain", weight=12)
    yield from placed(
        person(LegPose(), None, ArmPose(shoulder_flexion_deg=-4, elbow_flexion_deg=14)),
        "stands",
        (345.0, 0.0),
    )
    yield Item(tone="accent", points=((345, 0), (345, 245), (345, 491)), way="chain", weight=12)


def _walking() -> Iterator[Item]:
    near = LegPose(hip_flexion_deg=26, knee_flexion_deg=6, ankle_flexion_deg=2)
    far = LegPose(hip_flexion_deg=-12, knee_flexion_deg=34, ankle_flexion_deg=-6)
    heel = max(y for _, y in leg_lines(build_leg(near)).outline)
    yield Item(tone="soft", points=((-420, heel), (560, heel)), way="chain", weight=10)
    yield from person(
        near,
        far,
        ArmPose(shoulder_flexion_deg=-22, elbow_flexion_deg=14),
        far_arm=ArmPose(shoulder_flexion_deg=24, elbow_flexion_deg=22),
    )
    yield from arrow(((330, heel - 40), (500, heel - 40)), size=1.7, weight=22)


def _lying() -> Iterator[Item]:
    yield from _supine(_STRAIGHT, _STRAIGHT)
    yield Item(tone="accent", points=ring((245.0, -8.0), 66), way="closed", weight=14)


def _bent_up() -> Iterator[Item]:
    bent = LegPose(hip_flexion_deg=82, knee_flexion_deg=134, ankle_flexion_deg=-28)
    yield from _supine(bent, _STRAIGHT)
    yield from arrow(((400, -20), (330, -66), (240, -76)), size=1.7, weight=22)


def _knees_90() -> Iterator[Item]:
    bent = resting(LegPose(knee_flexion_deg=90), on="sole")
    yield from _supine(bent, bent)
    leg = build_leg(bent)
    tubercle = Placing(posture="supine").place(leg.shank.place(32, 36))
    yield Item(
        tone="accent",
        points=((tubercle[0] + 190, tubercle[1]), (tubercle[0] - 60, tubercle[1])),
        way="chain",
        weight=12,
    )
    yield from arrow(((tubercle[0] + 200, tubercle[1]), (tubercle[0] + 20, tubercle[1])), size=1.7, weight=22)


def _special() -> Iterator[Item]:
    bent = resting(LegPose(knee_flexion_deg=25, ankle_flexion_deg=-20), on="heel")
    yield from _supine(bent, _STRAIGHT)
    yield from hand("wrap", (176, -58), 84)
    yield from hand("wrap", (288, -46), 108, flip=True)
    yield from arrow(((330, -100), (345, -185)), size=1.7, weight=22)


def _hip_foot_back() -> Iterator[Item]:
    bent = LegPose(hip_flexion_deg=90, knee_flexion_deg=90)
    yield from _supine(bent, _STRAIGHT)
    yield from hand("wrap", (2, -214), 20)
    yield from hand("wrap", (232, -216), 100, flip=True)
    leg = build_leg(bent)
    path = round_segment(leg, "thigh", 0.62, (47.0, 40.0), way=-1)
    yield from arrow(Placing(posture="supine").places(path), size=1.7, weight=22)


def _vessels() -> Iterator[Item]:
    pose = LegPose(hip_flexion_deg=-3, ankle_flexion_deg=-14)
    leg = build_leg(pose)
    places = Placing(posture="supine").places
    yield Item(
        tone="couch",
        points=((200, COUCH), (800, COUCH), (800, COUCH + 22), (200, COUCH + 22)),
        way="polygon",
        weight=9,
    )
    other = build_leg(replace(pose, hip_flexion_deg=0, ankle_flexion_deg=-6))
    yield Item(tone="far", points=places(leg_lines(other).outline), weight=9)
    for item in limb(leg, whole=False):
        yield replace(item, points=places(item.points), weight=item.weight * 0.8)
    top = places((leg.foot.place(42, -6),))[0]
    yield from hand("two", (top[0] - 4, top[1] - 2), 24)
    yield from dot(places((leg.foot.place(62, -17),))[0], radius=6)
    yield from dot(places((leg.foot.place(-18, -3),))[0], radius=6)


def _general() -> Iterator[Item]:
    yield from couch(-330, 640)
    leg = LegPose(hip_flexion_deg=89, ankle_flexion_deg=-15)
    figure = person(leg, None, ArmPose(shoulder_flexion_deg=18, elbow_flexion_deg=44), bowed_deg=3)
    yield from figure
    sheet = [
        (40, -78),
        (120, -66),
        (240, -58),
        (360, -50),
        (470, -70),
        (505, -128),
        (530, -120),
        (545, 20),
        (552, 64),
        (300, 64),
        (60, 64),
        (20, 20),
    ]
    yield Item(tone="hand", points=tuple((float(x), float(y)) for x, y in sheet), way="closed", weight=14)
    for fold in (
        [(120, -50), (150, 0), (140, 50)],
        [(300, -44), (330, 6), (315, 54)],
        [(490, -70), (500, 0), (490, 50)],
    ):
        yield Item(tone="soft", points=tuple((float(x), float(y)) for x, y in fold), weight=9)
    yield Item(
        tone="skin", points=arm_line(ArmPose(shoulder_flexion_deg=18, elbow_flexion_deg=44)), weight=15
    )


_SCENES: Mapping[str, Callable[[], Iterator[Item]]] = MappingProxyType(
    {
        "preparation": _preparation,
        "history": _history,
        "standing": _standing,
        "walking": _walking,
        "lying": _lying,
        "bent_up": _bent_up,
        "knees_90": _knees_90,
        "special": _special,
        "hip_foot_back": _hip_foot_back,
        "vessels_nerves": _vessels,
        "general": _general,
    }
)
