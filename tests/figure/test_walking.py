"""The walking figure: stance, cadence, bend and thrust are what was asked for, measured back from it."""

import json
import math
import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from fabella.anatomy import Side
from fabella.figure import Motion, SeenLeg, Thrust, View, Walk, WalkingLeg, motion_tree, walk
from fabella.figure.bare_front import BareLeg
from fabella.figure.bare_side import bare_lines
from fabella.figure.frontal import UNIT
from fabella.figure.tables import gait
from fabella.figure.walking import walking_leg
from fabella.figure.walking_front import FLOOR, walking_legs
from tests.figure.reading import turn_deg

FOOT = 52.0  # from the ankle to the toes in units of the front view: 156 mm
PHASES = (Phase.explicit, Phase.reuse, Phase.generate)  # to shrink a whole stride takes minutes
TOUCHES = 0.6  # thousandths of stature: a millimetre


def legs_that_walk() -> st.SearchStrategy[WalkingLeg]:
    """Legs as practice patients have them, and a little beyond."""
    return st.builds(
        WalkingLeg,
        stance_share_pct=st.floats(50, 70),
        peak_flexion_deg=st.floats(20, 70),
        limp=st.integers(0, 2),
        stiff=st.booleans(),
    )


WALKS = st.builds(Walk, right=legs_that_walk(), left=legs_that_walk(), cadence_per_min=st.floats(60, 140))


def sole(how: Walk, side: Side, at_pct: float) -> float:
    """How far the lowest point of a foot's skin stands above the floor."""
    leg, toes_deg = walking_leg(how, side, at_pct)
    return -max(y for _, y in bare_lines(leg, SeenLeg(), toes_deg=toes_deg).foot)


@settings(max_examples=6, deadline=None, phases=PHASES)
@given(how=WALKS)
def test_a_foot_is_on_the_floor_for_the_share_of_stance_asked_for(how: Walk) -> None:
    """Read from the skin of its sole, a foot touches the floor for its share of the stride only."""
    times = np.arange(0, 100, 0.5)
    for side in Side:
        down = [sole(how, side, at) < TOUCHES for at in times]
        assert 100 * np.mean(down) == pytest.approx(how.of(side).stance_share_pct, abs=1.0)
        assert sum(one != two for one, two in pairwise([*down, down[0]])) == 2


@settings(max_examples=6, deadline=None, phases=PHASES)
@given(how=WALKS)
def test_no_foot_sinks_into_the_floor(how: Walk) -> None:
    """Neither standing nor swinging does the skin of a sole come beneath the floor."""
    for at in how.keys_pct:
        assert min(sole(how, side, at) for side in Side) > -TOUCHES


@settings(max_examples=12, deadline=None, phases=PHASES)
@given(how=WALKS)
def test_the_knee_bends_as_far_as_asked(how: Walk) -> None:
    """The greatest turn of the shin against the thigh over the key positions is the peak asked for."""
    straight = bare_lines(walking_leg(how, Side.RIGHT, 0)[0], SeenLeg())
    for side in Side:
        bends = []
        for at in how.keys_pct:
            leg, _ = walking_leg(how, side, at)
            lines = bare_lines(leg, SeenLeg())
            turned = turn_deg(straight.shin, lines.shin) - turn_deg(straight.front[3:], lines.front[3:])
            bends.append(turned + walking_leg(how, Side.RIGHT, 0)[0].pose.knee_flexion_deg)
        swing = [
            bend
            for bend, at in zip(bends, how.keys_pct, strict=True)
            if how.steps.own_pct(side, at) > how.of(side).stance_share_pct - 5
        ]
        assert max(swing) == pytest.approx(how.of(side).peak_flexion_deg, abs=0.5)


@given(cadence=st.floats(40, 160), right=st.floats(45, 75), left=st.floats(45, 75))
def test_two_contacts_a_stride_make_the_cadence(cadence: float, right: float, left: float) -> None:
    """In a minute the feet meet the floor as often as asked for, and a limper's steps are uneven."""
    how = Walk(
        right=WalkingLeg(stance_share_pct=right),
        left=WalkingLeg(stance_share_pct=left),
        cadence_per_min=cadence,
    )
    contacts = len({how.contact_pct(side) for side in Side})
    assert contacts * 60_000 / how.stride_ms == pytest.approx(cadence)
    assert how.contact_pct(Side.LEFT) > 50 or right <= left + 1e-9
    # Both spells on two feet last equally long.
    first, second = right - how.contact_pct(Side.LEFT), how.contact_pct(Side.LEFT) + left - 100
    assert first == pytest.approx(second)


@pytest.mark.parametrize(("thrust", "way"), [(Thrust.VARUS, -1), (Thrust.VALGUS, 1), (Thrust.NONE, 0)])
def test_a_thrust_jerks_while_weight_is_taken(thrust: Thrust, way: int) -> None:
    """The alignment is left for a moment after contact by the angle of the table, and at no other time."""
    leg = WalkingLeg(thrust=thrust, seen=SeenLeg(alignment_deg=2))
    jerk = {at: leg.alignment_deg(at) - 2 for at in range(100)}
    assert max(map(abs, jerk.values())) == pytest.approx(abs(way) * gait()["changed"]["thrust_deg"], abs=0.2)
    assert all(each * way >= 0 for each in jerk.values())
    assert all(jerk[at] == 0 for at in range(30, 100))


def test_the_normal_knee_is_the_published_curve() -> None:
    """Schwartz, Rozumalski and Trost 2008: 19.7 degrees taking weight, 6.7 in late stance, 60.5 in swing."""
    leg = WalkingLeg(stance_share_pct=gait()["toe_off"], peak_flexion_deg=60.5)
    for at, published in ((12, 19.7), (42, 6.7), (60, 34.1), (72, 60.5), (88, 26.0), (98, 3.8)):
        assert leg.pose(at).knee_flexion_deg == pytest.approx(published, abs=0.05)


def test_a_stiff_knee_hardly_yields_and_a_limper_leaves_little_behind() -> None:
    """Taking weight a stiff knee bends less; the thigh of a painful leg stays further forwards."""
    sound, stiff, sore = WalkingLeg(), WalkingLeg(stiff=True), WalkingLeg(limp=2)
    assert stiff.pose(12).knee_flexion_deg < sound.pose(12).knee_flexion_deg - 5
    assert sore.pose(49).hip_flexion_deg > sound.pose(49).hip_flexion_deg + 5


@given(
    foot=st.floats(-40, 50), side=st.sampled_from(list(Side)), alignment=st.floats(-10, 15)
)  # fmt: skip
def test_a_foot_points_where_it_should(foot: float, side: Side, alignment: float) -> None:
    """The toes stand aside of the ankle as far as a foot of this length does that is turned by the angle."""
    leg = BareLeg(SeenLeg(alignment_deg=alignment), side, foot_out_deg=foot)
    straight = BareLeg(SeenLeg(alignment_deg=alignment), side, foot_out_deg=0.0)
    here, ahead = (np.mean([each.toes[k][0] for k in range(4)], axis=0) for each in (leg, straight))
    across = math.dist(here, ahead) / UNIT * (1 if (here - ahead)[0] * leg.lateral >= 0 else -1)
    assert math.degrees(math.asin(across / FOOT)) == pytest.approx(foot, abs=0.5)


@pytest.mark.parametrize("side", list(Side))
@pytest.mark.parametrize("view", [View.FRONT, View.BACK])
def test_the_pelvis_drops_on_the_other_side(side: Side, view: View) -> None:
    """While the leg stands alone the shorts hang on the other side, by the angle of the table; never else."""
    weak = WalkingLeg(drops=True)
    how = Walk(right=weak) if side is Side.RIGHT else Walk(left=weak)
    page = {Side.RIGHT: -1, Side.LEFT: 1}[side] * (-1 if view is View.BACK else 1)  # where the leg stands
    hangs = {}
    for at, sheet in zip(how.keys_pct, walk(how, view).sheets, strict=True):
        shorts = next(item.points for item in sheet.items if item.tone == "hand")
        left, right = shorts[0], shorts[6]
        fall = math.degrees(math.atan2(right[1] - left[1], right[0] - left[0])) * -page
        hangs[how.steps.own_pct(side, at)] = fall
    assert max(hangs.values()) == pytest.approx(gait()["changed"]["drop_deg"], abs=0.5)
    assert all(abs(fall) < 0.01 for own, fall in hangs.items() if own > how.of(side).stance_share_pct)
    assert min(hangs.values()) > -0.01


@pytest.mark.parametrize("back", [False, True])
@pytest.mark.parametrize("thrust", Thrust)
def test_no_outline_of_a_thigh_stands_out_above_the_hem(back: bool, thrust: Thrust) -> None:
    """Where the outline of a thigh ends it lies within the shorts, however the pelvis hangs."""
    leg = WalkingLeg(drops=True, thrust=thrust, limp=2)
    legs = dict.fromkeys(Side, leg)
    for at in range(0, 100, 5):
        own = {Side.RIGHT: float(at), Side.LEFT: (at + 50.0) % 100}
        standing = [side for side in Side if own[side] < leg.stance_share_pct]
        items = list(walking_legs(legs, own_pct=own, standing=standing, back=back))
        (shorts,) = (each.points for each in items if each.tone == "hand")
        left, right = min(x for x, _ in shorts[:7]), max(x for x, _ in shorts[:7])
        for outline in (each.points for each in items if each.tone == "skin"):
            assert left < outline[0][0] < right


@settings(max_examples=20, deadline=None, phases=PHASES)
@given(how=WALKS, back=st.booleans(), drops=st.booleans())
def test_no_foot_sinks_in_from_the_front_either(how: Walk, back: bool, drops: bool) -> None:
    """Seen from the front or behind no skin lies beneath the floor, the pelvis level or not."""
    weak = replace(how, right=replace(how.right, drops=drops))
    for sheet in walk(weak, View.BACK if back else View.FRONT).sheets:
        for item in sheet.items:
            if item.tone == "skin":
                assert max(y for _, y in item.points) < FLOOR + TOUCHES + 2


@pytest.mark.parametrize("view", [View.FRONT, View.BACK, View.RIGHT, View.LEFT])
def test_a_stride_closes_and_can_be_blended(view: View) -> None:
    """The last key position is the first, keys rise, frames can be blended, and it is light."""
    motion = walk(Walk(right=WalkingLeg(stance_share_pct=54, limp=1)), view)
    tree = motion_tree(motion)
    assert motion.duration_ms == pytest.approx(120_000 / 113)
    assert motion.keys_pct[0] == 0
    assert motion.keys_pct[-1] == 100
    assert all(two > one for one, two in pairwise(motion.keys_pct))
    for part in tree["parts"]:
        assert part["frames"][0] == part["frames"][-1]
        assert len({re.sub(r"-?\d+", "#", frame).replace(" ", "") for frame in part["frames"]}) == 1
    assert len(json.dumps(tree)) < 80_000


def test_movement_is_smooth() -> None:
    """In a four-hundredth of a stride no point of the skin moves by more than a foot slapping down."""
    how = Walk(right=WalkingLeg(stance_share_pct=53, limp=2), left=WalkingLeg(stance_share_pct=66))
    for side in Side:
        before = None
        for at in np.arange(0, 100.25, 0.25):
            leg, toes_deg = walking_leg(how, side, at)
            now = bare_lines(leg, SeenLeg(), toes_deg=toes_deg).outline
            if before is not None:
                assert max(math.dist(p, q) for p, q in zip(before, now, strict=True)) < 15
            before = now


def test_walking_is_told_in_words_and_its_title_tells_nothing() -> None:
    """Whoever does not see the figure is told cadence, stance, bend and thrust."""
    how = Walk(
        right=WalkingLeg(stance_share_pct=54.2, peak_flexion_deg=40, thrust=Thrust.VARUS), cadence_per_min=96
    )
    motion: Motion = walk(how, View.RIGHT)
    assert motion.words.startswith("96 steps a minute. The right foot is on the ground for 54 %")
    assert "The right knee is thrown outwards" in motion.words
    assert motion.title == walk(Walk(), View.RIGHT).title


def test_nobody_walks_at_a_right_angle() -> None:
    """Only views of somebody upright can be asked for."""
    with pytest.raises(ValueError, match="from front, back, right, left only"):
        walk(Walk(), View.RIGHT_ANGLE_LEFT)
