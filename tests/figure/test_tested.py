"""A test that is played: tibia and joint move by what was asked for, measured back from the drawing."""

import math
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.anatomy import Side
from fabella.figure import Play, Played, SeenLeg, motion_svg, motion_tree, play
from fabella.figure.bare_side import bare_lines
from fabella.figure.motion import Motion
from fabella.figure.pose import MM
from fabella.figure.sheet import Sheet
from fabella.figure.tested import Opened, glided_leg
from tests.figure.reading import turn_deg

GLIDES = [Played.LACHMAN, Played.ANTERIOR_DRAWER, Played.POSTERIOR_DRAWER]
OPENS = [Played.VALGUS, Played.VARUS]
SIDES = st.sampled_from([Side.RIGHT, Side.LEFT])


def skin(sheet: Sheet) -> np.ndarray:
    """The contour of the limb."""
    return np.asarray(next(item.points for item in sheet.items if item.tone == "skin"))


@given(
    test=st.sampled_from(GLIDES), side=SIDES, start=st.floats(-20, 0), end=st.floats(-20, 20),
    full=st.integers(0, 3),
)  # fmt: skip
def test_the_tibia_glides_as_far_as_asked(
    test: Played, side: Side, start: float, end: float, full: int
) -> None:
    """From rest to end the skin of the shin is moved along the plateau by the millimetres asked for."""
    seen = SeenLeg(fullness=full)
    each = Play(test=test, side=side, from_mm=start, to_mm=end, seen=seen)
    before, after = (glided_leg(each, at) for at in (start, end))
    moved = np.mean(np.subtract(bare_lines(after, seen).shin, bare_lines(before, seen).shin), axis=0) * MM
    assert float(moved @ before.shank.forwards) == pytest.approx(end - start, abs=0.5)
    shins = [skin(sheet) for sheet in play(each).sheets]
    middle = slice(len(bare_lines(before, seen).front) + 6, len(bare_lines(before, seen).front) + 10)
    drawn = np.mean(shins[1][middle] - shins[0][middle], axis=0)
    assert float(np.hypot(*drawn)) * MM == pytest.approx(abs(end - start), abs=0.5)


@given(test=st.sampled_from(OPENS), side=SIDES, opens=st.floats(0, 20), alignment=st.floats(-10, 15))
def test_the_joint_opens_as_far_as_asked(test: Played, side: Side, opens: float, alignment: float) -> None:
    """On one flank the plateau leaves the condyle by the millimetres asked for; on the other it stays."""
    seen = SeenLeg(alignment_deg=alignment)
    medial = test is Played.VALGUS
    sheets = play(Play(test=test, side=side, to_mm=opens, seen=seen)).sheets
    tibiae = [[item.points for item in sheet.items if item.tone == "bone"][2] for sheet in sheets]
    turned = math.radians(abs(turn_deg(*tibiae)))
    shut, gap = ((11.2, 0.6), (-11.6, 0.6)) if medial else ((-11.6, 0.6), (11.2, 0.6))
    rest, end = (Opened(seen=seen, side=side, medial=medial, opens_mm=at) for at in (0.0, opens))
    assert math.dist(rest.place(gap), end.place(gap)) * MM == pytest.approx(opens, abs=0.5)
    assert math.dist(rest.place(shut), end.place(shut)) * MM == pytest.approx(0, abs=0.5)
    width = math.dist(rest.place(gap), rest.place(shut)) * MM
    assert 2 * width * math.sin(turned / 2) == pytest.approx(opens, abs=0.5)
    # The shank turns outwards in a valgus test, whichever leg it is.
    foot = tuple(np.mean(tibia, axis=0)[0] for tibia in tibiae)
    outwards = (foot[1] - foot[0]) * (-1 if side is Side.RIGHT else 1)
    assert outwards >= -1e-9 if medial else outwards <= 1e-9


def test_rest_is_rest() -> None:
    """Nothing moves, and it is said so, where the end is where the test began."""
    still = play(Play(test=Played.LACHMAN, side=Side.LEFT, to_mm=0))
    assert all(len(part["frames"]) == 1 for part in motion_tree(still)["parts"])
    assert still.words == "The left tibia does not move."


@pytest.mark.parametrize(
    ("each", "words"),
    [
        (Play(test=Played.LACHMAN, side=Side.RIGHT, to_mm=8.2, firm=False),
         "The right tibia slides forward about 8 mm and stops softly."),
        (Play(test=Played.POSTERIOR_DRAWER, side=Side.LEFT, from_mm=-3, to_mm=-9),
         "The left tibia slides back about 6 mm and stops firmly."),
        (Play(test=Played.VALGUS, side=Side.LEFT, to_mm=5),
         "The left knee opens on its inner side about 5 mm and stops firmly."),
        (Play(test=Played.VARUS, side=Side.RIGHT, to_mm=11, firm=False),
         "The right knee opens on its outer side about 11 mm and stops softly."),
    ],
)  # fmt: skip
def test_the_movement_is_told_in_words(each: Play, words: str) -> None:
    """Whoever does not see the figure is told which bone moves, where to, how far and how it stops."""
    assert play(each).words == words


def test_soft_and_firm_end_points_stop_differently() -> None:
    """A firm end point is reached at speed, a soft one ever more slowly."""
    firm, soft = (
        play(Play(test=Played.LACHMAN, side=Side.LEFT, to_mm=6, firm=each)) for each in (True, False)
    )

    def last(motion: Motion) -> float:
        """The speed at the end, in mean speeds: the slope from the last handle that is not the end itself."""
        x1, y1, x2, y2 = (float(each) for each in re.findall(r"[\d.]+", motion.ease))
        x, y = (x1, y1) if (x2, y2) == (1, 1) else (x2, y2)
        return (1 - y) / (1 - x)

    assert firm.duration_ms < soft.duration_ms
    assert last(soft) == 0
    assert last(firm) > 1


@pytest.mark.parametrize("test", list(Played))
def test_key_positions_can_be_blended(test: Played) -> None:
    """All frames of a part have the same commands and as many numbers, and the title tells no finding."""
    each = Play(test=test, side=Side.RIGHT, to_mm=9, seen=SeenLeg(fullness=2, scar=True))
    motion = play(each)
    for part in motion_tree(motion)["parts"]:
        assert len({re.sub(r"-?\d+", "#", each).replace(" ", "") for each in part["frames"]}) == 1
    assert len(motion_tree(motion)["parts"]) == motion_svg(motion).count("<path")
    assert motion.title == play(Play(test=test, side=Side.RIGHT, to_mm=0)).title
