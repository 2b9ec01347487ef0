"""The living figure of a practice patient is drawn from what a student may see, and from nothing else."""

import math
from dataclasses import fields

import pytest

from fabella.anatomy import Side
from fabella.figure import Motion, SeenLeg, View, WalkingLeg, living_figure, motion_tree, walk
from fabella.figure.pose import MM
from fabella.protocol import load_protocol
from fabella.teach import Act, Encounter, Event, LegLook, Look, Seen, Shown, Terms, Turn, act, begin
from fabella.teach.drawn import VIEWS, motion_of, seen_legs, seen_so_far, still_of, walk_of
from fabella.teach.looks import look_at
from fabella.teach.moved import MOVED
from tests.teach.patients import patient

SEEN = {each.name for each in fields(SeenLeg)}
NAMED_OTHERWISE = {"foot_out_deg": "foot_progression_deg", "drops": "trendelenburg"}
WALKED = {NAMED_OTHERWISE.get(each.name, each.name) for each in fields(WalkingLeg)} - {"seen"}
UNDRAWN = {"side"}


def test_every_field_of_a_look_is_drawn_or_named_as_undrawn() -> None:
    """A field added to what is seen must be drawn, or be listed here as missing from the figure."""
    assert {each.name for each in fields(LegLook)} == SEEN | WALKED | UNDRAWN


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("position", [each for each in VIEWS if each != "walking"])
def test_legs_are_drawn_as_they_look(seed: int, position: str) -> None:
    """Each leg carries what is seen of it, what is not seen is as usual, and every view can be drawn."""
    look = look_at(patient(seed), position)
    assert look is not None
    legs = seen_legs(look)
    for leg, seen in ((legs.right, look.right), (legs.left, look.left)):
        for name in SEEN:
            known = getattr(seen, name)
            assert getattr(leg, name) == (getattr(SeenLeg(), name) if known is None else known)
    assert all(living_figure(legs, view).startswith("<svg") for view in VIEWS[position])


@pytest.mark.parametrize("seed", range(6))
def test_a_walk_is_drawn_as_it_looks(seed: int) -> None:
    """Cadence, stance and bend are those of the look, and the stride can be drawn from the side."""
    look = look_at(patient(seed), "walking")
    assert look is not None
    how = walk_of(look)
    assert how.cadence_per_min == look.cadence_per_min
    for leg, seen in ((how.right, look.right), (how.left, look.left)):
        assert leg.stance_share_pct == seen.stance_share_pct
        assert leg.peak_flexion_deg == seen.peak_flexion_deg
        assert leg.thrust == seen.thrust
        assert leg.foot_out_deg == seen.foot_progression_deg
        assert leg.drops == seen.trendelenburg
    assert motion_tree(walk(how, View.LEFT))["loops"]


def test_what_is_not_seen_is_drawn_as_usual() -> None:
    """A look that shows nothing gives sound legs."""
    nothing = Look(position="standing", right=LegLook(side=Side.RIGHT), left=LegLook(side=Side.LEFT))
    assert seen_legs(nothing).right == seen_legs(nothing).left == SeenLeg()


def turn_of(sign: str, shown: Shown | None, side: Side | None = Side.RIGHT) -> Turn:
    """A turn in which a sign was done."""
    seen = Seen(seconds=5, clock_s=5, shown=shown)
    return Turn(event=Event(act=Act.DO, sign=sign, side=side), at_s=0, seen=seen)


def reading(value: float | None, *, firm: bool | None = None, travel_mm: float | None = None) -> Shown:
    """What a test in millimetres shows."""
    return Shown(level=1, levels=4, value=value, unit="mm", possible=True, firm=firm, travel_mm=travel_mm)


def shift_mm(motion: Motion) -> float:
    """The greatest way of any point of the skin from the first to the last position, in millimetres."""
    first, last = (
        next(item.points for item in sheet.items if item.tone == "skin")
        for sheet in (motion.sheets[0], motion.sheets[-1])
    )
    return max(math.dist(one, two) for one, two in zip(first, last, strict=True)) * MM


@pytest.mark.parametrize("side", list(Side))
@pytest.mark.parametrize("sign", ["lachman", "anterior_drawer", "posterior_drawer"])
def test_the_tibia_moves_by_what_the_test_shows(sign: str, side: Side) -> None:
    """The drawn shin moves by the millimetres of the reading, on the side that was tested."""
    motion = motion_of(turn_of(sign, reading(8.4), side), None)
    assert motion is not None
    assert side in motion.title.lower()
    assert shift_mm(motion) == pytest.approx(8.4, abs=0.5)


@pytest.mark.parametrize("side", list(Side))
@pytest.mark.parametrize("flank", ["valgus", "varus"])
@pytest.mark.parametrize("bent", [0, 30])
def test_the_joint_opens_by_what_the_test_shows(flank: str, bent: int, side: Side) -> None:
    """Stress opens the joint by the reading; the drawing is told apart straight and bent by its title."""
    motion = motion_of(turn_of(f"{flank}_stress_{bent}", reading(6.0), side), None)
    assert motion is not None
    assert "about 6 mm" in motion.words
    assert ("straight" in motion.title) is (bent == 0)


def test_a_sunken_tibia_is_pulled_out_of_its_sag() -> None:
    """The anterior drawer starts where the tibia was seen to lie; what is moved is still the reading."""
    leg = LegLook(side=Side.RIGHT, sag_mm=9.0)
    look = Look(position="knees_90", right=leg, left=LegLook(side=Side.LEFT))
    sunk, usual = (motion_of(turn_of("anterior_drawer", reading(10)), each) for each in (look, None))
    assert sunk is not None
    assert usual is not None
    assert sunk.sheets[0].items != usual.sheets[0].items
    assert shift_mm(sunk) == pytest.approx(10, abs=0.5)


@pytest.mark.parametrize(("pulled", "firm"), [(Side.RIGHT, True), (Side.LEFT, False)])
def test_how_a_pull_ends_is_seen_by_whoever_pulls(pulled: Side, firm: bool) -> None:
    """Lachman test and end point are one pull: both show the same travel and the same stop."""
    encounter: Encounter = begin(patient(12), Terms())
    for sign in ("exposure", "lachman", "lachman_end_point"):
        side = pulled if sign != "exposure" else None
        encounter = act(encounter, Event(act=Act.DO, sign=sign, side=side))
    pull, end = (turn.seen.shown for turn in encounter.run.turns[-2:])
    assert pull is not None
    assert end is not None
    assert pull.firm == end.firm == (end.level == 0) == firm
    assert pull.value == end.travel_mm
    drawn = [motion_of(turn, None) for turn in encounter.run.turns[-2:]]
    assert drawn[0] is not None
    assert drawn[0] == drawn[1]


@pytest.mark.parametrize(
    "turn",
    [
        turn_of("lachman", None),
        turn_of("lachman", Shown(level=None, levels=4, value=None, unit=None, possible=False)),
        turn_of("tenderness_mcl", Shown(level=1, levels=2, value=None, unit=None, possible=True)),
        turn_of("cadence", reading(100), None),
    ],
    ids=["not shown", "prevented", "felt", "of the person"],
)
def test_where_nothing_moves_nothing_is_drawn(turn: Turn) -> None:
    """What was refused, prevented or only felt has no moving drawing."""
    assert motion_of(turn, None) is None


def test_what_was_seen_is_kept_while_looking_elsewhere() -> None:
    """A swelling seen standing is still drawn once the legs are looked at from another side."""

    def turn(look: Look) -> Turn:
        return Turn(event=Event(act=Act.POSITION), at_s=0, seen=Seen(seconds=1, clock_s=1, look=look))

    def look(position: str, right: LegLook) -> Look:
        return Look(position=position, right=right, left=LegLook(side=Side.LEFT))

    standing = look("standing", LegLook(side=Side.RIGHT, fullness=2, sag_mm=1))
    known = seen_so_far([turn(standing), turn(look("knees_90", LegLook(side=Side.RIGHT, sag_mm=8)))])
    assert known is not None
    assert (known.right.fullness, known.right.sag_mm, known.position) == (2, 8, "knees_90")
    assert known.left == LegLook(side=Side.LEFT)
    assert seen_so_far([]) is None
    assert still_of(known, View.RIGHT_ANGLE_RIGHT).startswith("<svg")


@pytest.mark.parametrize("sign", sorted(MOVED))
@pytest.mark.parametrize("side", list(Side))
def test_every_moving_test_shows_each_of_its_levels(sign: str, side: Side) -> None:
    """Each level, or each reading, of a test that moves something is drawn, and drawn differently."""
    scale = load_protocol().sign(sign).scale
    measure = scale.measure
    drawn: list[Motion] = []
    for level in range(len(scale.levels)) or (None, None):
        value = None if measure is None else 4.0 + 5.0 * len(drawn)
        shown = Shown(
            level=level,
            levels=len(scale.levels),
            value=value,
            unit=None if measure is None else measure.unit.value,
            possible=True,
            firm=None if level is None else level == 0,
            travel_mm=7.0 if sign == "lachman_end_point" else None,
        )
        motion = motion_of(turn_of(sign, shown, side), None)
        assert motion is not None
        assert side in motion.title.lower()
        drawn.append(motion)
    assert len({each.words for each in drawn}) == len(drawn)
    assert len({each.title for each in drawn}) == 1


@pytest.mark.parametrize("seed", range(5))
def test_whatever_a_patient_shows_can_be_drawn(seed: int) -> None:
    """Every test that moves something is drawn for simulated patients, at whatever they happen to show."""
    encounter = act(begin(patient(seed), Terms()), Event(act=Act.DO, sign="exposure"))
    for sign in MOVED:
        for side in Side:
            encounter = act(encounter, Event(act=Act.DO, sign=sign, side=side))
    turns = encounter.run.turns
    motions = [motion_of(turn, seen_so_far(turns)) for turn in turns[1:]]
    for turn, motion in zip(turns[1:], motions, strict=True):
        shown = turn.seen.shown
        assert (motion is None) is (turn.seen.refused or shown is None or not shown.possible)
        assert motion is None or motion_tree(motion)["parts"]
    assert any(motion is not None for motion in motions)
