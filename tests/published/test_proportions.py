import pytest

from fabella.stats import TwoByTwo, clopper_pearson, likelihood_ratios, wilson

NEWCOMBE_1998 = [  # successes, n, Wilson low and high, exact low and high
    (81, 263, 0.2553, 0.3662, 0.2527, 0.3676),
    (15, 148, 0.0624, 0.1605, 0.0578, 0.1617),
    (0, 20, 0.0000, 0.1611, 0.0000, 0.1684),
    (1, 29, 0.0061, 0.1718, 0.0009, 0.1776),
]

ARTHROSCOPY_2018 = [  # successes, n, printed 95 % limits
    (26, 30, 0.6928, 0.9624),  # anterior drawer, sensitivity
    (8, 10, 0.4439, 0.9748),  # anterior drawer, specificity
    (29, 30, 0.8278, 0.9992),  # Lachman, sensitivity
    (9, 10, 0.5550, 0.9975),  # Lachman, specificity
]

DECARY_2018 = [  # counts; sensitivity, low, high; specificity, low, high; LR+, low, high; last digit of LR+
    (
        TwoByTwo(tp=25, fp=14, fn=18, tn=222, study="pivoting and pop"),
        (0.58, 0.42, 0.72),
        (0.94, 0.90, 0.97),
        (9.80, 5.55, 17.29),
        0.01,
    ),
    (
        TwoByTwo(tp=18, fp=12, fn=4, tn=245, study="pivoting, effusion and Lachman"),
        (0.82, 0.60, 0.95),
        (0.95, 0.92, 0.97),
        (17.5, 9.8, 31.5),
        0.1,
    ),
]


@pytest.mark.parametrize(("successes", "n", "low", "high", "exact_low", "exact_high"), NEWCOMBE_1998)
def test_newcombe_1998(  # noqa: PLR0917 - one row of the table
    successes: int, n: int, low: float, high: float, exact_low: float, exact_high: float
) -> None:
    """Wilson and exact 95 % intervals equal the four worked examples to their four decimals.

    Source: Newcombe 1998 Stat Med 17:857-872, table I, methods 3 and 5 (figures from memory).
    """
    score, exact = wilson(successes=successes, n=n), clopper_pearson(successes=successes, n=n)
    assert (score.low, score.high) == pytest.approx((low, high), abs=0.00005001)
    assert (exact.low, exact.high) == pytest.approx((exact_low, exact_high), abs=0.00005001)


@pytest.mark.parametrize(("successes", "n", "low", "high"), ARTHROSCOPY_2018)
def test_exact_limits_printed_for_a_series_of_40_knees(
    successes: int, n: int, low: float, high: float
) -> None:
    """Exact 95 % limits equal those printed for the drawer and Lachman tests against arthroscopy.

    Source: drawer, Lachman and MRI compared in 40 knees having arthroscopy, 2018 (title as indexed);
    counts reconstructed from the printed percentages.
    """
    exact = clopper_pearson(successes=successes, n=n)
    assert (exact.low, exact.high) == pytest.approx((low, high), abs=0.0000501)


@pytest.mark.parametrize(("table", "sensitivity", "specificity", "positive", "last_digit"), DECARY_2018)
def test_decary_2018(
    table: TwoByTwo,
    sensitivity: tuple[float, float, float],
    specificity: tuple[float, float, float],
    positive: tuple[float, float, float],
    last_digit: float,
) -> None:
    """LR+ with its log-method interval, and exact limits, equal those printed to one unit of the last digit.

    Not to half a unit: two printed limits are cut off or worked out from rounded figures (0.72 for 0.7299,
    9.8 for 9.747). Source: Decary 2018 PLoS One 13(6):e0198797, doi 10.1371/journal.pone.0198797, two
    clusters of findings; counts reconstructed from the printed predictive value and LR+.
    """
    ratio = likelihood_ratios(table).positive
    assert (ratio.estimate, ratio.low, ratio.high) == pytest.approx(positive, abs=last_digit, rel=0)
    for successes, n, printed in (
        (table.tp, table.tp + table.fn, sensitivity),
        (table.tn, table.tn + table.fp, specificity),
    ):
        exact = clopper_pearson(successes=successes, n=n)
        assert (exact.estimate, exact.low, exact.high) == pytest.approx(printed, abs=0.01)


def test_mills_2004() -> None:
    """A pressure index with no miss among 11 and no false alarm among 27 is not proven perfect.

    Source: Mills 2004 J Trauma, doi 10.1097/01.ta.0000068995.63201.0b, ankle-brachial index below 0.90 after
    knee dislocation: 100 % throughout; the Wilson lower limits 74.1 % and 87.5 % are worked out from that.
    """
    table = TwoByTwo(tp=11, fp=0, fn=0, tn=27)
    assert table.sensitivity().estimate == table.specificity().estimate == 1
    assert table.sensitivity().low == pytest.approx(0.741, abs=0.0005)
    assert table.specificity().low == pytest.approx(0.875, abs=0.0005)
    assert likelihood_ratios(table).negative.estimate > 0
