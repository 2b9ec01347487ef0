"""What a student's runs show together, in words for page and terminal alike."""

from __future__ import annotations

from datetime import date
from math import sqrt

from fabella.report.wording import counted
from fabella.teach.learned import ENOUGH_BELIEFS, Belief
from fabella.teach.recognition import Rate

_CLOSE = 0.05
"""Mean distance of belief and truth up to which they are said to agree (judgement)."""
_BY_CHANCE = 1.96
"""Errors of that distance within which it may be chance: 95 %, after Spiegelhalter 1986 Stat Med 5:421."""


def belief_words(belief: Belief) -> tuple[str, ...]:
    """Return what a calibration amounts to, in sentences; that it is too little, where it is."""
    unnamed = f"{counted(belief.unnamed, 'lesion')} that was there was not named" if belief.unnamed else ""
    more = (unnamed.replace(" was there was", " were there were") if belief.unnamed > 1 else unnamed) + "."
    after = (more,) if unnamed else ()
    if belief.parts is None:
        few = f"Too little to tell yet: {belief.n} of the {ENOUGH_BELIEFS} probabilities that it takes."
        return (few, *after)
    parts = belief.parts
    off = sum(each.n * (each.said - each.came_true.estimate) for each in belief.bins) / belief.n
    # of beliefs that are right as often as said; taken by bins it is rather too large
    error = sqrt(sum(each.n * each.said * (1 - each.said) for each in belief.bins)) / belief.n
    chance = ", which may be chance" if abs(off) <= _BY_CHANCE * error else ""
    sure = "surer than right" if off > 0 else "less sure than right"
    first = (
        "On average you are as sure as you are right."
        if abs(off) <= _CLOSE
        else f"On average you are {sure}, by {abs(off):.0%}{chance}."
    )
    score = (
        f"Brier score {parts.brier:.3f} of each probability (0 is best): "
        f"{parts.reliability:.3f} because what you said did not come true as often (reliability), "
        f"less {parts.resolution:.3f} for telling cases apart (resolution), "
        f"on {parts.uncertainty:.3f} that lies in the cases (uncertainty); "
        f"{parts.within:+.3f} lies within the fifths.".replace("-", "−")
    )
    return (first, score, *after)


def when_words(due: date, today: date) -> str:
    """Return when something comes again: ``due today``, ``in 3 days``."""
    days = (due - today).days
    if days == 0:
        return "due today"
    if days > 0:
        return "tomorrow" if days == 1 else f"in {days} days"
    return "due since yesterday" if days == -1 else f"due for {-days} days"


def rate_words(rate: Rate) -> str:
    """Return a rate as counts, with its interval where there is enough."""
    if not rate.n:
        return "–"
    counts = f"{rate.right} of {rate.n}"
    interval = rate.interval
    if interval is None:
        return counts
    return f"{interval.estimate:.0%} ({interval.low:.0%} to {interval.high:.0%}), {counts}"
