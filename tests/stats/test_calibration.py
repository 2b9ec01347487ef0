import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest
from sklearn.calibration import calibration_curve  # type: ignore[import-untyped]
from sklearn.metrics import brier_score_loss  # type: ignore[import-untyped]

from fabella.errors import InputError
from fabella.stats import EDGES, brier_parts, calibration

STATEMENTS = st.lists(st.tuples(st.integers(0, 100), st.booleans()), min_size=1, max_size=60)


def split(statements: list[tuple[int, bool]]) -> tuple[list[float], list[bool]]:
    """Per cent and outcome as two lists; none lies right on an edge, where libraries differ."""
    said = [min(percent / 100 + 0.004, 1.0) for percent, _ in statements]
    return said, [true for _, true in statements]


@given(STATEMENTS)
def test_the_curve_is_that_of_an_independent_library(statements: list[tuple[int, bool]]) -> None:
    """Means and shares of the bins equal those of scikit-learn, the intervals those of scipy's exact test."""
    said, true = split(statements)
    bins = calibration(said, true)
    shares, means = calibration_curve(true, said, n_bins=len(EDGES) - 1)
    assert [each.came_true.estimate for each in bins] == pytest.approx(list(shares))
    assert [each.said for each in bins] == pytest.approx(list(means))
    assert sum(each.n for each in bins) == len(said)
    for each in bins:
        exact = binomtest(round(each.came_true.estimate * each.n), each.n).proportion_ci(method="exact")
        assert (each.came_true.low, each.came_true.high) == pytest.approx((exact.low, exact.high), abs=1e-9)


@given(STATEMENTS)
def test_the_parts_of_the_brier_score_are_differences_of_brier_scores(
    statements: list[tuple[int, bool]],
) -> None:
    """Reliability is what recalibration would gain, resolution what it gains over the base rate alone.

    So they are derived by Siegert 2017 Q J R Meteorol Soc 143:1178-1183; every score by scikit-learn.
    """
    said, true = split(statements)
    place = np.minimum(np.digitize(said, EDGES), len(EDGES) - 1)
    y = np.array(true, dtype=float)

    def of_bins(values: list[float]) -> list[float]:
        return [float(np.mean(np.array(values)[place == own])) for own in place]

    def brier(forecast: list[float]) -> float:
        return float(brier_score_loss(y, forecast, pos_label=1))

    recalibrated, base = of_bins(list(y)), [float(y.mean())] * len(y)
    parts = brier_parts(said, true)
    assert parts.brier == pytest.approx(brier(said))
    assert parts.uncertainty == pytest.approx(brier(base))
    assert parts.reliability == pytest.approx(brier(of_bins(said)) - brier(recalibrated), abs=1e-12)
    assert parts.resolution == pytest.approx(brier(base) - brier(recalibrated), abs=1e-12)
    total = parts.reliability - parts.resolution + parts.uncertainty + parts.within
    assert parts.brier == pytest.approx(total)


def test_somebody_sure_and_right_has_neither_error_nor_rest() -> None:
    """Certain and right statements have no error; all of the uncertainty is resolved."""
    parts = brier_parts([1.0, 1.0, 0.0, 0.0], [True, True, False, False])
    assert (parts.brier, parts.reliability, parts.within) == (0, 0, 0)
    assert parts.resolution == parts.uncertainty == 0.25


def test_edges_belong_to_the_bin_above() -> None:
    """A belief on an edge counts with what lies above it, and certainty with the last bin."""
    assert [each.low for each in calibration([0.2, 1.0], [True, True])] == [0.2, 0.8]
    assert calibration([], []) == ()


@pytest.mark.parametrize(
    ("said", "true", "place"), [([1.2], [True], "said"), ([0.5], [], "true"), ([], [], "said")]
)
def test_what_is_no_set_of_statements_is_refused(said: list[float], true: list[bool], place: str) -> None:
    """Probabilities beyond 0 to 1, another number of outcomes, or none at all are refused by name."""
    with pytest.raises(InputError, match=place):
        brier_parts(said, true)
