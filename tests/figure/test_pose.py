"""The figure is what was asked for, measured back from its skin."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.figure import FrontPose, LegPose, build_leg
from fabella.figure.frontal import UNIT, leg_contour
from fabella.figure.leg import LegLines, leg_lines
from fabella.figure.placing import COUCH, resting
from fabella.figure.pose import MM, length
from tests.figure.reading import Point, knee_deg, turn_deg

DEGREES = 0.5
MILLIMETRES = 0.5

STRAIGHT = leg_lines(build_leg(LegPose()))


def thigh(lines: LegLines) -> list[Point]:
    """Points of the skin that move with the thigh alone: its front away from groin and knee."""
    return list(lines.front[3:])


def shank(lines: LegLines) -> list[Point]:
    """Points of the skin that move with the shank alone: the shin."""
    return list(lines.shin)


@given(hip=st.floats(-10, 60), knee=st.floats(-15, 150))
def test_the_drawn_knee_is_bent_as_asked(hip: float, knee: float) -> None:
    """The turn of the skin of the shin against that of the thigh is the flexion asked for."""
    leg = build_leg(LegPose(hip_flexion_deg=hip, knee_flexion_deg=knee))
    lines = leg_lines(leg)
    measured = turn_deg(shank(STRAIGHT), shank(lines)) - turn_deg(thigh(STRAIGHT), thigh(lines))
    assert (measured + 180) % 360 - 180 == pytest.approx(knee, abs=DEGREES)
    assert knee_deg(leg) == pytest.approx(knee, abs=DEGREES)


@given(hip=st.floats(-20, 120), ankle=st.floats(-50, 30))
def test_hip_and_ankle_are_bent_as_asked(hip: float, ankle: float) -> None:
    """The turn of the skin of the foot against that of the shin is the flexion of the ankle."""
    lines = leg_lines(build_leg(LegPose(hip_flexion_deg=hip, ankle_flexion_deg=ankle)))
    shin, foot = turn_deg(shank(STRAIGHT), shank(lines)), turn_deg(STRAIGHT.foot, lines.foot)
    assert (shin + 180) % 360 - 180 == pytest.approx(-hip, abs=DEGREES)
    assert (foot - shin + 180) % 360 - 180 == pytest.approx(-ankle, abs=DEGREES)


@given(knee=st.floats(0, 120), slide=st.floats(-25, 25))
def test_the_tibia_stands_as_far_forwards_as_asked(knee: float, slide: float) -> None:
    """The skin of the shin is moved by the millimetres asked for, square to the shank."""
    still = build_leg(LegPose(knee_flexion_deg=knee))
    moved = build_leg(LegPose(knee_flexion_deg=knee, tibia_forwards_mm=slide))
    apart = np.mean(np.subtract(leg_lines(moved).shin, leg_lines(still).shin), axis=0) * MM
    assert float(apart @ still.shank.forwards) == pytest.approx(slide, abs=MILLIMETRES)
    assert knee_deg(moved) == pytest.approx(knee, abs=DEGREES)


@given(valgus=st.floats(-25, 30), lateral=st.sampled_from([-1, 1]))
def test_the_front_view_stands_at_the_angle_asked_for(valgus: float, lateral: int) -> None:
    """The turn of the skin of the lower leg is the alignment asked for, on either side."""
    pose = FrontPose(valgus_deg=valgus, lateral=lateral)
    usual, drawn = (leg_contour(each)[13:20] for each in (FrontPose(lateral=lateral), pose))
    assert -lateral * turn_deg(usual, drawn) == pytest.approx(valgus - 6, abs=DEGREES)


def test_lengths_are_the_published_shares_of_stature() -> None:
    """Thigh .245, shank .246, foot .152, ankle .039 (Drillis and Contini 1966 in Winter, from memory)."""
    leg = build_leg(LegPose())
    assert math.dist(leg.thigh.at, leg.knee) == pytest.approx(245)
    assert math.dist(leg.shank.at, leg.foot.at) == pytest.approx(246)
    assert length("arm") + length("forearm") + length("hand") == pytest.approx(186 + 146 + 108)
    foot = [x for x, _ in STRAIGHT.foot]
    assert max(foot) - min(foot) == pytest.approx(152, abs=1)
    assert max(y for _, y in STRAIGHT.foot) == pytest.approx(245 + 246 + 39, abs=0.5)


def test_the_knee_has_the_breadth_of_a_knee() -> None:
    """From the front some 10 cm, from the side some 12 to 13 cm at the patella (common practice)."""
    leg = build_leg(LegPose())
    at_knee = [x for x, y in leg_lines(leg).outline if abs(y - 245) < 20]
    assert 110 <= (max(at_knee) - min(at_knee)) * MM <= 135
    across = [x / UNIT * 3 for x, y in leg_contour(FrontPose()) if abs(y) < 16]
    assert 90 <= max(across) - min(across) <= 110


@pytest.mark.parametrize(
    ("knee", "on"), [(0, "heel"), (25, "heel"), (60, "heel"), (60, "sole"), (90, "sole"), (132, "sole")]
)
def test_a_resting_foot_touches_the_couch(knee: float, on: str) -> None:
    """The lowest point of the foot lies on the couch, and a flat sole along it."""
    leg = build_leg(resting(LegPose(knee_flexion_deg=knee, ankle_flexion_deg=-20), on=on))
    assert -min(x for x, _ in leg_lines(leg).foot) == pytest.approx(COUCH, abs=0.5)
    assert knee_deg(leg) == pytest.approx(knee, abs=DEGREES)
    if on == "sole":
        assert leg.foot.along == pytest.approx((0, 1), abs=0.01)


@given(knee=st.floats(20, 150))
def test_thigh_and_calf_never_cross(knee: float) -> None:
    """However far the knee is bent, the calf stays on its side of the fold behind it."""
    leg = build_leg(LegPose(knee_flexion_deg=knee))
    half = math.radians(-knee / 2)
    across = (math.sin(half), math.cos(half))
    lines = leg_lines(leg)

    def beyond(point: Point) -> float:
        return (point[0] - leg.knee[0]) * across[0] + (point[1] - leg.knee[1]) * across[1]

    assert min(map(beyond, lines.calf)) >= -1e-6
    assert max(map(beyond, lines.back[1:])) <= 1e-6
