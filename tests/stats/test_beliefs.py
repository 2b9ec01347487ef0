import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import expit
from scipy.stats import beta, kstest, norm

from fabella.errors import InputError
from fabella.stats import (
    ASSUMED_N,
    Beta,
    LogitNormal,
    beta_from_count,
    beta_from_interval,
    clopper_pearson,
    logit_normal,
)

LEVELS = st.sampled_from([0.80, 0.90, 0.95, 0.99])


@given(st.floats(-5, 5), st.floats(0.05, 3), LEVELS)
def test_a_logit_normal_is_recovered_from_its_own_interval(mu: float, sigma: float, level: float) -> None:
    """Median and limits of a logit-normal distribution give back its mu and sigma, whatever their level."""
    z = norm.ppf((1 + level) / 2)
    low, middle, high = (float(expit(mu + step * sigma)) for step in (-z, 0, z))
    found = logit_normal(estimate=middle, low=low, high=high, level=level)
    assert (found.mu, found.sigma) == pytest.approx((mu, sigma), rel=1e-4, abs=1e-4)
    assert found.basis == "interval"


@pytest.mark.parametrize(
    ("estimate", "low", "high"),
    [(0.81, 0.73, 0.87), (0.85, 0.73, 0.92), (0.83, 0.77, 0.88)],
)
def test_published_intervals_of_bivariate_pooling_are_reproduced(
    estimate: float, low: float, high: float
) -> None:
    """A published interval made on the logit scale comes back within the rounding of its two digits.

    Source: Sokal 2022 Knee Surg Sports Traumatol Arthrosc 30:3287-3303 (PMID 35150292), Lachman test
    (sensitivity, specificity) and anterior drawer test (sensitivity), bivariate random effects.
    """
    again = logit_normal(estimate=estimate, low=low, high=high).interval()
    assert (again.estimate, again.low, again.high) == pytest.approx((estimate, low, high), abs=0.005)


def test_one_usable_limit_is_enough() -> None:
    """A limit that is missing or printed as 1 leaves the other to give the spread."""
    missing = logit_normal(estimate=0.9, low=0.76)
    rounded = logit_normal(estimate=0.9, low=0.76, high=1.0)
    assert missing == rounded
    assert missing.basis == "one limit"
    assert missing.interval().low == pytest.approx(0.76)


@pytest.mark.parametrize(("successes", "n"), [(18, 22), (22, 22), (0, 9)])
def test_a_point_and_n_become_counts_with_a_half_added(successes: int, n: int) -> None:
    """With a point and n, mu and sigma are the corrected logit and its standard error, also for 0 and 1."""
    found = logit_normal(estimate=successes / n, n=n)
    hits, misses = successes + 0.5, n - successes + 0.5
    assert found.mu == pytest.approx(np.log(hits / misses))
    assert found.sigma**2 == pytest.approx(1 / hits + 1 / misses)
    assert found.basis == "n"


def test_a_bare_point_is_taken_as_a_small_study() -> None:
    """Without interval or n the spread is that of a study of ASSUMED_N people, and the basis says so."""
    bare = logit_normal(estimate=0.8)
    assert bare.basis == "assumed n"
    assert (bare.mu, bare.sigma) == (
        logit_normal(estimate=0.8, n=ASSUMED_N).mu,
        logit_normal(estimate=0.8, n=ASSUMED_N).sigma,
    )


@pytest.mark.parametrize("n", [5, 33, 250])
def test_a_perfect_study_gives_away_its_size_through_its_exact_limit(n: int) -> None:
    """Of an estimate of 1 or 0 with an exact limit, the number of people follows from that limit."""
    exact = clopper_pearson(successes=n, n=n)
    found = logit_normal(estimate=1, low=exact.low, high=1)
    known = logit_normal(estimate=1, n=n)
    assert (found.mu, found.sigma) == pytest.approx((known.mu, known.sigma))
    assert found.basis == "n from limit"
    mirror = logit_normal(estimate=0, low=0, high=1 - exact.low)
    assert (mirror.mu, mirror.sigma) == pytest.approx((-known.mu, known.sigma))


def test_contradictory_figures_are_refused_with_every_fault_named() -> None:
    """Limits on the wrong side of the estimate, an n of 0 and a level in per cent are listed together."""
    with pytest.raises(InputError) as refusal:
        logit_normal(estimate=0.8, low=0.9, high=0.7, n=0, level=95)
    assert [problem.place for problem in refusal.value.problems] == ["low", "high", "n", "level"]
    with pytest.raises(InputError, match="coincide"):
        logit_normal(estimate=0.8, low=0.8, high=0.8)


@given(st.floats(1.2, 80), st.floats(1.2, 80), LEVELS)
def test_a_beta_distribution_is_recovered_from_its_own_interval(a: float, b: float, level: float) -> None:
    """Mean and central interval of a one-humped beta distribution (by scipy) give back its parameters."""
    low, high = beta.interval(level, a, b)
    found = beta_from_interval(estimate=a / (a + b), low=low, high=high, level=level)
    assert (found.a, found.b) == pytest.approx((a, b), rel=1e-3)


@given(st.floats(0.1, 0.9), st.floats(0.01, 0.2))
def test_a_matched_beta_keeps_mean_and_width(estimate: float, width: float) -> None:
    """The matched beta distribution has the published mean and an interval of the published width."""
    low, high = max(0.0, estimate - width / 2), min(1.0, estimate + width / 2)
    again = beta_from_interval(estimate=estimate, low=low, high=high).interval()
    assert again.estimate == pytest.approx(estimate)
    assert again.high - again.low == pytest.approx(high - low, rel=1e-6)


def test_an_interval_too_wide_for_one_hump_is_refused() -> None:
    """No one-humped beta distribution with mean 0.9 reaches from 0.1 to 1; the refusal names the way out."""
    with pytest.raises(InputError, match="logit_normal"):
        beta_from_interval(estimate=0.9, low=0.1, high=1)


def test_counts_add_half_a_success_and_half_a_failure() -> None:
    """Counts become Beta(x + 1/2, n - x + 1/2), which is defined for perfect studies too."""
    assert beta_from_count(successes=11, n=11) == Beta(a=11.5, b=0.5)
    with pytest.raises(InputError, match="successes"):
        beta_from_count(successes=12, n=11)


def test_draws_follow_their_distribution() -> None:
    """Draws are indistinguishable from the stated distribution (Kolmogorov-Smirnov, 4000 draws)."""
    rng = np.random.default_rng(2005)
    drawn = LogitNormal(mu=1.5, sigma=0.4, basis="interval").draw(4000, rng)
    assert kstest(np.log(drawn / (1 - drawn)), norm(1.5, 0.4).cdf).pvalue > 0.01
    assert kstest(Beta(a=8, b=2).draw(4000, rng), beta(8, 2).cdf).pvalue > 0.01
