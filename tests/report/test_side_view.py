"""The plate from the side says what was found, at its measure, and no more."""

import math
import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fabella.anatomy import Side
from fabella.figure.pose import length
from fabella.figure.sheet import Item, Sheet
from fabella.report import (
    Outcome,
    Reading,
    Readings,
    build_plate,
    build_side_view,
    readings_of,
    render_side_view,
)
from fabella.report.marks import arrow_mm, sites
from fabella.report.side_view import _APART, _PLACES
from tests.report import made_up
from tests.report.made_up import LEFT, OF_A_KNEE, RIGHT, reading

PAGE_MM = 160.0


def sheet_of(*each: Reading) -> Sheet:
    """The side view of these readings."""
    return build_side_view(Readings(all=each))


def of_tone(sheet: Sheet, tone: str, side: Side) -> list[Item]:
    """What is drawn of one knee in one tone; the right knee stands on the left."""
    found = [item for item in sheet.items if item.tone == tone]
    return [item for item in found if (sum(x for x, _ in item.points) > 0) is (side is LEFT)]


def said(sheet: Sheet) -> str:
    """All words of the drawing."""
    return " ".join(each.text for each in sheet.words)


@given(extension=st.floats(-30, 15), flexion=st.floats(40, 150), side=st.sampled_from(Side))
def test_the_arc_runs_from_extension_to_flexion(extension: float, flexion: float, side: Side) -> None:
    """Measured back from the drawing, the arc spans the motion that was recorded."""
    sheet = sheet_of(
        reading("passive_extension", side, value=extension, unit="deg"),
        reading("passive_flexion", side, value=flexion, unit="deg"),
    )
    (shaft,) = of_tone(sheet, "accent", side)
    (head,) = of_tone(sheet, "spot", side)
    middle = _APART if side is LEFT else -_APART
    forwards = 1 if side is LEFT else -1

    def angle(point: tuple[float, float]) -> float:
        return math.degrees(math.atan2(forwards * (point[0] - middle), point[1]))

    assert angle(shaft.points[0]) == pytest.approx(extension, abs=0.5)
    assert -angle(head.points[0]) == pytest.approx(flexion, abs=0.5)


@pytest.mark.parametrize("side", Side)
@pytest.mark.parametrize(("sign", "forwards"), [("lachman", True), ("posterior_drawer", False)])
def test_the_arrow_of_a_sliding_shin_is_as_long_as_the_movement(
    sign: str, forwards: bool, side: Side
) -> None:
    """Nine millimetres are nine on a page 16 cm wide, towards the toes or away from them."""
    found = reading(sign, side, value=9.0, unit="mm", level=2, grade="2+")
    sheet = sheet_of(found)
    (shaft,), (head,) = of_tone(sheet, "accent", side), of_tone(sheet, "spot", side)
    moved = head.points[0][0] - shaft.points[0][0]
    assert abs(moved) * PAGE_MM / sheet.window.width == pytest.approx(arrow_mm(found), abs=0.5)
    outwards = 1 if side is LEFT else -1  # toes point outwards
    assert (moved * outwards > 0) is forwards
    assert "9 mm" in said(sheet).replace("\N{NO-BREAK SPACE}", " ")


@pytest.mark.parametrize("sign", _PLACES)
@pytest.mark.parametrize("side", Side)
def test_what_is_seen_from_the_side_is_marked_and_said(sign: str, side: Side) -> None:
    """Each such finding has a mark on its own knee near the joint, and words beside it."""
    sheet = sheet_of(reading(sign, side))
    marks = of_tone(sheet, "accent", side)
    assert marks
    assert all(abs(x) < _APART + 80 and abs(y) < length("shank") for item in marks for x, y in item.points)
    assert sites()[sign].say.split()[0] in said(sheet)
    assert not of_tone(sheet, "accent", LEFT if side is RIGHT else RIGHT)


def test_not_examined_is_not_drawn_as_normal() -> None:
    """A knee that nobody looked at is faint and says so; the other is not."""
    sheet = sheet_of(reading("warmth", RIGHT, Outcome.NORMAL))
    assert of_tone(sheet, "far", LEFT)
    assert not of_tone(sheet, "far", RIGHT)
    assert said(sheet).count("not examined") == 1


def test_the_other_knee_is_a_ghost_where_it_differs() -> None:
    """Where the ends of motion differ, thin lines show the other knee's, and words say what they are."""
    right = reading("passive_flexion", RIGHT, value=90.0, unit="deg")
    alike = reading("passive_flexion", LEFT, value=90.0, unit="deg")
    more = reading("passive_flexion", LEFT, value=140.0, unit="deg")
    assert "thin lines" in said(sheet_of(right, more))
    assert "thin lines" not in said(sheet_of(right, alike))


def test_a_fuller_joint_is_drawn_fuller() -> None:
    """The pouch above the patella grows with the grade of the effusion."""

    def reach(level: int) -> float:
        pouch, _ = of_tone(sheet_of(reading("effusion", LEFT, level=level)), "accent", LEFT)
        return max(x for x, _ in pouch.points)

    assert reach(1) < reach(2) < reach(3)


@pytest.mark.parametrize("make", [made_up.twisted_knee, made_up.hot_knee, made_up.worn_knees])
def test_the_drawing_is_well_formed_and_says_all_in_words(make: type) -> None:
    """Whatever was found: an image with a text equivalent that is the plate's own."""
    readings = readings_of(make())
    root = ET.fromstring(render_side_view(readings))  # noqa: S314  our own drawing
    assert root.attrib["aria-label"].endswith(build_plate(readings).description)


@settings(max_examples=60)
@given(
    st.lists(
        st.tuples(st.sampled_from(OF_A_KNEE), st.sampled_from(Side), st.sampled_from(Outcome)),
        max_size=40,
        unique_by=lambda each: each[:2],
    )
)
def test_any_findings_can_be_drawn(found: list[tuple[str, Side, Outcome]]) -> None:
    """Lines of words stay within the page and never lie on each other, whatever was found."""
    sheet = sheet_of(*(reading(sign, side, outcome) for sign, side, outcome in found))
    for side in Side:
        rows = [
            each.at[1]
            for each in sheet.words
            if each.anchor != "middle" and (each.at[0] > 0) is (side is LEFT)
        ]
        assert all(later - earlier >= 30 for earlier, later in pairwise(rows))
        assert all(sheet.window.top < y < sheet.window.top + sheet.window.height for y in rows)
    assert all(len(each.text) <= 26 for each in sheet.words)
