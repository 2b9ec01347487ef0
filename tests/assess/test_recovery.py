"""Simulated truth is recovered; a larger table comes from `python -m tests.assess.recovery`."""

import pytest

from tests.assess.recovery import Size, facets, mixed, recover


@pytest.mark.parametrize(
    ("one", "size"),
    [
        (mixed, Size(candidates=42, stations=8, examiners=3)),
        (facets, Size(candidates=30, stations=6, examiners=1)),
    ],
    ids=["mixed model", "many-facet Rasch"],
)
def test_intervals_hold_the_truth_as_often_as_they_say(one: object, size: Size) -> None:
    """Over 500 simulated exams, 90 % intervals of severity and of ability hold the truth in 88 to 92 %."""
    found = recover(one, size, exams=500, seed=20)  # type: ignore[arg-type]
    assert 0.88 <= found.severity <= 0.92
    assert 0.88 <= found.ability <= 0.92
    assert abs(found.bias) < 0.2
