"""Tests that are played from the front and in profile: what moves, moves by what was asked, measured back."""

import json
import math
import re
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.anatomy import Side
from fabella.figure import (
    Ease,
    Glided,
    Motion,
    Played,
    Ranged,
    Ranging,
    SeenLeg,
    Shifted,
    Shifting,
    Swept,
    Tapped,
    Tracked,
    Turned,
    glide_patella,
    motion_svg,
    motion_tree,
    move_knee,
    shift,
    sweep,
    tap,
    track_patella,
    turn_foot,
)
from fabella.figure.bare_side import bare_lines
from fabella.figure.close_front import CloseKnee
from fabella.figure.fluid import RISES_MM, WAVES_MM, tapped_leg
from fabella.figure.patella import patella_width_mm
from fabella.figure.pose import MM, length
from fabella.figure.sheet import Item, Sheet
from fabella.figure.turning import sole
from tests.figure.reading import Point, turn_deg

SIDES = st.sampled_from([Side.RIGHT, Side.LEFT])
SOUND = SeenLeg()


def outline(sheet: Sheet, tone: str) -> np.ndarray:
    """The contour of the first item of a tone."""
    return np.asarray(next(item.points for item in sheet.items if item.tone == tone))


def part(sheet: Sheet, name: str) -> np.ndarray:
    """The points of the front of the thigh or of the shin on the skin of a leg in profile."""
    lines = bare_lines(tapped_leg(), SOUND)
    start = 0 if name == "front" else len(lines.front) + len(lines.knee)
    return outline(sheet, "skin")[start : start + len(getattr(lines, name))]


def bend_deg(one: Sheet, two: Sheet) -> float:
    """How far the shin turned against the thigh from one drawing to the other, read from the skin."""
    thigh = [tuple(each) for each in part(one, "front")[3:]], [tuple(each) for each in part(two, "front")[3:]]
    shin = [tuple(each) for each in part(one, "shin")], [tuple(each) for each in part(two, "shin")]
    return turn_deg(*shin) - turn_deg(*thigh)


# ---------------------------------------------------------------- the range of motion


@given(way=st.sampled_from([Ranged.BENDS, Ranged.IS_BENT]), side=SIDES, to=st.floats(20, 150))
def test_a_knee_bends_as_far_as_was_read(way: Ranged, side: Side, to: float) -> None:
    """From a straight leg the shin has turned against the thigh by the reading, and stays there."""
    straight = move_knee(Ranging(way=Ranged.LIFTS, side=side, to_deg=0)).sheets[0]
    bent = move_knee(Ranging(way=way, side=side, to_deg=to)).sheets[-1]
    assert abs(bend_deg(straight, bent)) == pytest.approx(to, abs=0.5)


@given(
    way=st.sampled_from([Ranged.STRAIGHTENS, Ranged.SINKS, Ranged.LIFTS]), side=SIDES, to=st.floats(-14, 40)
)
def test_a_knee_straightens_as_far_as_was_read(way: Ranged, side: Side, to: float) -> None:
    """Short of straight and beyond it, the shin ends at the angle asked for."""
    to = max(to, 0.0) if way is not Ranged.STRAIGHTENS else to
    straight = move_knee(Ranging(way=Ranged.LIFTS, side=side, to_deg=0)).sheets[0]
    ended = move_knee(Ranging(way=way, side=side, to_deg=to)).sheets[-1]
    flexion = -bend_deg(straight, ended) * (-1 if side is Side.RIGHT else 1)
    assert flexion == pytest.approx(to, abs=0.5)


def test_a_caught_knee_springs_back_and_a_blocked_one_does_not() -> None:
    """A springy knee ends more bent than it came; a rigid one stays where it stopped."""
    springy, rigid = (
        move_knee(Ranging(way=Ranged.CATCHES, side=Side.RIGHT, to_deg=20, springs=each)).sheets
        for each in (True, False)
    )
    assert abs(bend_deg(springy[-3], springy[-1])) == pytest.approx(7, abs=0.5)
    assert abs(bend_deg(rigid[-3], rigid[-1])) < 0.01


def test_a_leg_that_cannot_be_lifted_stays() -> None:
    """Unable is drawn as a leg that does not move, and said so."""
    motion = move_knee(Ranging(way=Ranged.LIFTS, side=Side.LEFT, to_deg=0, able=False))
    assert all(len(part["frames"]) == 1 for part in motion_tree(motion)["parts"])
    assert motion.words == "The left heel does not leave the couch."


# ---------------------------------------------------------------- tibiae that jump


@given(test=st.sampled_from(list(Shifted)), side=SIDES, slips=st.floats(0, 20))
def test_a_tibia_jumps_as_far_as_asked(test: Shifted, side: Side, slips: float) -> None:
    """Against a leg that does not jump the shin stands aside by the millimetres before, and not after."""
    jumps, still = (shift(Shifting(test=test, side=side, slips_mm=each)).sheets for each in (slips, 0.0))
    for key, asked in ((0, slips), (-1, 0.0)):
        away = np.mean(part(jumps[key], "shin") - part(still[key], "shin"), axis=0)
        assert float(np.hypot(*away)) * MM == pytest.approx(asked, abs=0.5)


def test_a_clunk_is_quicker_than_a_glide() -> None:
    """Through fewer degrees and in less time the tibia goes back when it jumps at once."""
    took = {}
    for sudden in (True, False):
        motion = shift(Shifting(test=Shifted.PIVOT, side=Side.RIGHT, slips_mm=10, sudden=sudden))
        took[sudden] = motion.keys_pct[3] - motion.keys_pct[2]
    assert took[True] < took[False] / 3


# ---------------------------------------------------------------- fluid


@pytest.mark.parametrize("wave", range(5))
@pytest.mark.parametrize("side", list(Side))
def test_the_inner_hollow_fills_with_the_wave(wave: int, side: Side) -> None:
    """The skin inside of the patella stands out by the wave at the end, and was stroked flat before."""
    sheets = sweep(Swept(side=side, wave=wave)).sheets
    flat = outline(CloseKnee().sheet("", side), "skin")
    out = [float(np.max(np.abs(outline(sheet, "skin") - flat))) * MM for sheet in sheets]
    assert out[-1] == pytest.approx(WAVES_MM[wave], abs=0.5)
    assert out[3] == pytest.approx(WAVES_MM[wave] if wave == 4 else 0.0, abs=0.5)
    assert (out[5] > 0) is (wave >= 3)  # before the outer side is stroked


@pytest.mark.parametrize("taps", [True, False])
@pytest.mark.parametrize("side", list(Side))
def test_the_patella_taps(taps: bool, side: Side) -> None:
    """The middle of the patella goes down by the gap and comes back; where nothing lifts it, it stays."""
    at = len(bare_lines(tapped_leg(), SOUND).front) + 2
    heights = [outline(sheet, "skin")[at][1] * MM for sheet in tap(Tapped(side=side, taps=taps)).sheets]
    assert max(heights) - min(heights) == pytest.approx(RISES_MM * taps, abs=0.5)
    assert heights[3] == max(heights)
    assert heights[-1] == min(heights)


# ---------------------------------------------------------------- the patella


def patella_x(sheet: Sheet, side: Side) -> float:
    """How far outwards the middle of the patella stands, in millimetres."""
    return float(np.mean(outline(sheet, "bone"), axis=0)[0]) * MM * (-1 if side is Side.RIGHT else 1)


@given(side=SIDES, quarters=st.floats(0, 5), inwards=st.booleans(), ease=st.sampled_from(list(Ease)))
def test_the_patella_moves_by_quarters_of_its_width(
    side: Side, quarters: float, inwards: bool, ease: Ease
) -> None:
    """It goes the way it is pushed by its share of the width, less where the patient is alarmed, and back."""
    each = Glided(side=side, quarters=quarters, inwards=inwards, ease=ease)
    sheets = glide_patella(each).sheets
    moved = patella_x(sheets[2], side) - patella_x(sheets[0], side)
    assert moved == pytest.approx(-each.moves_mm if inwards else each.moves_mm, abs=0.5)
    if ease is Ease.CALM:
        assert each.moves_mm == pytest.approx(quarters / 4 * patella_width_mm())
    assert patella_x(sheets[-1], side) == pytest.approx(patella_x(sheets[0], side), abs=0.01)


def test_alarm_shows() -> None:
    """A calm thigh stays slack; a tense one draws the patella up; a hand comes only to ward off."""

    def hands(motion: Motion) -> int:
        return sum(item.tone == "hand" for item in motion.sheets[0].items)

    calm, tense, warding = (glide_patella(Glided(side=Side.RIGHT, quarters=2, ease=each)) for each in Ease)
    heights = [float(np.mean(outline(each.sheets[3], "bone"), axis=0)[1]) for each in (calm, tense)]
    assert (heights[0] - heights[1]) * MM == pytest.approx(4, abs=0.5)
    assert hands(calm) == hands(tense) < hands(warding)


@given(side=SIDES, jumps=st.floats(0, 15))
def test_the_patella_jumps_out_of_its_groove_at_the_end(side: Side, jumps: float) -> None:
    """From the last drawing before straight to the end it goes outwards by the jump."""
    sheets = track_patella(Tracked(side=side, jumps_mm=jumps)).sheets
    assert patella_x(sheets[-1], side) - patella_x(sheets[0], side) == pytest.approx(jumps + 2, abs=0.5)
    assert patella_x(sheets[2], side) - patella_x(sheets[0], side) == pytest.approx(1, abs=0.5)


# ---------------------------------------------------------------- the foot


@given(side=SIDES, to=st.floats(-60, 90))
def test_a_foot_turns_as_far_as_was_read(side: Side, to: float) -> None:
    """The sole has turned against the line of the thigh by the reading, outwards on its own side."""
    sheets = turn_foot(Turned(side=side, to_deg=to, knee_deg=30)).sheets
    soles = [[tuple(each) for each in outline(sheet, "skin")] for sheet in (sheets[0], sheets[-1])]
    turned = turn_deg(*soles) * (1 if side is Side.RIGHT else -1)
    assert turned == pytest.approx(to, abs=0.5)
    assert sole(0)[0] == pytest.approx(tuple(sole(360)[0]))


# ---------------------------------------------------------------- all of them

MOTIONS = [
    *(sweep(Swept(side=Side.LEFT, wave=each)) for each in (0, 2, 4)),
    tap(Tapped(side=Side.LEFT, taps=True, seen=SeenLeg(fullness=2))),
    *(glide_patella(Glided(side=Side.RIGHT, quarters=3, ease=each)) for each in Ease),
    track_patella(Tracked(side=Side.LEFT, jumps_mm=8)),
    *(move_knee(Ranging(way=each, side=Side.RIGHT, to_deg=30)) for each in Ranged),
    *(shift(Shifting(test=each, side=Side.RIGHT, slips_mm=9)) for each in Shifted),
    turn_foot(Turned(side=Side.RIGHT, to_deg=40, knee_deg=90)),
]


@pytest.mark.parametrize("motion", MOTIONS, ids=lambda each: each.title + each.words)
def test_every_test_can_be_blended_and_is_light(motion: Motion) -> None:
    """Key positions rise from 0 to 100, frames of a part agree, and a movement weighs a few kilobytes."""
    tree = motion_tree(motion)
    assert motion.keys_pct[0] == 0
    assert motion.keys_pct[-1] == 100
    assert list(motion.keys_pct) == sorted(set(motion.keys_pct))
    for each in tree["parts"]:
        assert len(each["frames"]) in {1, len(motion.keys_pct)}
        assert len({re.sub(r"-?\d+", "#", frame).replace(" ", "") for frame in each["frames"]}) == 1
    assert motion_svg(motion).count("<path") == len(tree["parts"])
    assert len(json.dumps(tree)) < 36_000


def in_window(sheet: Sheet, items: Sequence[Item]) -> bool:
    """Whether something of the items lies within the window."""
    window = sheet.window
    points: list[Point] = [point for item in items for point in item.points]
    return any(0 < x - window.left < window.width and 0 < y - window.top < window.height for x, y in points)


@pytest.mark.parametrize("motion", MOTIONS, ids=lambda each: each.title + each.words)
def test_the_title_tells_nothing_and_the_words_name_no_finding(motion: Motion) -> None:
    """Titles say what is done; words say what is seen, without the name of a sign or a grade."""
    said = f"{motion.title} {motion.words}".lower()
    for word in ("positive", "negative", "normal", "grade", "lax", "torn", "effusion", "1+", "sign", "mild"):
        assert word not in said
    assert in_window(motion.sheets[0], motion.sheets[0].items)


def test_the_couch_is_where_the_heel_lies() -> None:
    """A leg that bends keeps its heel on the couch."""
    for sheet in move_knee(Ranging(way=Ranged.BENDS, side=Side.RIGHT, to_deg=120)).sheets:
        couch = min(y for _, y in outline(sheet, "couch"))
        assert max(y for _, y in outline(sheet, "skin")[-40:]) < couch + length("shank")
        foot = outline(sheet, "skin")[len(part(sheet, "front")) + 10 :]
        assert max(y for _, y in foot) == pytest.approx(couch, abs=3)


def test_every_ligament_test_is_named_once() -> None:
    """The tests that are played have names of their own."""
    assert len({each.value for each in (*Played, *Shifted, *Ranged)}) == len([*Played, *Shifted, *Ranged])
    assert not math.isnan(patella_width_mm())
