"""A share on a scale from 0 to 1 with its interval, as places on the scale and in words."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from fabella.evidence import Estimate, IntervalKind
from fabella.stats import wilson
from fabella.stats.written import share_words

SMALLEST_PX, LARGEST_PX, PX_OF_ROOT = 5.0, 15.0, 0.7
"""Side of a mark: so many pixels a root of a knee, so that its area goes with the knees, within bounds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Whisker:
    """A share with its interval on a scale of 0 to 100, None where there is none, and the same in words.

    ``ends`` says what the two ends are when they are not a printed 95 % interval.
    """

    at: float | None
    low: float | None
    high: float | None
    words: str
    ends: str


def side_px(knees: int | None) -> float:
    """Return the side of a mark in pixels: its area goes with the number of knees."""
    return round(min(max(PX_OF_ROOT * sqrt(knees or 0), SMALLEST_PX), LARGEST_PX), 1)


def whisker_of(share: Estimate | None, right: int | None, wrong: int | None) -> Whisker:
    """Return a share as printed; where only its counts are, with the interval they give (Wilson 1927)."""
    if share is None:
        return Whisker(at=None, low=None, high=None, words="not stated", ends="")
    low, high, ends = share.low, share.high, _ENDS.get(share.interval, str(share.interval))
    if low is None and high is None and right is not None and wrong is not None and right + wrong > 0:
        counted = wilson(successes=right, n=right + wrong)
        low, high, ends = round(counted.low, 3), round(counted.high, 3), "interval from its counts"
    elif low is None and high is None:
        ends = "no interval printed"
    return Whisker(
        at=percent(share.value),
        low=percent(low),
        high=percent(high),
        words=share_words(share.value, low, high),
        ends=ends,
    )


_ENDS = {IntervalKind.CONFIDENCE: "", IntervalKind.NONE: "", IntervalKind.RANGE: "lowest and highest"}


def bounded(value: float, bounds: tuple[float, float] | None) -> Whisker:
    """Return a share with the bounds of its 95 % interval; None when none was printed."""
    low, high = bounds or (None, None)
    return Whisker(
        at=percent(value),
        low=percent(low),
        high=percent(high),
        words=share_words(value, low, high),
        ends="" if bounds else "no interval printed",
    )


def percent(share: float | None) -> float | None:
    """Return where a share (0 to 1) lies on a scale of 0 to 100."""
    return None if share is None else round(100 * share, 2)
