"""Accuracy where only some were looked into: against a published example, an integral, and simulation."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import expit
from scipy.stats import norm

from fabella.errors import InputError
from fabella.stats import Verified, verified_accuracy

LIVER_SCANS = {
    "positive_present": 231,
    "negative_present": 27,
    "positive_absent": 32,
    "negative_absent": 54,
    "positive_unknown": 166,
    "negative_unknown": 140,
}
"""Drum and Christacopoulos 1972 J Nucl Med 13:908-915, the standing example of the literature: 650 patients,
344 verified. The two totals are seen (documentation of the R package PVBcorrect); the cells are from memory
and add up to them. Begg and Greenes 1983 correct 0.895 and 0.628 to 0.836 and 0.738 (from memory)."""


def test_the_published_example_is_corrected_as_published() -> None:
    """Begg and Greenes' correction, which needs no prior, is what many knees and a flat prior come to."""
    assert sum(LIVER_SCANS.values()) == 650
    verified = sum(count for name, count in LIVER_SCANS.items() if "unknown" not in name)
    assert verified == 344
    told = verified_accuracy(Verified(**LIVER_SCANS))
    assert told.sensitivity.estimate == pytest.approx(0.836, abs=0.005)
    assert told.specificity.estimate == pytest.approx(0.738, abs=0.005)
    many = verified_accuracy(Verified(**{name: 20 * count for name, count in LIVER_SCANS.items()}))
    sensitivity, specificity = _begg_greenes(**LIVER_SCANS)
    assert many.sensitivity.estimate == pytest.approx(sensitivity, abs=5e-4)
    assert many.specificity.estimate == pytest.approx(specificity, abs=5e-4)


def test_the_interval_of_many_is_that_of_the_formula() -> None:
    """The 95 % interval equals the normal one on the logit scale (delta method, derived here)."""
    ten = {name: 10 * count for name, count in LIVER_SCANS.items()}
    told = verified_accuracy(Verified(**ten), level=0.95).sensitivity
    positive = ten["positive_present"] + ten["positive_absent"] + ten["positive_unknown"]
    everybody = sum(ten.values())
    share = positive / everybody
    variance = 1 / (everybody * share * (1 - share))
    for present, absent in (
        (ten["positive_present"], ten["positive_absent"]),
        (ten["negative_present"], ten["negative_absent"]),
    ):
        variance += absent / (present + absent) / present
    middle = np.log(told.estimate / (1 - told.estimate))
    reach = 1.959964 * np.sqrt(variance)
    assert (told.low, told.high) == pytest.approx((expit(middle - reach), expit(middle + reach)), abs=0.003)


@settings(max_examples=25, deadline=None)
@given(
    right=st.integers(0, 60),
    wrong=st.integers(0, 60),
    mean=st.floats(-2, 3),
    sd=st.floats(0.3, 1.5),
)
def test_without_unverified_knees_each_share_is_a_plain_integral(
    right: int, wrong: int, mean: float, sd: float
) -> None:
    """With everybody looked into, the sensitivity depends on the knees with the lesion alone."""
    told = verified_accuracy(
        Verified(positive_present=right, negative_present=wrong, positive_absent=3, negative_absent=17),
        sensitivity_logit=(mean, sd),
    ).sensitivity

    def density(x: float) -> float:
        return float(norm.pdf(x, mean, sd) * expit(x) ** right * expit(-x) ** wrong)

    points = np.linspace(-8, 8, 33)
    scale = max(map(density, points)) or 1.0
    whole = quad(lambda x: density(x) / scale, -9, 9, points=points, limit=200)[0]
    mean_of = quad(lambda x: expit(x) * density(x) / scale, -9, 9, points=points, limit=200)[0]
    assert told.estimate == pytest.approx(mean_of / whole, abs=2e-3)
    for end, content in ((told.low, 0.05), (told.high, 0.95)):
        x = np.log(end / (1 - end))
        below = quad(lambda x: density(x) / scale, -9, x, points=points[points < x], limit=200)[0]
        assert below / whole == pytest.approx(content, abs=0.01)


def test_intervals_hold_what_they_promise() -> None:
    """Of 300 clinics drawn from the priors, 90 % intervals hold the true sensitivity in about nine of ten."""
    rng = np.random.default_rng(5)
    held = 0
    for _ in range(300):
        sensitivity, specificity = expit(rng.normal(1.2, 0.5)), expit(rng.normal(1.8, 0.5))
        there = rng.random(80) < 0.3
        positive = rng.random(80) < np.where(there, sensitivity, 1 - specificity)
        looked = rng.random(80) < np.where(positive, 0.8, 0.2)
        told = verified_accuracy(
            Verified(
                positive_present=int((positive & there & looked).sum()),
                negative_present=int((~positive & there & looked).sum()),
                positive_absent=int((positive & ~there & looked).sum()),
                negative_absent=int((~positive & ~there & looked).sum()),
                positive_unknown=int((positive & ~looked).sum()),
                negative_unknown=int((~positive & ~looked).sum()),
            ),
            sensitivity_logit=(1.2, 0.5),
            specificity_logit=(1.8, 0.5),
        ).sensitivity
        held += int(told.low <= sensitivity <= told.high)
    assert 0.85 <= held / 300 <= 0.95


def test_impossible_counts_are_refused_with_every_fault_named() -> None:
    """Two negative counts and a level in per cent are all listed in one message."""
    with pytest.raises(InputError) as refusal:
        verified_accuracy(
            Verified(positive_present=-1, negative_present=0, positive_absent=2, negative_absent=-3), level=90
        )
    places = [problem.place for problem in refusal.value.problems]
    assert places == ["positive_present", "negative_absent", "level"]


def _begg_greenes(
    *,
    positive_present: int,
    negative_present: int,
    positive_absent: int,
    negative_absent: int,
    positive_unknown: int,
    negative_unknown: int,
) -> tuple[float, float]:
    positive = positive_present + positive_absent + positive_unknown
    negative = negative_present + negative_absent + negative_unknown
    if_positive = positive_present / (positive_present + positive_absent)
    if_negative = negative_present / (negative_present + negative_absent)
    present = positive * if_positive + negative * if_negative
    absent = positive * (1 - if_positive) + negative * (1 - if_negative)
    return positive * if_positive / present, negative * (1 - if_negative) / absent
