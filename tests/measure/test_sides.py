import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.errors import InputError
from fabella.measure import AsymmetryIndex, asymmetry, limb_symmetry_pct, shortfall

# Fictive step lengths in m, table in Int J Phys Med Rehabil 2:201; columns in the order of AsymmetryIndex.
# The ratio of S2 is printed 1.48; 0.59 / 0.40 is 1.475.
SUBJECTS = {
    "S1": (0.39, 0.25, (0.14, 1.56, 35.90, 35.90, 43.75, 21.88, 60.94, -13.71)),
    "S2": (0.59, 0.40, (0.19, 1.48, 32.20, 32.20, 38.38, 19.19, 59.60, -12.07)),
    "S3": (0.47, 0.37, (0.10, 1.27, 21.28, 21.28, 23.81, 11.90, 55.95, -7.54)),
    "S4": (0.25, 0.39, (-0.14, 0.64, -56.00, -35.90, -43.75, -21.88, 39.06, 13.71)),
    "S5": (0.40, 0.59, (-0.19, 0.68, -47.50, -32.20, -38.38, -19.19, 40.40, 12.07)),
    "S6": (0.37, 0.47, (-0.10, 0.79, -27.03, -21.28, -23.81, -11.90, 44.05, 7.54)),
}
POSITIVE = st.floats(0.01, 1000)


@pytest.mark.parametrize("subject", SUBJECTS)
@pytest.mark.parametrize("index", AsymmetryIndex)
def test_asymmetry_indices_reproduce_the_published_table(subject: str, index: AsymmetryIndex) -> None:
    """Every one of the eight indices gives the value printed for each of the six fictive subjects."""
    first, second, printed = SUBJECTS[subject]
    expected = printed[list(AsymmetryIndex).index(index)]
    assert asymmetry(index, first=first, second=second) == pytest.approx(expected, abs=0.0051)


def test_dividing_by_one_side_does_not_average_mirror_images_to_zero() -> None:
    """Six mirror-image people average -6.86 % by the index that divides by one side, and 0 by the others."""

    # Same table.
    def mean(index: AsymmetryIndex) -> float:
        return sum(asymmetry(index, first=a, second=b) for a, b, _ in SUBJECTS.values()) / len(SUBJECTS)

    assert mean(AsymmetryIndex.PCT_OF_FIRST) == pytest.approx(-6.86, abs=0.005)
    assert mean(AsymmetryIndex.PCT_OF_LARGER) == pytest.approx(0, abs=1e-12)
    assert mean(AsymmetryIndex.PCT_OF_MEAN) == pytest.approx(0, abs=1e-12)
    assert mean(AsymmetryIndex.ANGLE_PCT) == pytest.approx(0, abs=1e-12)


@given(POSITIVE, POSITIVE)
def test_symmetric_indices_only_change_sign_when_sides_swap(first: float, second: float) -> None:
    """Difference, share of larger, of mean, of sum and angle are the same number with the other sign."""
    for index in (
        AsymmetryIndex.DIFFERENCE,
        AsymmetryIndex.PCT_OF_LARGER,
        AsymmetryIndex.PCT_OF_MEAN,
        AsymmetryIndex.PCT_OF_SUM,
        AsymmetryIndex.ANGLE_PCT,
    ):
        there = asymmetry(index, first=first, second=second)
        back = asymmetry(index, first=second, second=first)
        assert there == pytest.approx(-back, abs=1e-9)


@pytest.mark.parametrize(("hop_cm", "printed"), [(140, 90.3), (139, 89.7)])
def test_limb_symmetry_index(hop_cm: float, printed: float) -> None:
    """A hop of 140 against 155 cm is 90.3 % and one of 139 cm 89.7 %."""
    # Definition: Gokeler 2017 Knee Surg Sports Traumatol Arthrosc 25:192-199; hops made up.
    assert limb_symmetry_pct(involved=hop_cm, uninvolved=155) == pytest.approx(printed, abs=0.05)


def test_published_side_difference_in_laxity() -> None:
    """An injured knee at 9.5 mm lies 2.7 mm above its fellow at 6.8 mm."""
    # PMC5667602.
    assert -shortfall(this_side=9.5, other_side=6.8) == pytest.approx(2.7, abs=0.05)


def test_every_impossible_reading_is_listed() -> None:
    """A zero and a not-a-number are both named in one message."""
    with pytest.raises(InputError) as caught:
        limb_symmetry_pct(involved=0, uninvolved=math.nan)
    assert [problem.place for problem in caught.value.problems] == ["involved", "uninvolved"]
