"""What a student's beliefs amount to, in words."""

import pytest

from fabella.stats import brier_parts, calibration
from fabella.teach.learned import Belief
from fabella.teach.record_words import belief_words


def told(chances: list[float], true: list[bool]) -> str:
    """Return the first sentence on some beliefs."""
    belief = Belief(
        n=len(chances), bins=calibration(chances, true), parts=brier_parts(chances, true), unnamed=0
    )
    return belief_words(belief)[0]


@pytest.mark.parametrize(
    ("n", "right", "by_chance"), [(20, 13, True), (20, 12, False), (200, 149, True), (200, 148, False)]
)
def test_being_too_sure_is_told_as_chance_where_it_may_be(n: int, right: int, *, by_chance: bool) -> None:
    """Beliefs of 0.8 that are right as often as said are so in .8 n of n, give or take 1.96 sqrt(n .8 .2).

    That is 16 and 3.51 of 20, 160 and 11.09 of 200. Spiegelhalter 1986 Stat Med 5:421-433 (from memory): the
    errors of calibrated probabilities sum to 0 with the variance sum p (1 - p).
    """
    says = told([0.8] * n, [True] * right + [False] * (n - right))
    assert says.startswith("On average you are surer than right, by ")
    assert says.endswith(", which may be chance.") == by_chance
