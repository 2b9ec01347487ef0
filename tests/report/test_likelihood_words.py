from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.report.likelihood_words import SCALE, chance, odds_words, weight_at, word_for
from fabella.report.reason_words import grounding_words
from fabella.stats.written import percentage
from fabella.workup import Grounding

PROBABILITY = st.floats(0, 1)


@pytest.mark.parametrize(
    ("probability", "word", "percent"),
    [
        (0.9999, "almost certainly", "over 99%"),
        (1.0, "almost certainly", "over 99%"),
        (0.95, "almost certainly", "95%"),
        (0.946, "almost certainly", "95%"),
        (0.944, "very likely", "94%"),
        (0.80, "very likely", "80%"),
        (0.79, "likely", "79%"),
        (0.60, "likely", "60%"),
        (0.59, "as likely as not", "59%"),
        (0.40, "as likely as not", "40%"),
        (0.39, "possibly", "39%"),
        (0.20, "possibly", "20%"),
        (0.19, "unlikely", "19%"),
        (0.05, "unlikely", "5%"),
        (0.04, "very unlikely", "4%"),
        (0.0, "very unlikely", "under 1%"),
    ],
)
def test_each_word_stands_between_its_bounds(probability: float, word: str, percent: str) -> None:
    """Word and percentage agree at and around every bound of the scale, written out by hand."""
    assert (word, percent) == (word_for(probability), percentage(probability))


@pytest.mark.parametrize(
    ("low", "high", "interval"),
    [
        (0.77, 0.993, "77 to over 99%"),
        (0.77, 0.99, "77 to 99%"),
        (0.993, 0.999, "over 99%"),
        (0.986, 0.999, "99 to over 99%"),
        (0.001, 0.004, "under 1%"),
        (0.001, 0.013, "under 1 to 1%"),
    ],
)
def test_an_interval_whose_ends_round_alike_says_on_which_side(
    low: float, high: float, interval: str
) -> None:
    """Beside "over 99%" never stands "97 to 99%", in which the percentage would not lie."""
    assert chance(high, low=low, high=high).interval == interval


def test_an_end_is_no_surer_than_the_percentage_beside_it() -> None:
    """Beside 94% an upper end is 99%, as ever; beside "under 1%" the lower end is that as well."""
    assert chance(0.94, low=0.78, high=0.995).interval == "78 to 99%"
    assert chance(0.004, low=0.002, high=0.05).interval == "under 1 to 5%"


@given(PROBABILITY, PROBABILITY)
def test_a_likelier_thing_never_gets_a_weaker_word(one: float, two: float) -> None:
    """The words rise with the probability."""
    order = [word for _, word in reversed(SCALE)]
    low, high = sorted((one, two))
    assert order.index(word_for(low)) <= order.index(word_for(high))


@given(PROBABILITY, PROBABILITY, PROBABILITY)
def test_no_probability_is_written_as_none_or_all(probability: float, low: float, high: float) -> None:
    """Neither 0% nor 100% is ever written, not even as an end of an interval."""
    written = chance(probability, low=low, high=high)
    assert "100" not in written.short
    assert not written.short.startswith("0%")
    assert not written.interval.startswith("0 ")
    assert not written.interval.endswith(" 0%")


def test_the_guide_prints_the_scale_in_use() -> None:
    """The table in the guide gives every word with the bounds that the program uses."""
    highest = [f"to {lowest - 1}" for lowest, _ in SCALE[:-1]]
    rows = [
        f"| {word} | {lowest} {upto} |"
        for (lowest, word), upto in zip(SCALE, ["and more", *highest], strict=True)
    ]
    guide = (Path(__file__).parents[2] / "docs" / "letters.md").read_text()
    assert "\n".join(rows) in guide


def test_weights_are_said_as_what_they_do_to_the_odds() -> None:
    """One bit doubles the odds, minus one halves them; large factors are whole numbers."""
    assert odds_words(1) == "×\N{NO-BREAK SPACE}2.0"
    assert odds_words(-1) == "÷\N{NO-BREAK SPACE}2.0"
    assert odds_words(5) == "×\N{NO-BREAK SPACE}32"
    assert (weight_at(0), weight_at(2.5), weight_at(-5), weight_at(9)) == (50, 75, 0, 100)


def test_what_a_conclusion_rests_on_is_said_in_full() -> None:
    """Each kind is named with its share; a single kind stands alone, and nothing points back at nothing."""
    assert (
        grounding_words(Grounding(published=0, derived=0.012, judgement=0.988))
        == "numbers worked out from published ones (1%) and judgement (99%)"
    )
    assert grounding_words(Grounding(published=0, derived=0.001, judgement=0.999)) == "judgement alone"
    assert grounding_words(Grounding(published=0, derived=0, judgement=0)) == ""
