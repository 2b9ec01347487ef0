"""What a student's runs show together, in words for page and terminal alike."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from math import sqrt

from fabella.protocol import Protocol
from fabella.report.step_words import doing
from fabella.report.wording import counted, lowered, sentence
from fabella.teach.learned import ENOUGH_BELIEFS, Belief, Habit, Lean
from fabella.teach.recognition import Rate
from fabella.teach.repetition import ItemKind, Scheduled, by_weight, due_on
from fabella.teach.wording import habit_words

_CLOSE = 0.05
"""Mean distance of belief and truth up to which they are said to agree (judgement)."""
MOST_NEXT = 3
"""Things that are taken to the next patient: more nobody keeps in mind (judgement)."""
_IN_A_ROW = 3
"""Runs in a row from which a habit that was not always kept is told to be kept now (judgement)."""
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
    first = f"On average you are {_leaning(Lean(off=off, error=error))}."
    lately = belief.latest
    last = "" if lately is None else f"Over the last {ENOUGH_BELIEFS} you are {_leaning(lately)}."
    score = (
        f"Brier score {parts.brier:.3f} of each probability (0 is best): "
        f"{parts.reliability:.3f} because what you said did not come true as often (reliability), "
        f"less {parts.resolution:.3f} for telling cases apart (resolution), "
        f"on {parts.uncertainty:.3f} that lies in the cases (uncertainty); "
        f"{parts.within:+.3f} lies within the fifths.".replace("-", "−")
    )
    return (*filter(None, (first, last)), score, *after)


def _leaning(lean: Lean) -> str:
    if abs(lean.off) <= _CLOSE:
        return "as sure as you are right"
    sure = "surer than right" if lean.off > 0 else "less sure than right"
    chance = ", which may be chance" if abs(lean.off) <= _BY_CHANCE * lean.error else ""
    return f"{sure}, by {abs(lean.off):.0%}{chance}"


def next_lines(scheduled: Sequence[Scheduled], today: date, *, protocol: Protocol) -> tuple[str, ...]:
    """Return what to take to the next patient: what matters most of what is due by tomorrow, else next."""
    soonest = min((each.due for each in scheduled), default=today)
    due = by_weight(due_on(scheduled, max(today + timedelta(days=1), soonest)))
    return tuple(_next_line(each, protocol) for each in due[:MOST_NEXT])


def _next_line(each: Scheduled, protocol: Protocol) -> str:
    times = f"{each.missed} of {each.met}"
    if each.item.kind is ItemKind.KEEP:
        return f"{habit_words(each.item.about, kept=False).rstrip('.')}: missed {times}."
    sign = protocol.sign(each.item.about)
    if each.item.kind is ItemKind.DO:
        return sentence(f"{doing(sign)}: left out {times}")
    slip = "called abnormal where it was not" if each.sound else "misread"
    return f"Read with care: {lowered(sign.name)}, {slip} {times}."


def habit_rate_words(habit: Habit) -> str:
    """Return how often a habit was kept, and how many of the last runs kept it, where that has changed."""
    rate = rate_words(Rate(right=habit.kept, n=habit.n))
    better = habit.kept < habit.n and habit.latest >= _IN_A_ROW
    return f"{rate}; each of the last {habit.latest}" if better else rate


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
