"""The living figure: what is drawn of a pair of legs is what was to be seen, measured back from its skin."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.anatomy import Side
from fabella.figure import SeenLeg, SeenLegs, View, living_figure
from fabella.figure.bare_front import BareLeg
from fabella.figure.bare_side import HELD_DEG, bare_lines, lying_leg, right_angle_leg, standing_leg
from fabella.figure.frontal import UNIT
from fabella.figure.living import living_sheet
from fabella.figure.pose import MM
from tests.figure.reading import Point, knee_deg, turn_deg

DEGREES = 0.5
MILLIMETRES = 0.5
SIDES = st.sampled_from([Side.RIGHT, Side.LEFT])


def shank(leg: BareLeg) -> list[Point]:
    """Points of the skin well below the knee."""
    return [point for flank in leg.flanks for point in flank[-6:]]


def thigh(leg: BareLeg) -> list[Point]:
    """Points of the skin well above the knee."""
    return [point for flank in leg.flanks for point in flank[:6]]


@given(degrees=st.floats(-25, 30), side=SIDES, back=st.booleans(), fullness=st.integers(0, 3))
def test_a_leg_stands_at_its_alignment(degrees: float, side: Side, back: bool, fullness: int) -> None:
    """The skin of the shank is turned against that of the thigh by the alignment asked for."""
    usual = BareLeg(SeenLeg(fullness=fullness), side, back)
    drawn = BareLeg(SeenLeg(alignment_deg=degrees, fullness=fullness), side, back)
    turned = turn_deg(shank(usual), shank(drawn)) - turn_deg(thigh(usual), thigh(drawn))
    assert -usual.lateral * turned == pytest.approx(degrees - 6, abs=DEGREES)


@given(degrees=st.floats(-20, 25), alignment=st.floats(-10, 20), side=SIDES)
def test_a_heel_leans_as_seen(degrees: float, alignment: float, side: Side) -> None:
    """From behind the contour of the heel is turned against the shank by the angle asked for."""
    straight = BareLeg(SeenLeg(alignment_deg=alignment, heel_deg=0), side, back=True)
    leant = BareLeg(SeenLeg(alignment_deg=alignment, heel_deg=degrees), side, back=True)
    turned = turn_deg(straight.foot, leant.foot)
    assert -straight.lateral * turned == pytest.approx(degrees, abs=DEGREES)


@given(degrees=st.floats(-60, 15), full=st.integers(0, 3), wasting=st.integers(0, 2))
def test_a_knee_stands_bent_or_beyond_straight_as_seen(degrees: float, full: int, wasting: int) -> None:
    """From the side the skin of the shin is turned against that of the thigh by the extension asked for."""
    seen = SeenLeg(extension_deg=degrees, fullness=full, wasting=wasting)
    straight = SeenLeg(fullness=full, wasting=wasting)
    before, after = (bare_lines(standing_leg(each), each) for each in (straight, seen))
    turned = turn_deg(before.shin, after.shin) - turn_deg(before.front, after.front)
    assert -turned == pytest.approx(degrees, abs=DEGREES)


@given(degrees=st.floats(-60, 10), held=st.booleans(), full=st.integers(0, 3))
def test_a_knee_lies_as_straight_as_it_is_let_down(degrees: float, held: bool, full: int) -> None:
    """Lying, the shin is turned against the thigh by what is missing, or by what the patient keeps bent."""
    seen = SeenLeg(extension_deg=degrees, held_flexed=held, fullness=full)
    before, after = (bare_lines(lying_leg(each), each) for each in (SeenLeg(fullness=full), seen))
    turned = turn_deg(before.shin, after.shin) - turn_deg(before.front[3:], after.front[3:])
    assert turned == pytest.approx(max(-degrees, 0.0, HELD_DEG * held), abs=DEGREES)


@given(sag=st.floats(0, 25), full=st.integers(0, 3))
def test_a_tibia_has_sunk_back_as_far_as_seen(sag: float, full: int) -> None:
    """At a right angle the shin lies behind that of the other leg by the millimetres asked for."""
    seen, other = SeenLeg(sag_mm=sag, fullness=full), SeenLeg()
    still, sunk = right_angle_leg(other), right_angle_leg(seen)
    apart = np.mean(np.subtract(bare_lines(sunk, seen).shin, bare_lines(still, other).shin), axis=0) * MM
    assert -float(apart @ still.shank.forwards) == pytest.approx(sag, abs=MILLIMETRES)
    assert knee_deg(sunk) == pytest.approx(90, abs=DEGREES)


def breadth(seen: SeenLeg, y: float) -> float:
    """The breadth of a leg in millimetres at a height of the front view, the leg not leant."""
    lateral, medial = BareLeg(seen, Side.LEFT).flanks
    edges = [min(flank, key=lambda point: abs(point[1] / UNIT - y))[0] for flank in (lateral, medial)]
    return (edges[0] - edges[1]) * MM


def test_fluid_fills_and_wasting_empties() -> None:
    """Each grade of fluid makes the knee broader, each grade of wasting the thigh narrower."""
    knees = [breadth(SeenLeg(fullness=grade), -22) for grade in range(4)]
    thighs = [breadth(SeenLeg(wasting=grade), -72) for grade in range(3)]
    assert all(second - first > 5 for first, second in itertools.pairwise(knees))
    assert all(first - second > 5 for first, second in itertools.pairwise(thighs))


@given(right=st.floats(-25, 30), left=st.floats(-25, 30))
def test_knees_and_feet_never_cross(right: float, left: float) -> None:
    """However knock-kneed or bow-legged, knees and feet stay on their own side of the midline."""
    for side, degrees in ((Side.RIGHT, right), (Side.LEFT, left)):
        leg = BareLeg(SeenLeg(alignment_deg=degrees), side)
        points = [*leg.foot, *(point for flank in leg.flanks for point in flank if point[1] > -20 * UNIT)]
        assert all(leg.lateral * x > 0 for x, _ in points)


FLAGS = [
    {"fullness": 2}, {"wasting": 2}, {"calf_wasting": 2}, {"redness": 1}, {"patella_turned_in": True},
    {"patella_high": True}, {"patella_low": True}, {"patella_out": True}, {"prepatellar": True},
    {"behind": True}, {"tubercle": True}, {"flat_foot": True}, {"high_arch": True}, {"bruise": True},
    {"scar": True}, {"wound": True}, {"alignment_deg": -4.0}, {"extension_deg": -10.0},
    {"extension_deg": 10.0}, {"heel_deg": 12.0}, {"sag_mm": 8.0}, {"deformed": True}, {"held_flexed": True},
]  # fmt: skip


@pytest.mark.parametrize("change", FLAGS, ids=str)
@pytest.mark.parametrize("side", [Side.RIGHT, Side.LEFT])
def test_whatever_there_is_to_see_shows(change: dict[str, float], side: Side) -> None:
    """Each thing to be seen alters at least one view, by more than a few characters."""
    sound, leg = SeenLegs(), SeenLeg(**change)  # type: ignore[arg-type]
    legs = SeenLegs(right=leg) if side is Side.RIGHT else SeenLegs(left=leg)
    assert any(living_figure(legs, view) != living_figure(sound, view) for view in View)


@pytest.mark.parametrize("view", list(View))
def test_the_title_tells_only_from_where(view: View) -> None:
    """A drawing carries no word of what is to be seen, and weighs little."""
    seen = SeenLeg(fullness=3, sag_mm=9, alignment_deg=-8, scar=True, extension_deg=-12)
    legs = SeenLegs(right=seen)
    assert living_sheet(legs, view).title == living_sheet(SeenLegs(), view).title
    assert len(living_figure(legs, view)) < 12 * 1024


def test_a_mirror_image_of_the_legs_is_drawn_in_a_mirror() -> None:
    """What the right leg shows from its side the left one shows, mirrored, from the other."""
    seen = SeenLeg(sag_mm=9, fullness=1)
    for one, two in ((View.RIGHT, View.LEFT), (View.RIGHT_ANGLE_RIGHT, View.RIGHT_ANGLE_LEFT)):
        right = living_sheet(SeenLegs(right=seen), one)
        left = living_sheet(SeenLegs(left=seen), two)
        for first, second in zip(right.items, left.items, strict=True):
            assert all(
                math.dist(p, (-q[0], q[1])) < 1e-9 for p, q in zip(first.points, second.points, strict=True)
            )
