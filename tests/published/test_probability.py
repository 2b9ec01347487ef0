import pytest

from fabella.stats import post_test, ratios_from_accuracy

MCGEE_2002 = {
    2: 15,
    5: 30,
    10: 45,
    0.5: -15,
    0.2: -30,
    0.1: -45,
    3: 20,
    4: 25,
    6: 35,
    8: 40,
    0.3: -25,
    0.4: -20,
}


@pytest.mark.parametrize(("likelihood_ratio", "per_cent"), [(0.05, 0.37), (0.02, 0.15)])
def test_bachmann_2004(likelihood_ratio: float, per_cent: float) -> None:
    """A negative Ottawa knee rule takes a fracture from 7 % to the published 0.37 % (lower limit 0.15 %).

    Source: Bachmann 2004 Ann Intern Med 140:121, doi 10.7326/0003-4819-140-5-200403020-00013. The published
    upper limit, 1.48 %, was not made by plugging in the upper limit of the ratio and is not tested.
    """
    assert 100 * post_test(pre_test=0.07, likelihood_ratio=likelihood_ratio) == pytest.approx(
        per_cent, abs=0.01
    )


@pytest.mark.parametrize(("likelihood_ratio", "per_cent"), [(2.2, 73), (0.27, 25)])
def test_nomogram(likelihood_ratio: float, per_cent: float) -> None:
    """From 55 %, a ratio of 2.2 gives 73 % and one of 0.27 about 25 %, as read off Fagan's nomogram.

    Source: worked example of Bayesian nomogram instructions (maxwideman.com, guests, bayesian).
    """
    assert 100 * post_test(pre_test=0.55, likelihood_ratio=likelihood_ratio) == pytest.approx(
        per_cent, abs=0.5
    )


@pytest.mark.parametrize(("likelihood_ratio", "points"), MCGEE_2002.items())
def test_mcgee_2002(likelihood_ratio: float, points: int) -> None:
    """From 50 %, the exact change is within 5 points of the bedside approximation; from 90 % it is smaller.

    Source: McGee 2002 J Gen Intern Med 17:647-650, doi 10.1046/j.1525-1497.2002.10750.x, table 1.
    """
    assert 100 * post_test(pre_test=0.5, likelihood_ratio=likelihood_ratio) - 50 == pytest.approx(
        points, abs=5.01
    )
    if likelihood_ratio > 1:
        assert 100 * post_test(pre_test=0.9, likelihood_ratio=likelihood_ratio) - 90 < 10 < points


@pytest.mark.parametrize(
    ("sensitivity", "specificity", "published_positive", "published_negative", "positive", "negative"),
    [(0.985, 0.486, None, 0.05, 1.916, 0.0309), (0.99, 0.46, 1.94, 0.07, 1.833, 0.0217)],
)
def test_ratios_from_pooled_accuracies_are_not_pooled_ratios(  # noqa: PLR0917 - one row of the table
    sensitivity: float,
    specificity: float,
    published_positive: float | None,
    published_negative: float,
    positive: float,
    negative: float,
) -> None:
    """Ratios that follow from pooled accuracies differ from the pooled ratios of the same review.

    Sources: adults, Bachmann 2004, doi 10.7326/0003-4819-140-5-200403020-00013; children, Emerg Med J
    2009;26:250-253. Accuracies and pooled ratios are theirs; the ratios that follow are worked out by hand.
    """
    found = ratios_from_accuracy(sensitivity=sensitivity, specificity=specificity)
    assert found == pytest.approx((positive, negative), abs=0.0005)
    assert found[1] < published_negative / 1.5
    assert published_positive is None or found[0] < published_positive
