"""How long ago something was, as people say it."""

from __future__ import annotations

import pytest

from fabella.report.time_words import time_since


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (0, "less than a day"), (1, "1 day"), (13, "13 days"), (14, "2 weeks"), (42, "6 weeks"),
        (84, "12 weeks"), (97, "14 weeks"), (98, "3 months"), (182, "6 months"), (365, "12 months"),
        (700, "23 months"), (731, "2 years"), (2200, "6 years"),
    ],
)  # fmt: skip
def test_times_are_said_in_the_unit_that_fits(days: float, words: str) -> None:
    """Days for two weeks, weeks for a quarter of a year, months for two years, then years."""
    assert time_since(days) == words
