import math
from collections.abc import Mapping

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from fabella.errors import InputError
from fabella.measure import (
    VIEWS,
    Frame,
    LimbSide,
    Point,
    View,
    arithmetic_hka_deg,
    joint_line_obliquity_deg,
    measure_on_picture,
    mechanical_hka_deg,
    view_of,
)
from fabella.protocol import load_protocol

FRAME = Frame(width_px=4000, height_px=4000)
WIDE = Frame(width_px=1e6, height_px=1e6)


def _limb_from_side(flexion_deg: float, *, faces: int = 1, px: float = 800) -> dict[str, Point]:
    """Return a limb standing upright, drawn by hand from its angle; ``faces`` 1 looks to the right."""
    angle = math.radians(flexion_deg)
    knee = Point(2000, 2000)
    ankle = Point(knee.x - faces * px * math.sin(angle), knee.y + px * math.cos(angle))
    toes = Point(ankle.x + faces * 300 * math.cos(angle), ankle.y + 300 * math.sin(angle))
    return {"trochanter": Point(2000, 2000 - px), "epicondyle": knee, "malleolus": ankle, "toes": toes}


def _only(view: View, points: Mapping[str, Point]) -> dict[str, Point]:
    return {each.id: points[each.id] for each in view.landmarks}


def _value(
    view: str, points: Mapping[str, Point], *, side: LimbSide = "right", frame: Frame = FRAME
) -> float:
    chosen = view_of(view)
    return measure_on_picture(chosen, side=side, points=_only(chosen, points), frame=frame).main.value


# ---------------------------------------------------------------- geometry computed by hand


@pytest.mark.parametrize("faces", [1, -1])
@pytest.mark.parametrize("flexion_deg", [12, 45, 90, 135, 165])
def test_a_bent_knee_reads_its_angle_whichever_way_it_faces(flexion_deg: float, faces: int) -> None:
    """A limb drawn bent by so many degrees is measured as bent by so many."""
    points = _limb_from_side(flexion_deg, faces=faces)
    assert _value("bent_knee", points) == pytest.approx(flexion_deg)
    assert _value("bent_knee", points, side="left") == pytest.approx(flexion_deg)


@pytest.mark.parametrize("faces", [1, -1])
def test_the_foot_tells_hyperextension_from_a_missing_degree(faces: int) -> None:
    """Seven degrees short reads -7 as extension and 7 as fixed flexion; seven beyond, the reverse."""
    for flexion_deg in (7, -7):
        points = _limb_from_side(flexion_deg, faces=faces)
        done = measure_on_picture(view_of("straight_knee"), side="left", points=points, frame=FRAME)
        extension, missing = done.reading_for("passive_extension"), done.reading_for("fixed_flexion")
        assert extension is not None
        assert missing is not None
        assert extension.value == pytest.approx(-flexion_deg)
        assert missing.value == pytest.approx(flexion_deg)


def test_a_right_angle_of_three_whole_numbers() -> None:
    """Points at 3-4-5 triangles give a right angle, and 180 - 2 atan(3/4) = 106.26 degrees."""
    square = {"trochanter": Point(100, 100), "epicondyle": Point(500, 400), "malleolus": Point(200, 800)}
    assert _value("bent_knee", square) == pytest.approx(90)
    point = {"trochanter": Point(100, 100), "epicondyle": Point(500, 400), "malleolus": Point(100, 700)}
    assert _value("bent_knee", point) == pytest.approx(106.2602, abs=1e-4)


def _standing(outwards_deg: float, *, side: LimbSide) -> dict[str, Point]:
    """Return a limb as the examiner faces the patient: the right one turns outwards to the left."""
    angle = math.radians(outwards_deg) * (1 if side == "right" else -1)
    ankle = Point(2000 - 900 * math.sin(angle), 1900 + 900 * math.cos(angle))
    return {"iliac_spine": Point(2000, 900), "patella": Point(2000, 1900), "ankle": ankle}


@pytest.mark.parametrize("side", ["right", "left"])
def test_valgus_is_positive_on_both_sides(side: LimbSide) -> None:
    """An ankle six degrees outside the line of the thigh is 6, inside it -6, on the right and on the left."""
    assert _value("standing_front", _standing(6, side=side), side=side) == pytest.approx(6)
    assert _value("standing_front", _standing(-6, side=side), side=side) == pytest.approx(-6)


def test_a_mirrored_picture_changes_the_sign_unless_it_is_said() -> None:
    """From the front a mirror turns valgus into varus; told of it, the measurement turns it back."""
    view, points = view_of("standing_front"), _standing(6, side="right")
    mirror = {name: Point(4000 - point.x, point.y) for name, point in points.items()}
    seen = measure_on_picture(view, side="right", points=mirror, frame=FRAME)
    told = measure_on_picture(view, side="right", points=mirror, frame=FRAME, mirrored=True)
    assert seen.main.value == pytest.approx(-6)
    assert told.main.value == pytest.approx(6)


def test_a_tubercle_outside_the_line_of_pull_is_a_positive_q_angle() -> None:
    """A tubercle 15 mm lateral to the line and 56 mm below the patella is 15.0 degrees, atan(15 / 56)."""
    points = {"iliac_spine": Point(1500, 500), "patella": Point(1500, 1540), "tubercle": Point(1470, 1652)}
    assert _value("q_angle", points) == pytest.approx(math.degrees(math.atan(30 / 112)))


def test_a_foot_turned_out_is_positive_from_above() -> None:
    """Prone, head up on the picture, the right foot lies on the right; toes to the right are outwards."""
    points = {
        "thigh": Point(2000, 1000),
        "hollow": Point(2000, 1800),
        "heel": Point(2000, 1700),
        "second_toe": Point(2000 + 400 * math.sin(math.radians(15)), 1700 + 400 * math.cos(math.radians(15))),
    }
    assert _value("thigh_foot", points) == pytest.approx(15)
    assert _value("thigh_foot", points, side="left") == pytest.approx(-15)


# ---------------------------------------------------------------- films

FILM = {
    "femoral_head": Point(1500, 300),
    "knee_centre": Point(1540, 1700),
    "talus": Point(1490, 2900),
    "lateral_condyle": Point(1430, 1694),
    "medial_condyle": Point(1652, 1702),
    "lateral_plateau": Point(1431, 1712),
    "medial_plateau": Point(1650, 1728),
}


def test_film_angles_keep_the_identities_of_alignment() -> None:
    """What the points give is what the published identities make of MPTA, LDFA and convergence."""
    # aHKA = MPTA - LDFA and JLO = MPTA + LDFA (MacDessi 2021 Bone Joint J 103-B:329-337), mHKA = aHKA + JLCA
    # (MacDessi 2021 Bone Jt Open 2:351-357); the last holds for any seven points, since all share one knee.
    done = measure_on_picture(view_of("joint_line_film"), side="right", points=FILM, frame=FRAME)
    read = {each.quantity.id: each.value for each in done.readings}
    bones = arithmetic_hka_deg(mpta_deg=read["mpta"], ldfa_deg=read["ldfa"])
    assert read["arithmetic_hka"] == pytest.approx(bones)
    assert read["obliquity"] == pytest.approx(
        joint_line_obliquity_deg(mpta_deg=read["mpta"], ldfa_deg=read["ldfa"])
    )
    assert read["hka"] == pytest.approx(
        mechanical_hka_deg(arithmetic_hka_deg=bones, joint_line_convergence_deg=read["convergence"])
    )


def test_joint_angles_of_level_joint_lines_are_those_of_the_axes() -> None:
    """With level joint lines the joint angles differ from 90 by the tilts of the mechanical axes."""
    level = FILM | {
        "lateral_condyle": Point(1430, 1700),
        "medial_condyle": Point(1650, 1700),
        "lateral_plateau": Point(1430, 1715),
        "medial_plateau": Point(1650, 1715),
    }
    done = measure_on_picture(view_of("joint_line_film"), side="right", points=level, frame=FRAME)
    read = {each.quantity.id: each.value for each in done.readings}
    femur, tibia = math.degrees(math.atan(40 / 1400)), math.degrees(math.atan(50 / 1200))
    assert read["ldfa"] == pytest.approx(90 - femur)
    assert read["mpta"] == pytest.approx(90 + tibia)
    assert read["convergence"] == pytest.approx(0)
    assert read["hka"] == pytest.approx(femur + tibia)


def test_the_axis_of_a_valgus_limb_passes_outside_the_knee_in_millimetres() -> None:
    """A knee 30 px inside the axis, at half a millimetre a pixel, leaves it 15 mm to the lateral side."""
    points = {"femoral_head": Point(1000, 400), "knee_centre": Point(1030, 1400), "talus": Point(1000, 2400)}
    frame = Frame(width_px=2000, height_px=3000, mm_per_px=0.5)
    done = measure_on_picture(view_of("long_leg_film"), side="right", points=points, frame=frame)
    read = {each.quantity.id: each.value for each in done.readings}
    assert read["deviation"] == pytest.approx(15)
    assert read["hka"] == pytest.approx(2 * math.degrees(math.atan(0.03)))


def test_without_a_scale_no_millimetres_are_told() -> None:
    """A film without spacing gives its angles and leaves the distance out."""
    points = {name: FILM[name] for name in ("femoral_head", "knee_centre", "talus")}
    done = measure_on_picture(view_of("long_leg_film"), side="right", points=points, frame=FRAME)
    assert [each.quantity.id for each in done.readings] == ["hka"]


def test_pixels_that_are_not_square_are_squared() -> None:
    """A picture squeezed to half its width gives the same angle when its pixels are told as twice as wide."""
    points = _limb_from_side(60)
    squeezed = {name: Point(point.x / 2, point.y) for name, point in points.items()}
    frame = Frame(width_px=2000, height_px=4000, pixel_width=2)
    assert _value("bent_knee", squeezed, frame=frame) == pytest.approx(60)


# ---------------------------------------------------------------- what must not matter


@given(
    flexion_deg=st.floats(15, 160),
    turned_deg=st.floats(-180, 180),
    larger=st.floats(0.3, 5),
    mirror=st.booleans(),
)
def test_a_side_view_does_not_depend_on_how_the_picture_lies(
    flexion_deg: float, turned_deg: float, larger: float, mirror: bool
) -> None:
    """Turned, enlarged, shifted or mirrored, the same limb has the same angle and the same method error."""
    angle = math.radians(turned_deg)

    def moved(point: Point) -> Point:
        x, y = (point.x - 2000) * (-1 if mirror else 1), point.y - 2000
        return Point(
            2e4 + larger * (x * math.cos(angle) - y * math.sin(angle)),
            2e4 + larger * (x * math.sin(angle) + y * math.cos(angle)),
        )

    points = {name: moved(point) for name, point in _limb_from_side(flexion_deg).items()}
    assert _value("bent_knee", points, frame=WIDE) == pytest.approx(flexion_deg, abs=1e-6)
    short = {name: moved(point) for name, point in _limb_from_side(flexion_deg / 4 - 20).items()}
    assert _value("straight_knee", short, frame=WIDE) == pytest.approx(20 - flexion_deg / 4, abs=1e-6)


@given(valgus_deg=st.floats(-25, 25), larger=st.floats(0.3, 5))
def test_right_and_left_limbs_are_mirror_images(valgus_deg: float, larger: float) -> None:
    """The left limb of a mirrored picture measures as the right one of the picture, errors included."""
    view = view_of("standing_front")
    right = {
        name: Point(point.x * larger, point.y * larger)
        for name, point in _standing(valgus_deg, side="right").items()
    }
    left = {name: Point(1e6 - point.x, point.y) for name, point in right.items()}
    one = measure_on_picture(view, side="right", points=right, frame=WIDE).main
    two = measure_on_picture(view, side="left", points=left, frame=WIDE).main
    assert one.value == pytest.approx(valgus_deg, abs=1e-6)
    assert two.value == pytest.approx(one.value, abs=1e-6)
    assert two.standard_error == pytest.approx(one.standard_error)


# ---------------------------------------------------------------- the error


def test_what_a_millimetre_at_the_patella_does_to_the_q_angle() -> None:
    """One millimetre sideways at the patella turns the Q angle by 1.13 degrees, at the tubercle by 1.02."""
    # France and Nester 2001 Clin Biomech 16:710-713; their limb is 56 mm and about 520 mm long.
    view = view_of("q_angle")
    frame = Frame(width_px=1000, height_px=1000, mm_per_px=1)
    straight = {"iliac_spine": Point(300, 50), "patella": Point(300, 570), "tubercle": Point(300, 626)}

    def q(name: str, mm: float) -> float:
        moved = straight | {name: Point(straight[name].x + mm, straight[name].y)}
        return abs(measure_on_picture(view, side="right", points=moved, frame=frame).main.value)

    assert q("patella", 1) == pytest.approx(1.13, abs=0.01)
    assert q("tubercle", 1) == pytest.approx(1.02, abs=0.01)
    assert q("patella", 5) == pytest.approx(5.53, abs=0.15)
    assert q("tubercle", 5) == pytest.approx(5.18, abs=0.15)


def test_the_error_of_a_bent_knee_by_hand() -> None:
    """At a right angle each arm errs by what its two ends err across it: 10 and 5 mm, 5 and 4 mm."""
    view = view_of("bent_knee")
    frame = Frame(width_px=2000, height_px=2000, mm_per_px=1)
    points = {"trochanter": Point(200, 200), "epicondyle": Point(617, 200), "malleolus": Point(617, 618)}
    main = measure_on_picture(view, side="right", points=points, frame=frame, pointed_within_px=0).main
    by_hand = math.degrees(math.sqrt((10**2 + 5**2) / 417**2 + (5**2 + 4**2) / 418**2))
    assert main.pointing_error == pytest.approx(by_hand)
    assert main.standard_error == pytest.approx(math.hypot(by_hand, 2.1))
    low, high = main.interval
    assert (low + high) / 2 == pytest.approx(90)
    assert high - low == pytest.approx(2 * 1.96 * main.standard_error)


_TRUE: Mapping[str, Mapping[str, Point]] = {
    "bent_knee": _limb_from_side(110),
    "straight_knee": _limb_from_side(6),
    "hamstrings": _limb_from_side(35),
    "standing_front": _standing(4, side="right"),
    "q_angle": {"iliac_spine": Point(1500, 500), "patella": Point(1500, 1540), "tubercle": Point(1470, 1650)},
    "thigh_foot": {
        "thigh": Point(2000, 900),
        "hollow": Point(2000, 1700),
        "heel": Point(2010, 1600),
        "second_toe": Point(2100, 1990),
    },
    "long_leg_film": FILM,
    "joint_line_film": FILM,
}


@pytest.mark.parametrize("view", VIEWS, ids=lambda view: view.id)
def test_the_interval_holds_the_true_value_as_often_as_it_says(view: View) -> None:
    """Landmarks placed and pictures taken anew with their errors leave the truth in 95 % of intervals."""
    dice = np.random.default_rng(20261127)
    frame = Frame(width_px=4000, height_px=4000, mm_per_px=0.5)
    true = _only(view, _TRUE[view.id])
    truth = measure_on_picture(view, side="right", points=true, frame=frame)
    held = dict.fromkeys((each.quantity.id for each in truth.readings), 0)
    rounds = 2000
    for _ in range(rounds):
        placed = {
            each.id: Point(*(true[each.id] + dice.normal(0, math.hypot(each.placed_mm / 0.5, 1), 2)))
            for each in view.landmarks
        }
        for reading, want in zip(
            measure_on_picture(view, side="right", points=placed, frame=frame).readings,
            truth.readings,
            strict=True,
        ):
            error = dice.normal(0, reading.quantity.method_error)
            low, high = reading.interval
            held[reading.quantity.id] += low <= want.value + error <= high
    for share in held.values():
        assert share / rounds == pytest.approx(0.95, abs=0.015)


def test_a_smaller_limb_on_the_picture_is_measured_less_exactly() -> None:
    """The same limb in a tenth of the size has the larger error, since a point covers more of it."""
    view = view_of("bent_knee")
    large, small = (
        measure_on_picture(
            view, side="right", points=_only(view, _limb_from_side(80, px=px)), frame=FRAME
        ).main
        for px in (800, 80)
    )
    assert small.value == pytest.approx(large.value)
    assert small.pointing_error > large.pointing_error


# ---------------------------------------------------------------- what is refused


def _refused(view: str, points: Mapping[str, Point], *, side: LimbSide = "right") -> str:
    with pytest.raises(InputError) as refused:
        measure_on_picture(view_of(view), side=side, points=points, frame=FRAME)
    return str(refused.value)


def test_all_that_is_wrong_with_the_points_is_said_at_once() -> None:
    """A missing landmark, an unknown one and one off the picture are told together, each with its remedy."""
    said = _refused(
        "bent_knee",
        {"trochanter": Point(-3, 10), "epicondyle": Point(10, math.nan), "mallleolus": Point(500, 600)},
    )
    assert "trochanter: '-3,10' lies outside the picture; use 0 to 4000 across" in said
    assert "epicondyle: '10,nan' lies outside the picture" in said
    assert "malleolus: has no point; point at the lateral malleolus" in said
    assert "mallleolus: is no landmark of bent_knee; did you mean 'malleolus'?" in said


def test_points_on_one_spot_and_tiny_limbs_are_refused() -> None:
    """Two landmarks on one spot, and a limb of a few pixels, cannot be measured."""
    points = _only(view_of("bent_knee"), _limb_from_side(90))
    assert "lie on the same spot" in _refused("bent_knee", points | {"malleolus": points["epicondyle"]})
    tiny = {"trochanter": Point(10, 10), "epicondyle": Point(30, 10), "malleolus": Point(30, 31)}
    assert "too small a limb" in _refused("bent_knee", tiny)


def test_a_limb_upside_down_is_refused() -> None:
    """Standing, the iliac spine is above the patella and the patella above the ankle."""
    points = _standing(3, side="right")
    swapped = points | {"iliac_spine": points["ankle"], "ankle": points["iliac_spine"]}
    said = _refused("standing_front", swapped)
    assert "iliac_spine and patella: are upside down" in said
    assert "patella and ankle: are upside down" in said


def test_points_in_the_wrong_order_do_not_make_a_limb() -> None:
    """A knee pointed at last leaves a shank longer than any limb has."""
    points = _only(view_of("hamstrings"), _limb_from_side(20))
    swapped = points | {"epicondyle": points["malleolus"], "malleolus": points["epicondyle"]}
    assert "is no limb" in _refused("hamstrings", swapped)


def test_a_foot_in_line_with_the_shin_does_not_tell_where_the_limb_faces() -> None:
    """Toes straight below the ankle leave hyperextension and flexion apart by nothing."""
    points = _limb_from_side(5)
    ankle, knee = points["malleolus"], points["epicondyle"]
    below = Point(ankle.x + (ankle.x - knee.x) / 4, ankle.y + (ankle.y - knee.y) / 4)
    assert "which way the limb faces" in _refused("straight_knee", points | {"toes": below})


def test_a_straight_knee_is_sent_to_the_view_that_can_tell() -> None:
    """Without the foot three degrees may be either way, so they are not measured as bending."""
    assert "straight_knee" in _refused("bent_knee", _only(view_of("bent_knee"), _limb_from_side(3)))


def test_exchanged_condyles_are_noticed() -> None:
    """Medial and lateral exchanged make joint angles that no limb has."""
    swapped = FILM | {"lateral_plateau": FILM["medial_plateau"], "medial_plateau": FILM["lateral_plateau"]}
    said = _refused("joint_line_film", swapped)
    assert "mpta" in said
    assert "medial and lateral are not exchanged" in said
    assert "mpta" in _refused("joint_line_film", FILM, side="left")


def test_an_unknown_view_names_its_neighbour() -> None:
    """A misspelt view is refused with the nearest one."""
    with pytest.raises(InputError, match="did you mean 'bent_knee'"):
        view_of("bent_kne")


@pytest.mark.parametrize(
    "frame", [(0, 10, 1, None), (10, -1, 1, None), (10, 10, math.inf, None), (10, 10, 1, 0)]
)
def test_a_picture_needs_an_extent(frame: tuple[float, float, float, float | None]) -> None:
    """Sizes and scales of a picture are above zero."""
    width, height, pixel, mm = frame
    with pytest.raises(InputError, match="must be above zero"):
        Frame(width_px=width, height_px=height, pixel_width=pixel, mm_per_px=mm)


# ---------------------------------------------------------------- against the protocol


def test_every_sign_of_a_view_is_measured_by_the_protocol_in_its_unit() -> None:
    """A view speaks of signs that the protocol measures, in the same unit and the same sense."""
    protocol = load_protocol()
    for view in VIEWS:
        for quantity in view.quantities:
            for name in quantity.signs:
                measure = protocol.sign(name).scale.measure
                assert measure is not None
                assert measure.unit == quantity.unit
                assert measure.low <= max(quantity.low, 0) < quantity.high
                if measure.positive:
                    assert measure.positive == quantity.positive


def test_every_error_says_where_it_comes_from() -> None:
    """No landmark and no quantity without the kind of its source."""
    for view in VIEWS:
        sources = [each.source for each in view.landmarks] + [each.source for each in view.quantities]
        assert {each.split(":")[0] for each in sources} <= {"published", "derived", "judgement"}
        assert view.method.startswith(("photograph from ", "radiograph from "))


@given(deviation=st.floats(-30, 30), shift=st.floats(0, 500))
def test_a_standing_limb_may_stand_anywhere(deviation: float, shift: float) -> None:
    """Shifting the picture changes nothing."""
    assume(abs(deviation) > 1e-3)
    points = {
        name: Point(point.x + shift, point.y + shift)
        for name, point in _standing(deviation, side="left").items()
    }
    assert _value("standing_front", points, side="left") == pytest.approx(deviation, abs=1e-6)
