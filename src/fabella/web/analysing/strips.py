"""Where a candidate stands beside the pass mark and all others, as it is drawn and told."""

from __future__ import annotations

from dataclasses import dataclass
from math import isnan
from typing import Final

from fabella.papers import Standing
from fabella.papers.words import beside
from fabella.web.analysing.decided import percent

_MOST: Final = 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """A score drawn from 0 to 100 %: where it stands, and beside what; ``words`` say all that is drawn.

    ``half`` has the ends of the middle half of all candidates, ``error`` those of the score's own error; None
    for what is not known.
    """

    title: str
    score: str
    to_pass: str
    verdict: str
    words: str
    own: float | None
    cut: float | None
    error: tuple[float, float] | None
    half: tuple[float, float] | None


def strip_of(it: Standing) -> Strip:
    """Return where a candidate stands as it is drawn and told."""
    own, cut, low, high = (None if isnan(each) else each for each in (it.own, it.cut, it.low, it.high))
    error = None if own is None or isnan(it.error) else it.error
    half = None if low is None or high is None else (low, high)
    score, to_pass = _shown(own, cut)
    words = [f"score {score}", f"pass mark {to_pass}"]
    words += [] if half is None else [f"half of all candidates between {half[0]:.0f} and {half[1]:.0f}%"]
    return Strip(
        title=it.title,
        score=score if error is None or own is None else f"{score.removesuffix('%')} ± {percent(error)}",
        to_pass=to_pass,
        verdict=it.verdict,
        words=", ".join(words),
        own=own,
        cut=cut,
        error=None if error is None or own is None else (max(own - error, 0.0), min(own + error, _MOST)),
        half=half,
    )


def _shown(own: float | None, cut: float | None) -> tuple[str, str]:
    """Return score and pass mark with as many digits as show which is the higher, or dashes."""
    if own is None or cut is None:
        return percent(own), percent(cut)
    score, to_pass = beside(own, cut)
    return f"{score}%", f"{to_pass}%"
