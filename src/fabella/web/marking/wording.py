"""Marks, grades and how sheets stand, in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from fabella.exam import (
    Act,
    Attendance,
    Bell,
    Dispute,
    How,
    Missing,
    Phase,
    Presence,
    Station,
    Value,
    clock,
)
from fabella.report.wording import counted, listed, lowered

MISSING_WORDS = {
    Missing.NOT_OBSERVED: "not observed",
    Missing.NOT_OFFERED: "not offered",
    Missing.NOT_REACHED: "not reached before the bell",
}

HOW_WORDS = {
    How.AWAY: "candidate away",
    How.INSTEAD: "marked by another",
    How.VOID: "lost or not held",
    How.NOT_BEGUN: "not begun",
    How.GOING: "being marked",
    How.HALF_EMPTY: "finished, half empty",
    How.FINISHED: "finished",
}

_FEW = 2
_HOUR = 60
_ABOUT = {Act.GRADE: "Global rating", Act.CONCERN: "Concern for safety"}


def value_words(about: Act, item: str, value: Value, station: Station) -> str:
    """Return what was said, as a person would read it out."""
    if value is None:
        return "no concern" if about is Act.CONCERN else "nothing"
    if about is Act.GRADE:
        return next((each.name for each in station.grades if each.code == value), str(value))
    if isinstance(value, Missing):
        return MISSING_WORDS[value]
    if about is Act.MARK:
        anchors = next((each.anchors for each in station.items if each.id == item), ())
        in_words = f": {anchors[value]}" if isinstance(value, int) and value < len(anchors) else ""
        return f"{value}{in_words}"
    return f"“{value}”"


def about_words(about: Act, item: str, station: Station) -> str:
    """Return what a statement is about."""
    words = next((each.words for each in station.items if each.id == item), item)
    if about is Act.COMMENT:
        return f"Comment: {words}" if item else "Comment on the whole"
    return _ABOUT.get(about, words)


def disputes_words(disputes: Sequence[Dispute], station: Station) -> list[str]:
    """Return each dispute in one line; of more than two only what they are about."""
    if len(disputes) <= _FEW:
        return [_dispute_words(each, station) for each in disputes]
    found = Counter(each.about for each in disputes)
    about = [counted(found[Act.MARK], "item")] if found[Act.MARK] else []
    about += [f"the {lowered(words)}" for act, words in _ABOUT.items() if found[act]]
    about += [counted(found[Act.COMMENT], "comment")] if found[Act.COMMENT] else []
    left = sum(1 for each in disputes if each.left)
    return [f"{listed(about)}{f'; {left} of them left open' if left else ''}"]


def _dispute_words(dispute: Dispute, station: Station) -> str:
    said = " or ".join(
        value_words(dispute.about, dispute.item, each.value, station) for each in dispute.choices
    )
    left = f"; left open: {dispute.left}" if dispute.left else ""
    return f"{about_words(dispute.about, dispute.item, station)}: {said}{left}"


def away_words(away: Attendance) -> str:
    """Return in words how a candidate is not there: ``absent``, ``late, comes 10:40``, ``left at 11:00``."""
    if away.presence is Presence.LATE:
        return f"late, comes {clock(away.at_min)}"
    return f"left at {clock(away.at_min)}" if away.presence is Presence.LEFT else away.presence.value


def bell_words(bell: Bell, now_min: float) -> str:
    """Return in words which part of the day it is, and when the next bell goes."""
    if bell.phase is Phase.AFTER:
        return "The day is over"
    left = max(0.0, bell.until_min - now_min)
    span = f"{int(left)} min {int(left * 60) % 60:02} s" if left < _HOUR else clock(left).replace(":", " h ")
    at = f", until {clock(bell.until_min)}: {span}"
    return {
        Phase.BEFORE: f"Before round {bell.turn + 1}",
        Phase.STATION: f"Round {bell.turn + 1}, stop {bell.step + 1}: at the stations",
        Phase.CHANGE: f"Round {bell.turn + 1}, after stop {bell.step + 1}: change",
        Phase.BETWEEN: f"Between rounds, before round {bell.turn + 1}",
    }[bell.phase] + at
