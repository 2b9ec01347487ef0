import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.follow import ChangeVerdict, ChangeWhy
from fabella.follow.measured import _EITHER_WAY
from fabella.grade.thresholds import load_thresholds
from tests.follow.notation import LEFT, PROTOCOL, RIGHT, followed, measured_change, read, visit

BETTER, WORSE = ChangeVerdict.TRUE_CHANGE_BETTER, ChangeVerdict.TRUE_CHANGE_WORSE
ERROR, CANNOT = ChangeVerdict.NO_LARGER_THAN_MEASUREMENT_ERROR, ChangeVerdict.CANNOT_JUDGE
OPPOSITE = {BETTER: WORSE, WORSE: BETTER, ERROR: ERROR, CANNOT: CANNOT}

MEASURED = [sign for sign in PROTOCOL.signs if sign.scale.measure and not sign.is_history]
METHODS = [
    None,
    "goniometer",
    "inclinometer",
    "by eye",
    "tape",
    "by hand",
    "arthrometer",
    "sensor",
    "a ruler",
]

signs = st.sampled_from([sign.id for sign in MEASURED])
methods = st.sampled_from(METHODS)
examiners = st.sampled_from([None, "A", "B"])


@st.composite
def pairs(draw: st.DrawFn) -> tuple[str, str, tuple[float, float]]:
    """A sign, its unit and two possible readings of it."""
    sign = PROTOCOL.sign(draw(signs))
    measure = sign.scale.measure
    assert measure is not None
    value = st.floats(measure.low, measure.high)
    return sign.id, measure.unit.value, (draw(value), draw(value))


@given(pairs(), methods, methods, examiners, examiners)
def test_measuring_the_same_twice_is_never_a_true_change(
    pair: tuple[str, str, tuple[float, float]],
    first: str | None,
    second: str | None,
    one: str | None,
    two: str | None,
) -> None:
    """Whatever is measured, with whatever and by whomever: an equal reading is no change."""
    sign, unit, (value, _) = pair
    change = measured_change(sign, (value, value), methods=(first, second), examiners=(one, two), unit=unit)
    assert change.difference == 0
    assert change.verdict in {ERROR, CANNOT}


@given(pairs(), methods, methods, examiners)
def test_swapping_the_visits_swaps_better_and_worse(
    pair: tuple[str, str, tuple[float, float]], first: str | None, second: str | None, examiner: str | None
) -> None:
    """What is better forwards in time is worse backwards, against the same error, and nothing else moves."""
    sign, unit, values = pair
    by = examiner, examiner
    there = measured_change(sign, values, methods=(first, second), examiners=by, unit=unit)
    back = measured_change(sign, values[::-1], methods=(second, first), examiners=by, unit=unit)
    assert back.verdict is OPPOSITE[there.verdict]
    assert (back.error, back.reasons) == (there.error, there.reasons)
    assert back.difference == -there.difference


@given(pairs(), methods, methods, examiners, examiners)
def test_a_true_change_exceeds_the_error_that_stands_beside_it(
    pair: tuple[str, str, tuple[float, float]],
    first: str | None,
    second: str | None,
    one: str | None,
    two: str | None,
) -> None:
    """No verdict of a true change without an error, and none within it."""
    sign, unit, values = pair
    change = measured_change(sign, values, methods=(first, second), examiners=(one, two), unit=unit)
    if change.verdict in {BETTER, WORSE}:
        assert change.error is not None
        assert abs(change.difference) > change.error.detectable
        assert change.better_by is not None
        assert (change.better_by > 0) is (change.verdict is BETTER)
    if change.error is None:
        assert change.verdict is CANNOT
        assert {ChangeWhy.METHODS_DIFFER, ChangeWhy.ERROR_UNKNOWN} & set(change.reasons)


def test_two_tools_that_one_source_compared_take_the_coarser_error() -> None:
    """Goniometer, then by eye: 14 degrees must be exceeded, because one study had both on the same knees."""
    # Hancock 2018 J Exp Orthop 5:46: long goniometer 10, by eye 14.
    tools = "goniometer", "by eye"
    change = measured_change("passive_flexion", (90, 103), methods=tools)
    assert change.error is not None
    assert change.error.detectable == 14
    assert (change.verdict, change.reasons) == (ERROR, (ChangeWhy.WITHIN_ERROR, ChangeWhy.COARSER_METHOD))
    assert measured_change("passive_flexion", (90, 105), methods=tools).verdict is BETTER


@pytest.mark.parametrize(
    ("sign", "unit", "values", "tools"),
    [
        ("lachman", "mm", (12, 3), ("by hand", "arthrometer")),
        ("passive_flexion", "deg", (60, 140), ("goniometer", "tape")),
        ("thigh_girth", "cm", (40, 50), ("tape", "laser scanner")),
    ],
)
def test_tools_that_nobody_compared_cannot_be_judged(
    sign: str, unit: str, values: tuple[float, float], tools: tuple[str, str]
) -> None:
    """However large, a difference between two tools may be theirs: it is not called a change."""
    change = measured_change(sign, values, methods=tools, unit=unit)
    assert (change.verdict, change.error) == (CANNOT, None)
    assert change.reasons == (ChangeWhy.METHODS_DIFFER,)


def test_two_words_for_one_tool_are_one_tool() -> None:
    """'Goniometer' and 'long goniometer' are the same, whatever the capitals."""
    change = measured_change("passive_flexion", (90, 103), methods=("Goniometer", "long goniometer"))
    assert (change.verdict, change.reasons) == (BETTER, (ChangeWhy.BEYOND_ERROR,))


def test_a_method_not_stated_is_taken_as_the_usual_one_and_said() -> None:
    """Without a method flexion counts as read by goniometer; beside a coarser one the larger error holds."""
    # Hancock 2018 J Exp Orthop 5:46: goniometer 10, inclinometer 6, by eye 14.
    neither = measured_change("passive_flexion", (90, 101))
    finer = measured_change("passive_flexion", (90, 99), methods=(None, "inclinometer"))
    coarser = measured_change("passive_flexion", (90, 101), methods=("by eye", None))
    assert [BETTER, ERROR, ERROR] == [neither.verdict, finer.verdict, coarser.verdict]
    assert [10, 10, 14] == [each.error and each.error.detectable for each in (neither, finer, coarser)]
    assert all(ChangeWhy.METHOD_ASSUMED in each.reasons for each in (neither, finer, coarser))


def test_an_error_known_for_one_examiner_only_is_said() -> None:
    """Walking speed has a retest error; between two examiners it is used and said to be that of one."""
    tools, unit = ("sensor", "sensor"), "m/s"
    two = measured_change("gait_speed", (0.8, 1.1), methods=tools, unit=unit, examiners=("A", "B"))
    one = measured_change("gait_speed", (0.8, 1.1), methods=tools, unit=unit, examiners=("A", "A"))
    assert ChangeWhy.ERROR_OF_ONE_EXAMINER in two.reasons
    assert ChangeWhy.ERROR_OF_ONE_EXAMINER not in one.reasons


def test_a_calf_that_changes_is_not_called_better_or_worse() -> None:
    """A calf 4 cm thinner has shrunk or wasted: the number alone does not tell."""
    change = measured_change("calf_girth", (40, 36), methods=("tape", "tape"), unit="cm")
    assert (change.verdict, change.better_by) == (CANNOT, None)
    assert change.reasons == (ChangeWhy.BEYOND_ERROR, ChangeWhy.DIRECTION_UNKNOWN)


def test_more_extension_is_better_only_up_to_a_limit() -> None:
    """From 15 short to straight is a gain; from straight to 14 beyond it may be a knee gone loose."""
    tools = "goniometer", "goniometer"
    gain = measured_change("passive_extension", (-15, 0), methods=tools)
    loose = measured_change("passive_extension", (0, 14), methods=tools)
    assert gain.verdict is BETTER
    assert (loose.verdict, loose.reasons) == (CANNOT, (ChangeWhy.BEYOND_ERROR, ChangeWhy.GOES_BEYOND))


def test_an_angle_is_better_nearer_to_the_usual_one() -> None:
    """From 8 varus to 5 valgus is nearer to the usual angle, and back is farther from it."""
    tools = "goniometer", "goniometer"
    assert measured_change("tibiofemoral_angle", (-8, 5), methods=tools).verdict is BETTER
    assert measured_change("tibiofemoral_angle", (5, -8), methods=tools).verdict is WORSE


def test_from_one_side_of_usual_to_the_other_is_neither_better_nor_worse() -> None:
    """A leg 2 cm short that is made 2 cm long has changed truly, and is as far from equal as before."""
    change = measured_change("leg_length_difference", (-2, 2), methods=("tape", "tape"), unit="cm")
    assert (change.verdict, change.better_by) == (CANNOT, 0)
    assert change.reasons == (ChangeWhy.BEYOND_ERROR, ChangeWhy.DIRECTION_UNKNOWN)


def test_a_series_tells_the_difference_to_the_other_side() -> None:
    """Where both sides were measured the difference stands on both, with opposite signs; elsewhere none."""
    both = read("passive_flexion", 95), read("passive_flexion", 140, side=LEFT)
    course = followed(visit(0, *both), visit(6, read("passive_flexion", 118)))
    right, left = course.measures
    assert (right.side, left.side) == (RIGHT, LEFT)
    assert [-45, None] == [point.difference for point in right.points]
    assert [45] == [point.difference for point in left.points]
    assert (left.steps, left.from_first) == ((), ())


def test_every_step_and_every_distance_from_the_first_is_told() -> None:
    """Three visits give two steps and two distances from the first; a slow gain shows in the latter only."""
    values = (95, 103, 111)
    course = followed(*(visit(6 * n, read("passive_flexion", value)) for n, value in enumerate(values)))
    (series,) = course.measures
    assert [8, 8] == [step.difference for step in series.steps]
    assert [8, 16] == [change.difference for change in series.from_first]
    assert [ERROR, ERROR] == [step.verdict for step in series.steps]
    assert [ERROR, BETTER] == [change.verdict for change in series.from_first]


def test_a_visit_without_the_reading_is_passed_over() -> None:
    """What was not measured at a visit is no point: neither normal nor unchanged."""
    middle = visit(6, read("thigh_girth", 45, unit="cm"))
    course = followed(visit(0, read("passive_flexion", 95)), middle, visit(12, read("passive_flexion", 118)))
    flexion = next(series for series in course.measures if series.sign == "passive_flexion")
    assert len(flexion.points) == 2
    assert flexion.steps[0].since == course.visits[0].day
    assert flexion.steps[0].until == course.visits[2].day


def test_every_measured_sign_has_a_direction_or_a_reason() -> None:
    """Each sign that can be measured has a rule that says which way is worse, or is listed as either way."""
    readings = load_thresholds().readings
    assert [sign.id for sign in MEASURED if sign.id not in readings] == []
    assert _EITHER_WAY <= set(readings)


def test_a_knee_is_not_worse_because_the_other_one_has_caught_up() -> None:
    """A right heel that hung 3 cm higher and comes level is a gain on the right and no loss on the left."""
    course = followed(
        *(
            visit(
                week,
                read("heel_height_difference", high, unit="cm", method="tape"),
                read("heel_height_difference", -high, unit="cm", method="tape", side=LEFT),
            )
            for week, high in ((0, 3.0), (6, 0.0))
        )
    )
    right, left = (series.steps[0] for series in course.measures)
    assert right.verdict is ChangeVerdict.TRUE_CHANGE_BETTER
    assert (left.verdict, left.reasons[:2]) == (
        ChangeVerdict.CANNOT_JUDGE,
        (ChangeWhy.BEYOND_ERROR, ChangeWhy.DIRECTION_UNKNOWN),
    )
