import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, binomtest

from fabella.errors import InputError
from fabella.stats import Interval, clopper_pearson, wilson

COUNTS = st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
LEVELS = st.sampled_from([0.80, 0.90, 0.95, 0.99])


@given(COUNTS, LEVELS)
def test_both_intervals_agree_with_an_independent_library(counts: tuple[int, int], level: float) -> None:
    """Wilson and exact limits equal those of scipy.stats.binomtest for any count and level."""
    successes, n = counts
    theirs = binomtest(successes, n)
    pairs = (
        (wilson, theirs.proportion_ci(confidence_level=level, method="wilson")),
        (clopper_pearson, theirs.proportion_ci(confidence_level=level, method="exact")),
    )
    for ours, expected in pairs:
        interval = ours(successes=successes, n=n, level=level)
        assert (interval.low, interval.high) == pytest.approx((expected.low, expected.high), abs=1e-9)
        assert interval.estimate == successes / n


@given(COUNTS)
def test_counting_failures_mirrors_the_interval(counts: tuple[int, int]) -> None:
    """The interval of the failures is the interval of the successes seen in a mirror."""
    successes, n = counts
    for interval in (wilson, clopper_pearson):
        one, other = interval(successes=successes, n=n), interval(successes=n - successes, n=n)
        assert (one.low, one.high) == pytest.approx((1 - other.high, 1 - other.low), abs=1e-9)


@pytest.mark.parametrize("n", [5, 22, 60])
def test_the_exact_interval_never_covers_less_than_it_claims(n: int) -> None:
    """Summed over all outcomes, the exact 95 % interval holds the true share at least 95 % of the time."""
    exact = [clopper_pearson(successes=x, n=n) for x in range(n + 1)]
    assert min(_coverage(exact, share, n) for share in np.linspace(0.01, 0.99, 197)) >= 0.95


@pytest.mark.parametrize("n", [22, 60])
def test_the_score_interval_covers_what_it_claims_on_average(n: int) -> None:
    """Averaged over true shares from 0.05 to 0.95, the Wilson interval's coverage is within 1 % of 95 %."""
    score = [wilson(successes=x, n=n) for x in range(n + 1)]
    assert np.mean([_coverage(score, share, n) for share in np.linspace(0.05, 0.95, 181)]) == pytest.approx(
        0.95, abs=0.01
    )


def test_impossible_counts_are_refused_with_every_fault_named() -> None:
    """A count above n, an n of zero and a level given in per cent are all listed in one message."""
    with pytest.raises(InputError) as refusal:
        wilson(successes=12, n=0, level=95)
    assert [problem.place for problem in refusal.value.problems] == ["n", "successes", "level"]
    with pytest.raises(InputError, match="successes: '12'"):
        clopper_pearson(successes=12, n=11)


def _coverage(intervals: list[Interval], share: float, n: int) -> float:
    weight = binom.pmf(np.arange(n + 1), n, share)
    return float(sum(w for w, i in zip(weight, intervals, strict=True) if i.low <= share <= i.high))
