"""A candidate's own result on the page: numbers that agree with the verdict beside them."""

import pytest

from fabella.papers import Standing
from fabella.web.analysing.strips import strip_of


@pytest.mark.parametrize(("own", "cut"), [(59.98, 60.02), (59.999, 60.0), (60.0, 60.0), (60.04, 59.96)])
def test_a_score_below_the_pass_mark_is_read_as_below(own: float, cut: float) -> None:
    """Rounded to one digit 59.98 and 60.02 are both 60.0: nobody reads "60.0% of 60.0%, below"."""
    strip = strip_of(Standing(title="Gait", own=own, error=float("nan"), cut=cut, low=40.0, high=70.0))
    score, to_pass = (float(each.rstrip("%")) for each in (strip.score, strip.to_pass))
    assert (score < to_pass) == (strip.verdict == "below")
    assert f"score {strip.score}, pass mark {strip.to_pass}" in strip.words


def test_what_is_not_known_is_a_dash() -> None:
    """Without a score or a pass mark none is told."""
    nothing = float("nan")
    strip = strip_of(Standing(title="Gait", own=nothing, error=2.0, cut=60.0, low=nothing, high=nothing))
    assert (strip.score, strip.to_pass, strip.verdict) == ("–", "60.0%", "no score")
