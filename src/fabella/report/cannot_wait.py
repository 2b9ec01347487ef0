"""What cannot wait, in words: where, how soon, what to do, and why."""

from __future__ import annotations

from dataclasses import dataclass

from fabella.workup import Alarm


@dataclass(frozen=True, slots=True, kw_only=True)
class Urgent:
    """One matter that cannot wait, or that could not be excluded.

    Parameters
    ----------
    rule
        Id of the rule.
    where
        ``Right knee``, ``Left knee``, or empty for the whole person.
    when
        How soon, in words.
    name, action
        What it is, and what to do.
    because
        The criteria that are met; for a matter not excluded, what would settle it.
    source
        The paper, or that it is common practice.
    """

    rule: str
    where: str
    when: str
    name: str
    action: str
    because: tuple[str, ...]
    source: str


NOW, ROUTINE = "now", "in routine"
PRESSING = (NOW, "today")
"""How soon, in words, a matter comes before anything else that is planned."""

_WHEN = {
    "now": NOW,
    "same_day": "today",
    "within_48_hours": "within 48 hours",
    "within_2_weeks": "within 2 weeks",
    "routine_but_do_not_miss": ROUTINE,
}

_PRESSING = ("now", "same_day", "within_48_hours")
_MOST_UNSETTLED, _MOST_QUESTIONS = 3, 2


def urgent_matters(alarms: tuple[Alarm, ...]) -> tuple[Urgent, ...]:
    """Return the rules that are met, in the order in which they were given: the most urgent first."""
    return tuple(_urgent(each, [one.words for one in each.met]) for each in alarms if each.verdict == "met")


def unsettled_matters(alarms: tuple[Alarm, ...]) -> tuple[tuple[Urgent, ...], int]:
    """Return pressing rules not excluded, with what would settle them, and how many more stay open."""
    still_open = [each for each in alarms if each.verdict != "met"]
    pressing = [each for each in still_open if each.urgency in _PRESSING][:_MOST_UNSETTLED]
    told = tuple(_urgent(each, [one.ask for one in each.unknown[:_MOST_QUESTIONS]]) for each in pressing)
    return told, len(still_open) - len(pressing)


def _urgent(alarm: Alarm, because: list[str]) -> Urgent:
    source = f"{alarm.source}, from memory" if alarm.recalled else alarm.source
    return Urgent(
        rule=alarm.rule,
        where="" if alarm.side is None else f"{alarm.side.capitalize()} knee",
        when=_WHEN[alarm.urgency],
        name=alarm.name,
        action=alarm.action,
        because=tuple(because),
        source=source,
    )
