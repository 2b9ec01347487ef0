import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.stats.written import number_words, percent_words, percentage, share_words


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ((0.9, 0.87, 0.93), "0.90 (0.87 to 0.93)"),
        ((0.871, 0.84, 0.9), "0.871 (0.840 to 0.900)"),
        ((0.967, 0.8278, 0.9992), "0.967 (0.828 to 0.999)"),
        ((1.0, None, None), "1.00"),
        ((None, 0.3, 0.65), "0.30 to 0.65"),
        ((0.79, 0.51, None), "0.79 (0.51 to …)"),
        ((-0.08, -0.12, 0.04), "−0.08 (−0.12 to 0.04)"),
        ((None, None, None), ""),
    ],
)
def test_a_share_and_its_ends_are_alike_in_decimals(
    numbers: tuple[float | None, float | None, float | None], words: str
) -> None:
    """Two decimals each, or three where any of them has more; never one, and never four."""
    assert share_words(*numbers) == words


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ((3.6, 1.5, 12.0), "3.6 (1.5 to 12)"),
        ((None, 1.5, None), "1.5 to …"),
        ((2.0, None, None), "2"),
    ],
)
def test_another_number_stands_as_it_was_printed(
    numbers: tuple[float | None, float | None, float | None], words: str
) -> None:
    """A ratio has its own decimals, and what is not known of its ends stays open."""
    assert number_words(*numbers) == words


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ((0.243, 0.18, 0.314), "24.3% (18 to 31.4%)"),
        ((0.00016, None, None), "0.016%"),
        ((None, 0.12, 0.56), "12 to 56%"),
        ((1.0, 0.9, None), "100%"),
        ((None, None, None), ""),
    ],
)
def test_a_published_share_keeps_its_figures(
    numbers: tuple[float | None, float | None, float | None], words: str
) -> None:
    """However small, it is written with three figures; an interval with one end only is left out."""
    assert percent_words(*numbers) == words


@given(st.floats(0, 1))
def test_no_probability_is_none_or_all(probability: float) -> None:
    """A conclusion is written as 1 to 99%, or as more or less than that."""
    words = percentage(probability)
    assert words in {"over 99%", "under 1%"} or 1 <= int(words[:-1]) <= 99
