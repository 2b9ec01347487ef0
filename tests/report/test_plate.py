import math
import re
import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fabella.anatomy import Side
from fabella.report import Outcome, Plate, Reading, Readings, build_plate, readings_of, render_plate
from fabella.report.curves import Point
from fabella.report.insets import MOTION_SIGNS, motion
from fabella.report.labels import LINE_MM, Wanted, place_labels, width_mm
from fabella.report.limb import USUAL_ANGLE_DEG, Pose
from fabella.report.marks import arrow_mm, fullness, sites
from fabella.report.plate import PALETTE, build_plain_plate
from fabella.report.plate_layout import label_of
from fabella.report.wording import described
from tests.report import made_up
from tests.report.made_up import EVERYBODY, LEFT, OF_A_KNEE, PROTOCOL, RIGHT, reading

SVG = "{http:" + "//www.w3.org/2000/svg}"


def plate_of(*each: Reading) -> Plate:
    """The plate of these readings."""
    return build_plate(Readings(all=each))


def drawn(plate: Plate) -> ET.Element:
    """The plate as an XML tree; a drawing that is no XML fails here."""
    return ET.fromstring(render_plate(plate))  # noqa: S314  our own drawing


def shown_text(plate: Plate) -> str:
    """All words printed on the plate on one line."""
    words = (node.text or "" for node in drawn(plate).iter() if node.tag in {f"{SVG}text", f"{SVG}tspan"})
    return " ".join(" ".join(words).split())


def points(path: str) -> list[Point]:
    """The points of a path of straight lines."""
    numbers = [float(each) for each in re.findall(r"-?\d+(?:\.\d+)?", path)]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def direction_deg(start: Point, end: Point) -> float:
    """How far a line that runs down the page leans from the vertical, to the right positive."""
    return math.degrees(math.atan2(end[0] - start[0], end[1] - start[1]))


@given(st.floats(-40, 40), st.sampled_from(Side))
@settings(max_examples=40)
def test_the_shin_stands_at_the_measured_angle(angle_deg: float, side: Side) -> None:
    """Read back from the printed axes, the angle of the shafts is the measured one within half a degree."""
    plate = plate_of(reading("tibiofemoral_angle", side, value=angle_deg, unit="deg"))
    knee = next(each for each in plate.knees if each.side is side)
    assert all(path in render_plate(plate) for path in knee.axes)
    femur, tibia = map(points, knee.axes)
    valgus = direction_deg(*tibia[-2:]) - direction_deg(*femur)
    lateral = -1 if side is RIGHT else 1  # the lateral side of a right knee is on the left of the page
    assert lateral * valgus == pytest.approx(angle_deg, abs=0.5)


@given(st.floats(-40, 40), st.sampled_from(Side))
def test_bone_and_skin_of_the_shin_tilt_with_its_axis(angle_deg: float, side: Side) -> None:
    """A straight line below the knee turns by the measured angle, and the thigh does not move."""
    plain = Pose(side=side, x_mm=0, y_mm=0)
    bent = Pose(side=side, x_mm=0, y_mm=0, angle_deg=angle_deg)
    for x in (-15.0, 0.0, 15.0):
        turned = direction_deg(*bent.places([(x, 20), (x, 36)])) - direction_deg(
            *plain.places([(x, 20), (x, 36)])
        )
        lateral = -1 if side is RIGHT else 1
        assert lateral * turned == pytest.approx(angle_deg - USUAL_ANGLE_DEG, abs=0.5)
        assert plain.place((x, -20)) == bent.place((x, -20))


def test_without_a_measurement_no_axis_is_drawn() -> None:
    """An angle that nobody measured is not shown as if it had been."""
    assert [(), ()] == [knee.axes for knee in plate_of(reading("varus_alignment", RIGHT)).knees]


@pytest.mark.parametrize("make", EVERYBODY.values())
def test_the_right_knee_stands_on_the_left_of_the_page(make: type) -> None:
    """As the examiner faces the patient, and both are labelled in words."""
    plate = build_plate(readings_of(make()))
    right, left = plate.knees
    assert (RIGHT, LEFT) == (right.side, left.side)
    assert right.x_mm < plate.width_mm / 2 < left.x_mm
    assert "Right knee" in shown_text(plate)
    assert "Left knee" in shown_text(plate)


def test_the_fibula_is_on_the_outer_side_of_each_knee() -> None:
    """The fibula, and with it the lateral side, lies away from the middle of the page on both knees."""
    for knee in plate_of(reading("effusion", RIGHT), reading("effusion", LEFT)).knees:
        fibula = next(line for line in knee.limb.behind if line.name == "fibula")
        start = points(fibula.path.split("c")[0])[0]
        assert abs(start[0] - 80) > abs(knee.x_mm - 80)


@pytest.mark.parametrize("sign", OF_A_KNEE)
@pytest.mark.parametrize("side", Side)
def test_the_text_equivalent_says_every_abnormal_finding(sign: str, side: Side) -> None:
    """Each sign of the protocol, abnormal on one side, stands in the description under that side only."""
    found = reading(sign, side)
    plate = plate_of(found, reading("scar", RIGHT, Outcome.NORMAL), reading("scar", LEFT, Outcome.NORMAL))
    right, left = plate.description.split(" Left knee: ")
    ours, theirs = (right, left) if side is RIGHT else (left, right)
    assert described(found) in ours
    assert "abnormal: " in ours
    assert "abnormal: " not in theirs


@pytest.mark.parametrize("sign", sorted(set(OF_A_KNEE) - MOTION_SIGNS - {"tibiofemoral_angle"}))
def test_every_abnormal_finding_is_shown_in_print(sign: str) -> None:
    """Each abnormal sign is printed: as a label at its place, in a side view, or below the drawing.

    The arc shows the range of motion and the axes show the alignment; other tests read those.
    """
    knee = plate_of(reading(sign, RIGHT, value=None)).knees[0]
    told = [line for label in knee.labels for line in label.lines]
    told += [line for inset in knee.insets for _, _, line in inset.captions] + list(knee.below)
    ungraded = reading(sign, RIGHT, value=None)
    words = label_of(ungraded) if sign in sites() else described(reading(sign, RIGHT))
    assert words.split()[0] in " ".join(told)


@given(
    st.lists(
        st.tuples(st.sampled_from(OF_A_KNEE), st.sampled_from(Side), st.sampled_from(Outcome)),
        max_size=80,
        unique_by=lambda each: each[:2],
    )
)
@settings(max_examples=60)
def test_any_findings_can_be_drawn_without_labels_touching(found: list[tuple[str, Side, Outcome]]) -> None:
    """Whatever was found, the drawing is sound XML, and no two labels of a column overlap or leave it."""
    plate = plate_of(*(reading(sign, side, outcome) for sign, side, outcome in found))
    drawn(plate)
    for knee in plate.knees:
        columns: dict[str, list[tuple[float, float]]] = {}
        for label in knee.labels:
            top = label.y_mm - LINE_MM
            columns.setdefault(label.anchor, []).append((top, top + LINE_MM * len(label.lines)))
        for column in columns.values():
            assert all(above[1] <= below[0] + 1e-9 for above, below in pairwise(sorted(column)))
            assert all(8 < top and bottom < 78 for top, bottom in column)
        said = knee.status
        assert said.startswith(
            f"{sum(1 for _, side, out in found if side is knee.side and out != 'not examined')} "
        )


@given(st.lists(st.floats(12, 70), max_size=8), st.booleans())
def test_labels_keep_the_order_of_their_marks(heights: list[float], left: bool) -> None:
    """Labels stand in the order of their marks, so that leaders do not cross, and keep to their column."""
    wanted = [Wanted(text=f"label {index}", spoken="", at=(40, y)) for index, y in enumerate(heights)]
    edge, margin = (18.8, 1.8) if left else (61.2, 78.2)
    labels, left_over = place_labels(wanted, edge_mm=edge, page_mm=margin, top_mm=12, bottom_mm=74)
    assert len(labels) + len(left_over) == len(wanted)
    assert sorted(label.leader[-1][1] for label in labels) == [label.leader[-1][1] for label in labels]
    assert all(width_mm(line) <= 18 for label in labels for line in label.lines)


def test_a_knee_not_examined_is_faint_and_says_so() -> None:
    """The knee that was left out bears the words, carries no mark, and is not called normal anywhere."""
    plate = plate_of(reading("lachman", RIGHT, Outcome.NORMAL))
    assert "not examined" in shown_text(plate)
    assert plate.description.endswith("Left knee: not examined.")
    assert (False, (), "") == (plate.knees[1].examined, plate.knees[1].marks, plate.knees[1].pouch)
    faint = [node for node in drawn(plate).iter(f"{SVG}g") if node.get("opacity")]
    assert 1 == len(faint)


def test_history_alone_is_no_examination() -> None:
    """A knee about which only questions were answered counts as not examined."""
    asked = Reading(sign="giving_way", name="Giving way", step="history", side=LEFT, outcome=Outcome.ABNORMAL)
    assert [False, False] == [knee.examined for knee in plate_of(asked).knees]


def test_a_bigger_effusion_is_drawn_bigger() -> None:
    """The contour of the joint cavity grows with the grade, and a size that was not given lies between."""
    by_grade = [
        fullness([reading("effusion", RIGHT, grade=grade, level=level)]) or 0.0
        for level, grade in ((1, "small"), (2, "moderate"), (3, "large"))
    ]
    assert [0, 0.5, 1] == by_grade
    assert 0.6 == fullness([reading("effusion", RIGHT)])
    assert fullness([]) is None


@pytest.mark.parametrize(
    ("value", "level", "expected"),
    [(8.0, 2, 8.0), (40.0, 3, 13.0), (None, 1, 4.0), (None, 3, 12.0), (None, 0, 4.0)],
)
def test_a_laxity_arrow_is_as_long_as_the_movement(value: float | None, level: int, expected: float) -> None:
    """Millimetre for millimetre up to 13, and 4 mm a grade where nothing was measured (our convention)."""
    assert expected == arrow_mm(reading("lachman", RIGHT, value=value, unit="mm", level=level))


def test_motion_is_drawn_from_passive_before_active_values() -> None:
    """A fixed flexion is a shortfall of extension; passive flexion goes before active."""
    found = Readings(
        all=(
            reading("fixed_flexion", RIGHT, value=10.0, unit="deg"),
            reading("active_flexion", RIGHT, value=95.0, unit="deg"),
            reading("passive_flexion", RIGHT, value=105.0, unit="deg"),
        )
    )
    span = motion(found, RIGHT)
    assert span is not None
    assert (-10, 105, "10° to 105°") == (span.extension_deg, span.flexion_deg, span.words)
    assert motion(found, LEFT) is None
    assert "10° to 105°" in shown_text(build_plate(found))


def test_the_drawing_carries_title_and_description() -> None:
    """The SVG names itself for a screen reader, and its ids can be told apart from another plate's."""
    plate = build_plate(readings_of(made_up.twisted_knee()))
    tree = ET.fromstring(render_plate(plate, ident="first"))  # noqa: S314  our own drawing
    title, description = tree.find(f"{SVG}title"), tree.find(f"{SVG}desc")
    assert title is not None
    assert description is not None
    assert (plate.title, plate.description) == (title.text, description.text)
    assert "first-title first-desc" == tree.get("aria-labelledby")
    assert all((node.get("id") or "first").startswith("first") for node in tree.iter())


def test_words_of_the_examiner_cannot_break_the_drawing() -> None:
    """A note that looks like markup is printed as it stands."""
    plate = plate_of(reading("scar", RIGHT, note="<script>\"&'</script>"))
    drawn(plate)
    assert "<script>" in plate.description
    assert "<script>" not in render_plate(plate)


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour, by WCAG 2.2."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("name", ["ink", "accent"])
def test_ink_and_accent_can_be_read_on_the_paper(name: str) -> None:
    """Contrast of text and marks with the ground is at least 4.5 to 1 (WCAG 2.2, 1.4.3), so in grey too."""
    paper, ours = luminance(PALETTE["paper"]), luminance(PALETTE[name])
    assert (paper + 0.05) / (ours + 0.05) >= 4.5


def test_the_same_findings_give_the_same_drawing() -> None:
    """Nothing in the drawing is left to chance."""
    once, twice = (render_plate(build_plate(readings_of(made_up.worn_knees()))) for _ in range(2))
    assert once == twice


@pytest.mark.parametrize("page_mm", [2.0, 158.0])
def test_a_word_longer_than_its_column_is_not_cut_by_the_edge(page_mm: float) -> None:
    """Beside a wide limb a long word moves over the limb and stays on the page."""
    on_the_left = page_mm < 80
    edge = page_mm + 9 if on_the_left else page_mm - 9
    wanted = Wanted(text="2+, cross-fluctuation", spoken="", at=(80.0, 40.0))
    (label,), _ = place_labels([wanted], edge_mm=edge, page_mm=page_mm, top_mm=12.0, bottom_mm=74.0)
    widest = max(map(width_mm, label.lines))
    assert widest > 9
    end = label.x_mm - widest if on_the_left else label.x_mm + widest
    assert end == pytest.approx(page_mm)


@pytest.mark.parametrize("side", Side)
def test_every_way_in_which_a_shin_slides_can_be_drawn_at_once(side: Side) -> None:
    """All abnormal beside measured motion, as in a dislocated knee: the words leave no column for labels."""
    sliding = [sign for sign, site in sites().items() if site.mark == "slides"]
    plate = plate_of(
        reading("passive_flexion", side, value=120.0, unit="deg"),
        *(
            reading(
                sign, side, grade=PROTOCOL.sign(sign).scale.levels[-1].words, level=3, value=12.0, unit="mm"
            )
            for sign in sliding
        ),
        reading("effusion", side),
    )
    assert drawn(plate) is not None


@pytest.mark.parametrize("name", EVERYBODY)
def test_a_patients_plate_names_the_sides_and_nothing_else(name: str) -> None:
    """No term of a doctor's stands in it, only what was not examined; marks are where the letter has them."""
    readings = readings_of(EVERYBODY[name]())
    plain, full = build_plain_plate(readings, description="Said elsewhere."), build_plate(readings)
    assert shown_text(plain).replace(" not examined", "") == "Your right knee Your left knee"
    for ours, theirs in zip(plain.knees, full.knees, strict=True):
        assert ours.pouch == theirs.pouch
        assert {each for each in theirs.marks if each.kind not in {"tape", "pouch"}} == set(ours.marks)
    assert any(knee.marks or knee.pouch for knee in plain.knees)


def test_two_plates_on_one_page_share_no_id() -> None:
    """Letter and patient's page of a signed visit stand on one page: ids and what refers to them differ."""
    readings = readings_of(made_up.twisted_knee())
    plain = render_plate(build_plain_plate(readings, description="Said."), ident="own-plate")
    ids, others = (
        set(re.findall(r' id="([^"]+)"', each)) for each in (plain, render_plate(build_plate(readings)))
    )
    assert ids
    assert not ids & others
    assert set(re.findall(r"url\(#([^)]+)\)", plain)) <= ids
