import io
import math
import re
from collections.abc import Mapping

import pytest
from PIL import Image

from fabella.measure import VIEWS, PictureMeasurement, Point, measure_on_picture, view_of
from fabella.picture import Picture, read_picture
from fabella.report.measured_plate import MeasuredPlate, build_measured_plate, render_measured_plate

LIMB = {"trochanter": Point(300, 700), "epicondyle": Point(850, 350), "malleolus": Point(900, 950)}
LOW = {"trochanter": Point(400, 400), "epicondyle": Point(800, 150), "malleolus": Point(1000, 480)}
FILM = {
    "femoral_head": Point(500, 150),
    "knee_centre": Point(540, 1410),
    "talus": Point(500, 2600),
    "lateral_condyle": Point(440, 1395),
    "medial_condyle": Point(640, 1402),
    "lateral_plateau": Point(440, 1415),
    "medial_plateau": Point(640, 1428),
}


def _taken(
    view: str, points: Mapping[str, Point], size: tuple[int, int]
) -> tuple[PictureMeasurement, Picture]:
    written = io.BytesIO()
    Image.new("RGB", size, (200, 190, 170)).save(written, "PNG")
    picture = read_picture(written.getvalue(), name="knee")
    return measure_on_picture(view_of(view), side="right", points=points, frame=picture.frame), picture


def _plate(view: str, points: Mapping[str, Point], size: tuple[int, int]) -> MeasuredPlate:
    return build_measured_plate(*_taken(view, points, size))


def _arc(plate: MeasuredPlate) -> tuple[float, ...]:
    """Return start, radius and end of the arc, and which way it goes."""
    found = re.fullmatch(r"M(\S+) (\S+)A(\S+) \S+ 0 0 ([01]) (\S+) (\S+)", plate.arc)
    assert found is not None
    return tuple(map(float, found.groups()))


def test_the_arc_spans_the_angle_that_is_told() -> None:
    """From the thigh carried on to the shin, about the knee, the drawn arc turns by the value."""
    plate = _plate("bent_knee", LIMB, (1600, 1100))
    knee = plate.marks[1]
    x1, y1, radius, _, x2, y2 = _arc(plate)
    assert math.hypot(x1 - knee.x, y1 - knee.y) == pytest.approx(radius, abs=0.02)
    assert math.hypot(x2 - knee.x, y2 - knee.y) == pytest.approx(radius, abs=0.02)
    one, two = math.atan2(y1 - knee.y, x1 - knee.x), math.atan2(y2 - knee.y, x2 - knee.x)
    thigh, shin = math.atan2(350 - 700, 850 - 300), math.atan2(950 - 350, 900 - 850)
    assert one == pytest.approx(thigh, abs=0.01)
    assert two == pytest.approx(shin, abs=0.01)
    assert plate.value == f"{math.degrees(shin - thigh):.0f}°"


@pytest.mark.parametrize("shift", [(0, 0), (-290, -250), (680, 140)])
def test_nothing_is_drawn_beside_the_picture(shift: tuple[int, int]) -> None:
    """Wherever the limb lies on the picture, points, arc, lines and value stay inside its frame."""
    points = {name: Point(point.x + shift[0], point.y + shift[1]) for name, point in LIMB.items()}
    plate = _plate("bent_knee", points, (1600, 1100))
    left, top, width, height = plate.picture
    x1, y1, _, _, x2, y2 = _arc(plate)
    drawn = [(x1, y1), (x2, y2), plate.value_at, *((mark.x, mark.y) for mark in plate.marks)]
    for path in (*plate.lines, *plate.dashes):
        numbers = [float(each) for each in re.findall(r"-?[\d.]+", path)]
        drawn += [(numbers[0], numbers[1]), (numbers[2], numbers[3])]
    for x, y in drawn:
        assert left - 0.01 <= x <= left + width + 0.01
        assert top - 0.01 <= y <= top + height + 0.01


def test_a_film_shows_every_value_and_every_line_once() -> None:
    """Both axes and both joint lines are drawn, and each angle is told with its error, to tenths."""
    plate = _plate("joint_line_film", FILM, (1000, 2800))
    assert len(plate.lines) == 4
    assert plate.value == "3.7° valgus"
    assert [name for name, _ in plate.others][:2] == [
        "Medial proximal tibial angle",
        "Mechanical lateral distal femoral angle",
    ]
    assert len(plate.marks) == 7


def test_the_words_beside_the_picture_have_room() -> None:
    """The plate is as high as its column of words, even beside a low picture."""
    low = _plate("bent_knee", LOW, (1600, 500))
    assert low.height_mm > low.picture[1] + low.picture[3]
    svg = render_measured_plate(low)
    rows = [float(each) for each in re.findall(r'<text x="[\d.]+" y="([\d.]+)"', svg)]
    assert max(rows) < low.height_mm


def test_every_view_can_be_drawn_in_words_of_the_trade() -> None:
    """No landmark is told by its short name for programs."""
    for view in VIEWS:
        assert not [each.name for each in view.landmarks if "_" in each.name]
        assert not [each.name for each in view.quantities if "_" in each.name]


def test_a_value_is_said_with_the_way_it_goes() -> None:
    """Varus and a foot turned outwards are named, a plain bend is not; a coarse error takes the tenths."""
    bow = {"iliac_spine": Point(600, 200), "patella": Point(580, 1200), "ankle": Point(640, 2100)}
    foot = {
        "thigh": Point(500, 120),
        "hollow": Point(500, 880),
        "heel": Point(515, 830),
        "second_toe": Point(640, 1240),
    }
    # atan(20/1000) + atan(60/900) = 1.15 + 3.81; atan(125/410) = 16.96
    assert _plate("standing_front", bow, (1200, 2400)).value == "5° varus"
    assert _plate("thigh_foot", foot, (1000, 1500)).value == "17° outwards"
    assert _plate("bent_knee", LIMB, (1600, 1100)).value == "118°"
