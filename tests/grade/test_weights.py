import math
from itertools import pairwise
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.grade import Graded
from fabella.grade.thresholds import Start, load_thresholds
from fabella.grade.weights import level_weights, worst_of
from fabella.protocol import load_protocol
from fabella.record import Finding, State
from tests.grade.notation import LEFT, RIGHT, found, graded, pair

STARTS = (Start(at=3, strict=False), Start(at=6, strict=False), Start(at=10, strict=True))
COMPARED = [
    ("lachman", "mm", 0, 30),
    ("passive_flexion", "deg", 0, 170),
    ("passive_extension", "deg", -90, 30),
    ("thigh_girth", "cm", 15, 100),
    ("calf_girth", "cm", 15, 70),
    ("dial_30", "deg", 0, 90),
    ("hip_internal_rotation", "deg", -10, 90),
]


def at_least(weights: tuple[float, ...]) -> list[float]:
    """The probability of each level or a worse one."""
    return [math.fsum(weights[level:]) for level in range(len(weights))]


@pytest.mark.parametrize(
    ("difference_mm", "expected"), [(0, (0.856, 0.127, 0.017, 0.0)), (6, (0.145, 0.355, 0.421, 0.079))]
)
def test_weights_are_areas_under_the_normal_curve(difference_mm: float, expected: tuple[float, ...]) -> None:
    """With an error of 2.83 mm, each level gets the area of the bell between its bounds."""
    # Computed with statistics.NormalDist, an implementation of its own, and written out.
    bell = NormalDist(difference_mm, 2.83)
    bounds = [0.0, *(bell.cdf(bound) for bound in (3, 6, 10)), 1.0]
    areas = [high - low for low, high in pairwise(bounds)]
    weights = level_weights(difference_mm, STARTS, sd=2.83)
    assert weights == pytest.approx(areas, abs=1e-9)
    assert weights == pytest.approx(expected, abs=0.002)


def test_without_error_a_reading_is_certain() -> None:
    """An error of nothing gives one level, and 10 itself is not yet beyond 10."""
    assert level_weights(10, STARTS, sd=0) == (0, 0, 1, 0)
    assert level_weights(10.1, STARTS, sd=0) == (0, 0, 0, 1)


def test_the_worst_reading_counts_at_every_level() -> None:
    """Of two readings, each level is as likely reached as the worse of them says."""
    # By hand: reached (1, .5, .1) and (1, .3, .2) give (1, .5, .2).
    assert worst_of([(0.5, 0.4, 0.1), (0.7, 0.1, 0.2)]) == pytest.approx((0.5, 0.3, 0.2))


@given(st.floats(-60, 60), st.floats(-60, 60), st.floats(0, 20))
def test_weights_add_up_and_move_with_the_reading(first: float, second: float, sd: float) -> None:
    """A worse reading never makes any level less likely to be reached."""
    better, worse = (level_weights(value, STARTS, sd=sd) for value in sorted((first, second)))
    assert sum(better) == pytest.approx(1)
    for low, high in zip(at_least(better), at_least(worse), strict=True):
        assert high >= low - 1e-12


@pytest.mark.parametrize("name", [row[0] for row in COMPARED])
@given(data=st.data())
def test_graded_weights_move_monotonically(name: str, data: st.DataObject) -> None:
    """The same holds for whole gradings, with and without a value on the other side."""
    unit, low, high = next(row[1:] for row in COMPARED if row[0] == name)
    values = st.floats(low, high)
    first, second = data.draw(values), data.draw(values)
    other = data.draw(st.none() | values)
    beside = () if other is None else (found(name, LEFT, other, unit=unit),)
    mild, bad = (
        graded(found(name, RIGHT, value, unit=unit), *beside)[name, RIGHT] for value in (first, second)
    )
    if load_thresholds().readings[name].worse.badness(first) > load_thresholds().readings[name].worse.badness(
        second
    ):
        mild, bad = bad, mild
    for one in (mild, bad):
        assert sum(one.level_weights) == pytest.approx(1)
    for less, more in zip(at_least(mild.level_weights), at_least(bad.level_weights), strict=True):
        assert more >= less - 1e-9


@st.composite
def sightings(draw: st.DrawFn) -> Finding:
    """One finding on one side: a state, a level, a value, or a level with a value."""
    name, unit, low, high = draw(
        st.sampled_from([*COMPARED, ("effusion", "", 0, 0), ("tibiofemoral_angle", "deg", -40, 40)])
    )
    side = draw(st.sampled_from([RIGHT, LEFT]))
    levels = load_protocol().sign(name).scale.levels
    choices = [st.sampled_from(list(State))]
    level = draw(st.none() | st.sampled_from([each.id for each in levels])) if levels else None
    if level is not None:
        return found(name, side, level)
    if high > low and draw(st.booleans()):
        return found(name, side, draw(st.floats(low, high)), unit=unit)
    return found(name, side, draw(choices[0]))


@given(st.lists(sightings(), max_size=10, unique_by=lambda finding: (finding.sign, finding.side)))
def test_grading_does_not_know_right_from_left(findings: list[Finding]) -> None:
    """Swapping the sides of every finding swaps the sides of every grading and changes nothing else."""

    def swapped(finding: Finding) -> Finding:
        side = LEFT if finding.side is RIGHT else RIGHT
        return Finding(
            sign=finding.sign,
            side=side,
            state=finding.state,
            level=finding.level,
            value=finding.value,
            unit=finding.unit,
        )

    def told(one: Graded) -> tuple[object, ...]:
        return (
            one.level_weights,
            one.verdict,
            one.reasons,
            one.difference,
            one.error,
            one.norm,
            one.band,
            one.stands_for,
        )

    here = graded(*findings)
    there = graded(*map(swapped, findings))
    assert len(here) == len(findings)
    for (sign, side), one in here.items():
        assert told(one) == told(there[sign, LEFT if side is RIGHT else RIGHT])


def test_an_abnormal_finding_without_a_grade_is_spread_over_the_grades() -> None:
    """A positive Lachman of unknown grade is as likely 1+, 2+ or 3+, and never 0."""
    right, _ = pair("lachman", State.ABNORMAL, "0")
    assert right.level_weights == pytest.approx((0, 1 / 3, 1 / 3, 1 / 3))


def test_a_reported_grade_is_taken_at_its_word() -> None:
    """A level that was reported has all the weight."""
    right, left = pair("lachman", "2+", "0")
    assert list(right.level_weights) == [0, 0, 1, 0]
    assert list(left.level_weights) == [1, 0, 0, 0]


def test_millimetres_of_an_abnormal_side_leave_no_weight_on_normal() -> None:
    """When the examiner calls 4 mm abnormal, the millimetres only share the rest among the grades."""
    abnormal = Finding(sign="lachman", side=RIGHT, state=State.ABNORMAL, value=4, unit="mm")
    one = graded(abnormal, found("lachman", LEFT, 1, unit="mm"))["lachman", RIGHT]
    assert one.level_weights[0] == 0
    assert sum(one.level_weights) == pytest.approx(1)
    assert one.level_weights[1] > one.level_weights[2] > one.level_weights[3]


def test_one_side_alone_is_less_certain_than_both() -> None:
    """Seven millimetres are second degree more surely beside a measured other side than alone."""
    beside_zero = pair("lachman", 7, 0, unit="mm")[0].level_weights
    alone = graded(found("lachman", RIGHT, 7, unit="mm"))["lachman", RIGHT].level_weights
    assert beside_zero[2] > alone[2]
    assert beside_zero[0] < alone[0]


def test_a_knee_measured_and_lacking_any_rule_says_nothing() -> None:
    """Cadence has no published norm in the edition, so every level stays as likely as before."""
    one = graded(found("cadence", None, 90, unit="steps/min"))["cadence", None]
    assert set(one.level_weights) == {0.5}
