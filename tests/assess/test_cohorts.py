"""Pass marks that look at the cohort, in many cohorts at once and in one."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from fabella.assess import Bounds, cohen, hofstee, resample
from fabella.assess.compromise import cohen_cuts, hofstee_cuts

SCORES = arrays(np.float64, 25, elements=st.integers(30, 90).map(float))


@given(SCORES, st.integers(0, 50))
def test_many_cohorts_at_once_are_each_by_itself(score: np.ndarray, seed: int) -> None:
    """The cuts of resampled cohorts are those of the cohorts written out, by either method."""
    counts = resample(25, seed=str(seed), times=5)
    values, place = np.unique(score, return_inverse=True)
    number = np.stack([np.bincount(place, row, len(values)) for row in counts]).astype(np.float64)
    bounds = [Bounds(lowest_cut=45, highest_cut=70, least_fails=0.05, most_fails=0.35)]
    by_hofstee = hofstee_cuts(values, number, bounds)[0]
    by_cohen = cohen_cuts(values, number, guessing=2, share=0.6, percentile=95)
    for k, row in enumerate(counts):
        cohort = np.repeat(score, row.astype(int))
        assert by_hofstee[k] == pytest.approx(hofstee(cohort, bounds).cut, abs=1e-9)
        best = float(np.percentile(cohort, 95))
        assert by_cohen[k] == pytest.approx(2 + 0.6 * (best - 2), abs=1e-9)
        assert by_cohen[k] == pytest.approx(cohen(cohort, guessing=2).cut, abs=1e-9)


def test_a_cohort_of_nobody_has_no_pass_mark() -> None:
    """A resample that draws only candidates without a score gives no cut, and not the highest allowed."""
    values, number = np.array([40.0, 50.0, 60.0]), np.array([[0.0, 0, 0], [1, 2, 1]])
    bounds = [Bounds(lowest_cut=45, highest_cut=70, least_fails=0.05, most_fails=0.35)]
    for cuts in (
        hofstee_cuts(values, number, bounds)[0],
        cohen_cuts(values, number, guessing=2, share=0.6, percentile=95),
    ):
        assert np.isnan(cuts).tolist() == [True, False]


@given(SCORES)
def test_hofstee_is_the_crossing_on_a_fine_grid(score: np.ndarray) -> None:
    """Walking up in steps of 0.001, the first cut at which the failures reach the line is the one found."""
    bounds = Bounds(lowest_cut=45, highest_cut=70, least_fails=0.05, most_fails=0.35)
    grid = np.arange(45, 70.0005, 0.001)
    fails = np.searchsorted(np.sort(score), grid, side="left") / 25
    reached = fails >= 0.35 - 0.30 * (grid - 45) / 25
    found = hofstee(score, [bounds])
    if reached.any() and fails[0] <= 0.35:
        assert found.cut == pytest.approx(grid[np.argmax(reached)], abs=0.0021)
