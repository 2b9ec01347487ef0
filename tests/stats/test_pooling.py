from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.special import expit
from scipy.stats import multivariate_normal, multivariate_t

from fabella.errors import InputError
from fabella.stats import TwoByTwo, pool
from fabella.stats.pooling import _warnings

CELLS = st.integers(0, 60)
STUDIES = st.lists(
    st.builds(TwoByTwo, tp=CELLS, fp=CELLS, fn=st.integers(1, 60), tn=st.integers(1, 60)),
    min_size=1,
    max_size=7,
)
TRUE_MEAN = np.array([1.4, 1.8])
TRUE_SPREAD = np.array([[0.25, -0.12], [-0.12, 0.36]])  # SD 0.5 and 0.6, correlation -0.4


def simulated(n_studies: int, rng: np.random.Generator, size: int = 1) -> list[TwoByTwo]:
    """Return studies drawn from the model with binomial counts: 60 to 300 people a column, times the size."""
    truth = expit(rng.multivariate_normal(TRUE_MEAN, TRUE_SPREAD, n_studies))
    people = rng.integers(60, 300, (n_studies, 2)) * size
    right = rng.binomial(people, truth)
    return [
        TwoByTwo(tp=int(tp), fn=int(ill - tp), tn=int(tn), fp=int(well - tn))
        for (tp, tn), (ill, well) in zip(right, people, strict=True)
    ]


@settings(max_examples=25)
@given(STUDIES, st.randoms(use_true_random=False), st.sampled_from(["REML", "ML"]))
def test_the_order_of_the_studies_does_not_matter(studies: list[TwoByTwo], dice: Random, method: str) -> None:
    """Any order of the same studies gives the same result, digit for digit."""
    shuffled = list(studies)
    dice.shuffle(shuffled)
    assert pool(shuffled, method=method) == pool(studies, method=method)  # type: ignore[arg-type]


@settings(max_examples=25)
@given(STUDIES)
def test_sensitivity_and_specificity_may_change_places(studies: list[TwoByTwo]) -> None:
    """Calling the healthy diseased and a negative result positive swaps the two summaries, no more."""
    turned = [TwoByTwo(tp=s.tn, tn=s.tp, fn=s.fp, fp=s.fn) for s in studies if s.tp or s.fp]
    kept = [s for s in studies if s.tp or s.fp]
    if kept:
        one, other = pool(kept), pool(turned)
        assert one.log_likelihood == pytest.approx(other.log_likelihood, abs=1e-6)
        assert one.mean_logit == pytest.approx(other.mean_logit[::-1], abs=1e-3)


@settings(max_examples=25)
@given(STUDIES)
def test_every_fit_is_usable(studies: list[TwoByTwo]) -> None:
    """However odd the studies, the fit converges and its summary and covariance are proper."""
    found = pool(studies)
    assert found.converged
    for interval in (found.sensitivity, found.specificity):
        assert 0 < interval.low < interval.estimate < interval.high < 1
    assert np.linalg.eigvalsh(found.between_covariance).min() > -1e-9


def test_the_truth_behind_simulated_studies_is_recovered() -> None:
    """Over 200 simulated reviews of 15 studies, the 95 % intervals hold the truth in 92 to 98 % of them.

    The mean between-study variances come back within 15 %.
    """
    rng = np.random.default_rng(58)
    fits = [pool(simulated(15, rng)) for _ in range(200)]
    sensitivity, specificity = expit(TRUE_MEAN)
    for share in (
        np.mean([fit.sensitivity.low < sensitivity < fit.sensitivity.high for fit in fits]),
        np.mean([fit.specificity.low < specificity < fit.specificity.high for fit in fits]),
    ):
        assert 0.92 <= share <= 0.98
    between = np.mean([fit.between_covariance for fit in fits], axis=0)
    assert between.diagonal() == pytest.approx(TRUE_SPREAD.diagonal(), rel=0.15)
    assert all(fit.converged for fit in fits)


def test_very_large_studies_leave_only_their_sample_covariance() -> None:
    """With no error within studies, REML gives the logits' textbook covariance, ML the one over n."""
    logits = np.random.default_rng(4).multivariate_normal(TRUE_MEAN, TRUE_SPREAD, 7)
    right = np.rint(expit(logits) * 10**9).astype(int)
    studies = [TwoByTwo(tp=int(a), fn=10**9 - int(a), tn=int(b), fp=10**9 - int(b)) for a, b in right]
    restricted, full = pool(studies), pool(studies, method="ML")
    assert restricted.mean_logit == pytest.approx(logits.mean(axis=0), abs=1e-6)
    assert np.array(restricted.between_covariance) == pytest.approx(np.cov(logits.T), abs=1e-6)
    assert np.array(full.between_covariance) == pytest.approx(np.cov(logits.T, bias=True), abs=1e-6)


def test_a_new_place_falls_into_the_prediction_region_as_often_as_claimed() -> None:
    """Over 150 simulated reviews of 6 very large studies, the 90 % region holds a new place in 85 to 95 %.

    There the region is exact (Hotelling 1931). With small studies it holds less than it claims: the figures
    stand in the documentation of `Pooled.confidence_region`.
    """
    rng = np.random.default_rng(8)
    hits = []
    for _ in range(150):
        fit = pool(simulated(6, rng, size=10_000))
        new = rng.multivariate_normal(TRUE_MEAN, TRUE_SPREAD)
        hits.append(_inside(fit.prediction_region(level=0.90), np.array([expit(-new[1]), expit(new[0])])))
    assert 0.85 <= np.mean(hits) <= 0.95


@pytest.mark.parametrize("small_sample", [True, False])
def test_the_prediction_region_holds_its_share_of_new_places(small_sample: bool) -> None:
    """Of 20 000 new places, 90 % (within 1) lie in the prediction region; the confidence region is smaller.

    They are drawn by scipy from the bivariate t distribution with n - 2 degrees of freedom, or the normal.
    """
    fit = pool(simulated(10, np.random.default_rng(3)))
    mean, spread = np.array(fit.mean_logit), np.add(fit.mean_covariance, fit.between_covariance)
    places = multivariate_t(mean, 9 / 8 * spread, df=8) if small_sample else multivariate_normal(mean, spread)
    drawn = np.asarray(expit(places.rvs(20_000, random_state=4)))
    border = fit.prediction_region(level=0.90, points=400, small_sample=small_sample)
    inside = [_inside(border, point) for point in np.column_stack([1 - drawn[:, 1], drawn[:, 0]])]
    assert np.mean(inside) == pytest.approx(0.90, abs=0.01)
    narrow = fit.confidence_region(level=0.90, small_sample=small_sample)
    assert all(_inside(border, point) for point in narrow)


def test_identical_studies_vary_by_nothing() -> None:
    """Five identical studies are one of five times the size, and the warnings say that they do not vary."""
    study = TwoByTwo(tp=40, fp=6, fn=10, tn=44)
    found, one = pool([study] * 5), pool([study])
    assert found.sensitivity.estimate == pytest.approx(0.8)
    assert found.mean_covariance[0][0] == pytest.approx(one.mean_covariance[0][0] / 5)
    assert [warning.split(" between")[0] for warning in found.warnings[1:]] == [
        "no variation in sensitivity",
        "no variation in specificity",
    ]
    assert np.isnan(found.correlation)


def test_one_study_is_said_to_be_one() -> None:
    """A single study keeps its own accuracy, has no variation between studies, and is warned about."""
    found = pool([TwoByTwo(tp=40, fp=6, fn=10, tn=44)])
    assert found.sensitivity.estimate == pytest.approx(0.8)
    assert not np.any(found.between_covariance)
    assert found.converged
    assert found.warnings == (
        "1 study only: nothing is known of how accuracy varies between places; taken as not at all",
    )


def test_two_studies_are_said_to_be_few() -> None:
    """Two studies are pooled, with the warning that their variation is hardly known."""
    found = pool([TwoByTwo(tp=40, fp=6, fn=10, tn=44), TwoByTwo(tp=15, fp=9, fn=15, tn=30)])
    assert found.warnings[0].startswith("2 studies only")


@pytest.mark.parametrize("n_studies", [4, 6])
def test_intervals_of_few_studies_hold_what_they_claim(n_studies: int) -> None:
    """Of 150 simulated reviews of 4 or 6 studies, intervals for 95 % hold the truth in 93 to 98 %."""
    rng = np.random.default_rng(22)
    fits = [pool(simulated(n_studies, rng)) for _ in range(150)]
    sensitivity, specificity = expit(TRUE_MEAN)
    held = [
        each.low < truth < each.high
        for fit in fits
        for each, truth in ((fit.sensitivity, sensitivity), (fit.specificity, specificity))
    ]
    assert 0.93 <= np.mean(held) <= 0.98


def test_the_region_of_a_new_clinic_is_said_to_be_too_narrow() -> None:
    """Of fewer than ten studies it holds less than it claims, which is told; of ten no more."""
    rng = np.random.default_rng(22)
    assert all(
        pool(simulated(n, rng)).warnings[0].startswith(f"{n} studies only: the intervals") for n in (3, 9)
    )
    assert pool(simulated(10, rng)).warnings == ()


def test_a_fit_that_failed_is_said_to_have_failed() -> None:
    """A fit that did not converge carries a warning against using it."""
    found = _warnings(16, np.diag([0.3, 0.4]), converged=False)
    assert found == ("the fit did not converge: do not use these numbers",)


def test_half_a_person_is_added_only_where_asked() -> None:
    """0.5 goes to all four cells of a study with an empty one; to every study only when asked."""
    full, empty = TwoByTwo(tp=40, fp=6, fn=10, tn=44), TwoByTwo(tp=19, fp=0, fn=1, tn=20)
    assert pool([full, full, empty]).n_corrected == 1
    assert pool([full, full, empty], correction="all").n_corrected == 3
    alone = pool([empty])
    assert alone.mean_logit == pytest.approx((np.log(19.5 / 1.5), np.log(20.5 / 0.5)))
    assert alone.mean_covariance[1][1] == pytest.approx(1 / 20.5 + 1 / 0.5)


def test_unusable_studies_are_all_named() -> None:
    """No studies, studies without diseased or healthy people and a wrong option are listed together."""
    with pytest.raises(InputError, match="studies: '0'"):
        pool([])
    sick, well = TwoByTwo(tp=4, fp=0, fn=1, tn=0), TwoByTwo(tp=0, fp=2, fn=0, tn=9, study="Made up 2001")
    with pytest.raises(InputError) as refusal:
        pool([sick, well], method="MM", correction="some", level=95)  # type: ignore[arg-type]
    places = [problem.place for problem in refusal.value.problems]
    assert places == ["method", "correction", "level", "study 1: fp + tn", "Made up 2001: tp + fn"]


def _inside(border: NDArray[np.float64], point: NDArray[np.float64]) -> bool:
    """Say whether a point of ROC space lies within a closed border (even-odd rule, on the logit scale)."""
    edge, spot = np.log(border / (1 - border)), np.log(point / (1 - point))
    (x1, y1), (x2, y2) = edge[:-1].T, edge[1:].T
    crosses = (y1 > spot[1]) != (y2 > spot[1])
    with np.errstate(divide="ignore", invalid="ignore"):
        at = x1 + (spot[1] - y1) * (x2 - x1) / (y2 - y1)
    return bool((crosses & (at > spot[0])).sum() % 2)
