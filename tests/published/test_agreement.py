"""Kappa and the intraclass correlations against published tables."""

from typing import get_args

import pytest

from fabella.stats import icc, kappa, mean_squares
from fabella.stats.agreement import Form

# Shrout and Fleiss 1979 Psychol Bull 86:420-428, doi 10.1037/0033-2909.86.2.420: 6 targets, 4 judges.
RATINGS = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]
SHROUT_FLEISS: dict[Form, tuple[float, float, float, float]] = {
    # as printed (from memory); then estimate, low, high by R psych 2.2.9 ICC(lmer=FALSE)
    "1,1": (0.17, 0.165742, -0.1329323, 0.72256),
    "2,1": (0.29, 0.289764, 0.0187865, 0.761084),
    "3,1": (0.71, 0.714841, 0.3424648, 0.945858),
    "1,k": (0.44, 0.442797, -0.8844422, 0.912415),
    "2,k": (0.62, 0.620051, 0.0711368, 0.927232),
    "3,k": (0.91, 0.909316, 0.6756747, 0.985892),
}

# Cohen 1968 Psychol Bull 70:213-220: proportions of 200 patients, here as counts.
COHEN_1968 = [[88, 14, 18], [10, 40, 10], [2, 6, 12]]
COHEN_DISAGREEMENT = [[0, 1, 3], [1, 0, 6], [3, 6, 0]]

# Agresti 1990 Categorical Data Analysis (R package vcd, data set SexualFun): 91 couples.
AGRESTI_1990 = [[7, 7, 2, 3], [2, 8, 3, 7], [1, 5, 4, 9], [2, 8, 9, 14]]


def test_shrout_fleiss_mean_squares() -> None:
    """The analysis of variance behind the six coefficients is that of R's aov on the published ratings."""
    found = mean_squares(RATINGS)
    assert (found.targets, found.judges, found.residual, found.within) == pytest.approx(
        (11.2417, 32.4861, 1.0194, 6.2639), abs=0.00005001
    )
    assert (found.n, found.k) == (6, 4)


@pytest.mark.parametrize("form", get_args(Form))
def test_shrout_fleiss_1979(form: Form) -> None:
    """All six coefficients equal the printed ones to two decimals, and with their limits those of R psych."""
    printed, *computed = SHROUT_FLEISS[form]
    found = icc(RATINGS, form=form)
    assert round(found.estimate, 2) == printed
    assert (found.estimate, found.low, found.high) == pytest.approx(tuple(computed), abs=1e-6)


def test_the_mean_of_fixed_judges_is_as_reliable_as_cronbach_says() -> None:
    """ICC(3,k) is Cronbach's alpha: 0.9093155 by R psych alpha() on the published ratings."""
    assert icc(RATINGS, form="3,k").estimate == pytest.approx(0.9093155, abs=1e-7)


def test_cohen_1968() -> None:
    """Kappa 0.492 and kappa weighted by seriousness of disagreement 0.348 are as printed.

    Source: Cohen 1968 Psychol Bull 70:213-220 (printed values from memory); five decimals by R psych.
    """
    plain, weighted = kappa(COHEN_1968), kappa(COHEN_1968, weights=COHEN_DISAGREEMENT)
    assert plain.n == 200
    assert plain.kappa.estimate == pytest.approx(0.49153, abs=0.000005001)
    assert weighted.kappa.estimate == pytest.approx(0.34783, abs=0.000005001)
    assert plain.kappa.estimate == pytest.approx(0.492, abs=0.0005)
    assert weighted.kappa.estimate == pytest.approx(0.348, abs=0.0005)


def test_agresti_1990() -> None:
    """Kappa and its standard error, plain and weighted, equal R vcd and statsmodels on a published table."""
    plain, linear, quadratic = (
        kappa(AGRESTI_1990),
        kappa(AGRESTI_1990, weights="linear"),
        kappa(AGRESTI_1990, weights="quadratic"),
    )
    assert (plain.kappa.estimate, plain.se) == pytest.approx((0.1293303, 0.0685985), abs=1e-7)
    assert (linear.kappa.estimate, linear.se) == pytest.approx((0.2373806, 0.0783163), abs=1e-7)
    assert (quadratic.kappa.estimate, quadratic.se) == pytest.approx((0.3320456, 0.0972975), abs=1e-7)
