from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.errors import InputError
from fabella.stats import (
    TwoByTwo,
    likelihood_ratios,
    odds,
    post_test,
    probability,
    ratios_from_accuracy,
)

SHARES = st.floats(0, 1)
RATIOS = st.floats(0, 1e4)


@given(st.floats(0, 1 - 1e-9))
def test_odds_and_probability_undo_each_other(share: float) -> None:
    """Going to odds and back returns the probability."""
    assert probability(odds(share)) == pytest.approx(share, abs=1e-12)


def test_certainty_has_infinite_odds() -> None:
    """A probability of 1 has infinite odds, and infinite odds are certainty."""
    assert odds(1) == inf
    assert probability(inf) == 1


@given(st.floats(0.001, 0.999), RATIOS, RATIOS)
def test_two_independent_results_may_come_in_either_order(
    pre_test: float, first: float, second: float
) -> None:
    """Applying two likelihood ratios one after the other is applying their product, in either order."""
    there = post_test(pre_test=post_test(pre_test=pre_test, likelihood_ratio=first), likelihood_ratio=second)
    back = post_test(pre_test=post_test(pre_test=pre_test, likelihood_ratio=second), likelihood_ratio=first)
    assert there == pytest.approx(back, abs=1e-9)


@given(RATIOS)
def test_certainty_is_not_moved(likelihood_ratio: float) -> None:
    """No result changes a probability of exactly 0 or 1."""
    assert post_test(pre_test=0, likelihood_ratio=likelihood_ratio) == 0
    assert post_test(pre_test=1, likelihood_ratio=likelihood_ratio) == 1


@given(SHARES)
def test_a_ratio_of_one_changes_nothing(pre_test: float) -> None:
    """A result as likely with as without disease leaves the probability alone."""
    assert post_test(pre_test=pre_test, likelihood_ratio=1) == pytest.approx(pre_test, abs=1e-12)


@given(*[st.integers(1, 500)] * 4)
def test_a_positive_result_gives_the_predictive_value(tp: int, fp: int, fn: int, tn: int) -> None:
    """With the study's own prevalence, the probability after a positive result is tp/(tp+fp)."""
    table = TwoByTwo(tp=tp, fp=fp, fn=fn, tn=tn)
    ratios = likelihood_ratios(table)
    prevalence = (tp + fn) / (tp + fp + fn + tn)
    after = post_test(pre_test=prevalence, likelihood_ratio=ratios.positive.estimate)
    assert after == pytest.approx(tp / (tp + fp))
    after = post_test(pre_test=prevalence, likelihood_ratio=ratios.negative.estimate)
    assert after == pytest.approx(fn / (fn + tn))


@given(*[st.integers(1, 500)] * 4)
def test_ratios_of_counts_and_of_accuracies_agree(tp: int, fp: int, fn: int, tn: int) -> None:
    """In one study with no empty cell the ratios follow from its sensitivity and specificity."""
    table = TwoByTwo(tp=tp, fp=fp, fn=fn, tn=tn)
    ratios = likelihood_ratios(table)
    expected = ratios_from_accuracy(
        sensitivity=table.sensitivity().estimate, specificity=table.specificity().estimate
    )
    assert (ratios.positive.estimate, ratios.negative.estimate) == pytest.approx(expected)
    assert not ratios.corrected


def test_perfect_accuracy_never_gives_a_ratio_of_zero() -> None:
    """With an empty cell, both ratios stay finite and above 0, and the result says it was corrected."""
    ratios = likelihood_ratios(TwoByTwo(tp=11, fp=0, fn=0, tn=27))
    assert ratios.corrected
    assert 0 < ratios.negative.low < ratios.negative.high < inf
    assert 0 < ratios.positive.low < ratios.positive.high < inf


def test_bad_tables_are_refused_with_every_fault_named() -> None:
    """Negative and broken counts are listed together, with the study's name."""
    with pytest.raises(InputError) as refusal:
        TwoByTwo(tp=-1, fp=2, fn=2.5, tn=0, study="Made up 2001")  # type: ignore[arg-type]
    assert str(refusal.value).splitlines() == [
        "Made up 2001.tp: '-1' is out of range; use a whole number from 0",
        "Made up 2001.fn: '2.5' is out of range; use a whole number from 0",
    ]


def test_a_study_without_diseased_or_healthy_people_has_no_ratios() -> None:
    """Both empty columns are named in one refusal."""
    with pytest.raises(InputError) as refusal:
        likelihood_ratios(TwoByTwo(tp=0, fp=0, fn=0, tn=0))
    assert [problem.place for problem in refusal.value.problems] == ["tp + fn", "fp + tn"]


@pytest.mark.parametrize(
    ("pre_test", "likelihood_ratio"), [(1.5, 2), (0.5, -1), (0.5, inf), (float("nan"), 1)]
)
def test_values_out_of_range_are_refused(pre_test: float, likelihood_ratio: float) -> None:
    """A probability outside 0 to 1, or a ratio that is negative or infinite, is refused."""
    with pytest.raises(InputError):
        post_test(pre_test=pre_test, likelihood_ratio=likelihood_ratio)
