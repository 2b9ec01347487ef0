import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from fabella.errors import InputError
from fabella.stats import (
    LimitsOfAgreement,
    difference_sem,
    limits_of_agreement,
    mdc,
    sem_from_icc,
    sem_from_mdc,
)

POSITIVE = st.floats(0.01, 100)


@given(POSITIVE, st.sampled_from([0.90, 0.95]))
def test_sem_and_mdc_undo_each_other(sem: float, level: float) -> None:
    """The SEM behind a detectable change gives that change back, at the same level."""
    assert sem_from_mdc(mdc=mdc(sem=sem, level=level), level=level) == pytest.approx(sem)


@given(st.floats(-50, 50), POSITIVE)
def test_half_the_width_of_the_limits_is_the_mdc95(bias: float, half: float) -> None:
    """Whatever the bias, MDC95 equals half the width of the 95 % limits of agreement."""
    limits = LimitsOfAgreement(low=bias - half, high=bias + half)
    assert mdc(sem=limits.sem, level=0.95) == pytest.approx(half, rel=1e-6)
    assert limits.bias == pytest.approx(bias, abs=1e-9)


def test_noise_alone_passes_the_mdc95_once_in_twenty() -> None:
    """Of 20 000 simulated pairs measured with error only, 5 % (within 0.5) differ by more than MDC95."""
    rng = np.random.default_rng(1986)
    difference = rng.normal(0, 3.0, 20_000) - rng.normal(0, 3.0, 20_000)
    assert np.mean(np.abs(difference) > mdc(sem=3.0, level=0.95)) == pytest.approx(0.05, abs=0.005)


@pytest.mark.parametrize(("sem_mm", "sdc_mm"), [(0.57, 1.59), (0.88, 2.44), (0.95, 2.62), (0.24, 0.67)])
def test_the_error_of_a_difference_leads_to_the_published_smallest_detectable_change(
    sem_mm: float, sdc_mm: float
) -> None:
    """1.96 times the error of a difference is the smallest detectable change printed beside each SEM."""
    # Transl Sports Med 2023:5583949, table 3; tolerance 0.02 because the SEM is rounded.
    assert 1.96 * difference_sem(sem=sem_mm, other_sem=sem_mm) == pytest.approx(sdc_mm, abs=0.02)


def test_errors_of_two_methods_add_as_variances() -> None:
    """A 3 and a 4 degree error make 5 degrees, and an exact other side adds nothing."""
    # Pythagoras.
    assert difference_sem(sem=3, other_sem=4) == pytest.approx(5)
    assert difference_sem(sem=2.5, other_sem=0) == pytest.approx(2.5)


def test_sem_runs_from_nothing_to_all_of_the_sd() -> None:
    """Perfect reliability leaves no error; none leaves the whole standard deviation."""
    assert sem_from_icc(sd=7.0, icc=1) == 0
    assert sem_from_icc(sd=7.0, icc=0) == 7.0


def test_limits_hold_their_share_of_normal_differences() -> None:
    """95 % limits of 20 000 simulated differences stand where the normal distribution says."""
    rng = np.random.default_rng(7)
    first = rng.normal(100, 10, 20_000)
    limits = limits_of_agreement(list(first), list(first - rng.normal(2, 4, 20_000)))
    assert (limits.low, limits.high) == pytest.approx(tuple(norm.interval(0.95, 2, 4)), abs=0.15)


def test_values_out_of_range_are_refused_with_every_fault_named() -> None:
    """Each function lists all that is wrong with its input."""
    with pytest.raises(InputError) as refusal:
        sem_from_icc(sd=-1, icc=1.2)
    with pytest.raises(InputError, match="other_sem"):
        difference_sem(sem=1, other_sem=-1)
    assert [problem.place for problem in refusal.value.problems] == ["sd", "icc"]
    with pytest.raises(InputError) as refusal:
        mdc(sem=-1, level=95)
    assert [problem.place for problem in refusal.value.problems] == ["sem", "level"]
    with pytest.raises(InputError, match=r"low: '6\.7' is out of range; use a limit below 2\.0"):
        LimitsOfAgreement(low=6.7, high=2.0)
    with pytest.raises(InputError, match="second: '1 values' is out of range; use 2"):
        limits_of_agreement([1, 2], [1])
    with pytest.raises(InputError, match="first - second"):
        limits_of_agreement([1, 2], [3, 4])
