from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.errors import InputError
from fabella.stats import TwoByTwo, likelihood_ratios


@given(*[st.integers(1, 500)] * 4)
def test_ratios_of_counts_and_of_accuracies_agree(tp: int, fp: int, fn: int, tn: int) -> None:
    """In one study with no empty cell the ratios follow from its sensitivity and specificity."""
    table = TwoByTwo(tp=tp, fp=fp, fn=fn, tn=tn)
    ratios = likelihood_ratios(table)
    finds, clears = table.sensitivity().estimate, table.specificity().estimate
    assert ratios.positive.estimate == pytest.approx(finds / (1 - clears))
    assert ratios.negative.estimate == pytest.approx((1 - finds) / clears)
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
