"""Reliability against R (psych, factanal, betafunctions), published tables and simulated truth."""

from typing import cast, get_args

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from fabella.assess import (
    OmegaFlag,
    alpha,
    livingston_lewis,
    normal_classification,
    omega,
    weigh_subscore,
)
from fabella.assess.classification import ClassificationModel
from fabella.stats import icc
from fabella.stats.agreement import Form
from tests.assess.worked_tables import table
from tests.reference import run_r

ATTITUDE = np.array(table("alpha_attitude_30x7.csv"), dtype=np.float64)
ESSAYS = np.array(table("icc_essays_ptam4_crit2_wide_40x10.csv"))[:, 1:]
COUNTED = np.array(table("livingston_lewis_betafunctions_seed1234.csv"), dtype=np.float64)
BETAFUNCTIONS = np.repeat(COUNTED[:, 0], COUNTED[:, 1].astype(int))
CONSTRUCTED = np.array(table("livingston_lewis_constructed_120.csv"), dtype=np.float64)[:, 1]

# R psych 2.2.9 alpha(attitude): alpha without the variable, its correlation with the sum of the others.
WITHOUT = (0.80976, 0.796917, 0.827848, 0.803031, 0.795387, 0.863872, 0.840465)
CORRECTED = (0.671262, 0.74211, 0.560711, 0.714445, 0.786276, 0.265034, 0.460811)


def test_alpha_of_attitude_as_recorded() -> None:
    """Alpha and what follows from it equal R psych, the SEM R psychometric, the interval Feldt's."""
    found = alpha(ATTITUDE)
    assert found.alpha.estimate == pytest.approx(0.84314277, abs=5e-9)
    assert found.standardised == pytest.approx(0.8390838, abs=5e-8)
    assert found.if_deleted == pytest.approx(WITHOUT, abs=5e-7)
    assert found.corrected_r == pytest.approx(CORRECTED, abs=5e-7)
    assert found.sem * 7 == pytest.approx(22.87142, abs=5e-6)
    assert (round(found.alpha.low, 4), round(found.alpha.high, 4)) == (0.7394, 0.9158)  # Feldt
    assert found.raises == (5,)


@pytest.mark.parametrize("seed", [4, 5])
def test_alpha_agrees_with_psych_on_random_tables(seed: int) -> None:
    """On random tables alpha, its Feldt interval and what follows from it equal R psych alpha()."""
    dice = np.random.default_rng(seed)
    x = np.round(dice.normal(size=(25, 1)) + dice.normal(scale=1.2, size=(25, 6)), 3)
    code = f"""
    x <- matrix(c({",".join(map(str, x.T.ravel()))}), nrow = 25); colnames(x) <- letters[1:6]
    a <- alpha(x, check.keys = FALSE, warnings = FALSE)
    cat(format(c(a$total$raw_alpha, a$total$std.alpha, a$alpha.drop$raw_alpha, a$item.stats$r.drop,
        a$feldt$lower.ci, a$feldt$upper.ci), digits = 12), sep = "\\n")
    """
    printed = list(map(float, run_r(code, "psych").split()))
    found = alpha(x)
    assert (found.alpha.estimate, found.standardised) == pytest.approx(tuple(printed[:2]), abs=1e-9)
    assert found.if_deleted == pytest.approx(printed[2:8], abs=1e-9)
    assert found.corrected_r == pytest.approx(printed[8:14], abs=1e-9)
    assert (found.alpha.low, found.alpha.high) == pytest.approx(tuple(printed[14:]), abs=1e-9)


@given(arrays(np.float64, (12, 4), elements=st.integers(0, 20).map(float)))
def test_alpha_is_the_reliability_of_fixed_judges(x: np.ndarray) -> None:
    """On any complete table alpha and its interval are ICC(3,k) and its interval."""
    if x.mean(axis=1).std() > 0.1:
        found, same = alpha(x).alpha, icc(x, form="3,k")
        assert found.estimate == pytest.approx(same.estimate, abs=1e-7)
        assert (found.low, found.high) == pytest.approx((same.low, same.high), rel=1e-6, abs=1e-6)


def test_no_differences_give_no_alpha() -> None:
    """Scores that differ by rounding alone, and stations that cancel each other, have no reliability."""
    alike = np.full((7, 3), 200 / 3)
    for x in (alike, alike + 1e-13 * np.arange(21).reshape(7, 3) % 2):
        assert np.isnan(alpha(x).alpha.estimate)
        assert alpha(x).sd == 0
    half = np.random.default_rng(1).uniform(0, 100, size=20)
    assert np.isnan(alpha(np.stack([half, 100 - half], axis=1)).alpha.estimate)


def test_alpha_says_who_was_left_out() -> None:
    """A candidate with a gap is left out and counted; a station nobody has is no station; one is no table."""
    x = ATTITUDE.copy()
    x[3, 2] = np.nan
    found = alpha(np.column_stack([x, np.full(30, np.nan)]))
    assert (found.n, found.n_left_out, found.stations) == (29, 1, tuple(range(7)))
    assert found.alpha.estimate == alpha(np.delete(ATTITUDE, 3, axis=0)).alpha.estimate
    assert np.isnan(alpha(ATTITUDE[:, :1]).alpha.estimate)


def test_omega_of_attitude_as_recorded() -> None:
    """Omega of one factor is 0.8405447 by R factanal; 30 people are few for 7 variables, and flagged."""
    found = omega(ATTITUDE)
    assert found.omega == pytest.approx(0.8405447, abs=5e-7)
    assert found.flags == (OmegaFlag.FEW_CANDIDATES,)


@pytest.mark.parametrize("seed", [6, 7])
def test_omega_agrees_with_factanal_on_random_tables(seed: int) -> None:
    """Uniquenesses and omega equal R factanal(factors = 1) on random tables."""
    dice = np.random.default_rng(seed)
    loads = np.array([0.9, 0.7, 0.5, 0.8, 0.4, 0.6])
    x = np.round(dice.normal(size=(90, 1)) * loads + dice.normal(scale=0.8, size=(90, 6)), 3)
    code = f"""
    x <- matrix(c({",".join(map(str, x.T.ravel()))}), nrow = 90)
    f <- factanal(x, 1, control = list(opt = list(factr = 10)))
    cat(format(f$uniquenesses, digits = 10), sep = "\\n")
    """
    unique = np.array(list(map(float, run_r(code).split())))
    found = omega(x)
    assert found.uniquenesses == pytest.approx(unique, abs=1e-4)
    common = np.sqrt(1 - unique).sum() ** 2
    assert found.omega == pytest.approx(common / (common + unique.sum()), abs=1e-4)


def test_a_heywood_case_gives_no_omega() -> None:
    """Correlations 0.9, 0.6 and 0.25 ask for a loading above 1 (0.9 x 0.6 / 0.25): no omega, and a flag."""
    noise = np.random.default_rng(8).normal(size=(60, 3))
    noise -= noise.mean(axis=0)
    white = noise @ np.linalg.inv(np.linalg.cholesky(np.cov(noise.T)).T)
    wanted = np.array([[1, 0.9, 0.6], [0.9, 1, 0.25], [0.6, 0.25, 1]])
    found = omega(white @ np.linalg.cholesky(wanted).T)
    assert np.isnan(found.omega)
    assert OmegaFlag.HEYWOOD in found.flags
    assert omega(ATTITUDE[:, :2]).flags == (OmegaFlag.TOO_SMALL,)


def test_stations_that_say_the_same_give_no_omega() -> None:
    """Two stations scored alike, or one that is the mean of two others, leave nothing of its own to one."""
    x = np.random.default_rng(5).normal(size=(40, 4)) + np.random.default_rng(6).normal(size=(40, 1))
    for last in (x[:, 0], x[:, :2].mean(axis=1), 50 - x[:, 1]):
        found = omega(np.column_stack([x, last]))
        assert np.isnan(found.omega)
        assert OmegaFlag.HEYWOOD in found.flags


def test_omega_leaves_out_a_station_that_nobody_took() -> None:
    """A station void for everybody is as if it had not been, as it is for alpha."""
    x = np.random.default_rng(5).normal(size=(80, 4)) + np.random.default_rng(6).normal(size=(80, 1))
    void = np.insert(x, 2, np.nan, axis=1)
    assert omega(void).omega == omega(x).omega
    assert 0 < omega(x).omega < 1


def test_classification_of_the_help_page_example() -> None:
    """Length, beta, accuracy and consistency equal R betafunctions 1.9.0 LL.CA on its own example, cut 50."""
    found = livingston_lewis(BETAFUNCTIONS, reliability=0.70, cut=50)
    assert found.length == pytest.approx(84.42882, abs=5e-6)
    assert found.rounded == 84
    beta = found.true_scores
    assert beta is not None
    assert (beta.low, beta.high) == pytest.approx((0.31989737, 0.69930733), abs=5e-9)
    assert (beta.alpha, beta.beta) == pytest.approx((2.5671131, 1.4825215), abs=5e-8)
    assert found.accuracy == pytest.approx(0.8726399, abs=2e-7)
    assert (found.false_pass, found.false_fail) == pytest.approx((0.0590113, 0.0683488), abs=5e-7)
    assert found.consistency == pytest.approx(0.822142, abs=7e-7)
    assert found.kappa == pytest.approx(0.527887, abs=5e-7)  # independent integration; the package: .5278827


def test_classification_of_the_constructed_example() -> None:
    """Both betas agree with an independent integration where length times cut is not whole, cut 60."""
    four = livingston_lewis(CONSTRUCTED, reliability=0.75, cut=60)
    assert four.length == pytest.approx(113.0472, abs=5e-5)
    assert four.true_scores is not None
    assert (four.true_scores.low, four.true_scores.high) == pytest.approx((0.3157158, 0.86400626), abs=5e-8)
    assert (four.accuracy, four.false_pass, four.false_fail) == pytest.approx(
        (0.8611124, 0.0634346, 0.075453), abs=5e-8
    )
    assert (four.consistency, four.kappa) == pytest.approx((0.8069151, 0.5409128), abs=7e-8)
    two = livingston_lewis(CONSTRUCTED, reliability=0.75, cut=60, parameters=2)
    assert (two.accuracy, two.consistency) == pytest.approx((0.858068, 0.8029382), abs=5e-8)
    assert two.model is ClassificationModel.BETA_2
    assert not two.fell_back


def test_classification_falls_back_and_says_so() -> None:
    """Where no beta of four parameters fits, one of two is used; else the normal model, or none."""
    high = np.round(100 * np.random.default_rng(9).beta(20, 2, size=200))
    found = livingston_lewis(high, reliability=0.4, cut=80)
    assert (found.model, found.fell_back) == (ClassificationModel.BETA_2, True)
    assert livingston_lewis(high, reliability=0.0, cut=50).model is ClassificationModel.NONE
    two_values = np.repeat([0.0, 100.0], 50)
    assert livingston_lewis(two_values, reliability=0.5, cut=50).model is ClassificationModel.NORMAL


def test_both_models_find_the_simulated_truth() -> None:
    """Of 200,000 simulated candidates the shares misclassified are found within a percentage point."""
    dice = np.random.default_rng(10)
    true = dice.normal(65, 8, size=200_000)
    first, second = (true + dice.normal(0, 4.5, size=true.size) for _ in range(2))
    cut, reliability = 58.0, 64 / (64 + 4.5**2)
    false_pass = ((true < cut) & (first >= cut)).mean()
    consistent = ((first >= cut) == (second >= cut)).mean()
    sample = first[:2000]
    for found in (
        livingston_lewis(sample, reliability=reliability, cut=cut),
        normal_classification(mean=65, sd=np.sqrt(64 + 4.5**2), reliability=reliability, cut=cut),
    ):
        assert found.false_pass == pytest.approx(false_pass, abs=0.01)
        assert found.consistency == pytest.approx(consistent, abs=0.01)
        assert found.accuracy == pytest.approx(1 - found.false_pass - found.false_fail)


def test_a_subscore_is_worth_showing_only_if_it_tells_something_of_its_own() -> None:
    """A subscore like the rest tells less of itself than the total does, one of its own more; both are found.

    The truth is known: the true subscore correlates 1, or 0.2, with everything else, and half of the error at
    a station is shared by all that is scored there.
    """
    dice = np.random.default_rng(11)
    n, k = 40_000, 8
    ability, own = dice.normal(size=(n, 1)), dice.normal(size=(n, 1))
    shared = dice.normal(size=(n, k))
    alike, rest = (ability + shared + dice.normal(size=(n, k)) for _ in range(2))
    apart = 0.2 * ability + np.sqrt(0.96) * own + shared + dice.normal(size=(n, k))
    for parts, worth, r in ((alike, False, 1.0), (apart, True, 0.2)):
        whole = parts + rest
        found = weigh_subscore(parts, whole)
        assert found.reliability == pytest.approx(k**2 / (k**2 + 2 * k), abs=0.01)
        truth = (k + r * k) ** 2 * 1.0 / (whole.sum(axis=1).var())
        assert found.from_total == pytest.approx(truth, abs=0.02)
        assert found.worth_showing is worth
    assert not weigh_subscore(alike[:, :1], (alike + rest)[:, :1]).worth_showing


def test_icc_of_essays_as_recorded() -> None:
    """All six forms on the 39 complete rows of ten raters equal R psych ICC(lmer = FALSE)."""
    complete = ESSAYS[~(ESSAYS == "NA").any(axis=1)].astype(np.float64)
    assert len(complete) == 39
    recorded = (0.528905, 0.531005, 0.55577, 0.918215, 0.918845, 0.925985)
    forms = cast("tuple[Form, ...]", get_args(Form))
    found = [icc(complete, form=form).estimate for form in forms]
    assert found == pytest.approx(recorded, abs=5e-7)


def test_icc_agrees_with_psych_on_a_random_table() -> None:
    """Estimates and 95 % limits of all six forms equal R psych ICC(lmer = FALSE) on a random table."""
    dice = np.random.default_rng(12)
    x = np.round(dice.normal(size=(15, 1)) + dice.normal(scale=0.8, size=(15, 4)) + [0, 0.5, 0, -0.4], 3)
    code = f"""
    x <- matrix(c({",".join(map(str, x.T.ravel()))}), nrow = 15)
    r <- ICC(x, lmer = FALSE)$results
    cat(format(unlist(r[, c("ICC", "lower bound", "upper bound")]), digits = 10), sep = "\\n")
    """
    printed = np.array(list(map(float, run_r(code, "psych").split()))).reshape(3, 6)
    forms = cast("tuple[Form, ...]", get_args(Form))
    found = [icc(x, form=form) for form in forms]
    assert [each.estimate for each in found] == pytest.approx(printed[0], abs=1e-7)
    assert [each.low for each in found] == pytest.approx(printed[1], abs=1e-6)
    assert [each.high for each in found] == pytest.approx(printed[2], abs=1e-6)
