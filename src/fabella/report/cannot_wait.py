"""What cannot wait, in words: where, how soon, what to do, and why; each matter once, with all its rules."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

from fabella.packaged import packaged_table
from fabella.workup import Alarm, load_rules


@dataclass(frozen=True, slots=True, kw_only=True)
class Urgent:
    """What one rule says that is met, or that could not be excluded.

    Parameters
    ----------
    rule
        Id of the rule.
    where
        ``Right knee``, ``Left knee``, ``Both knees``, or empty for the whole person.
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

    @property
    def place(self) -> str:
        """Where and how soon."""
        return f"{self.where}, {self.when}" if self.where else self.when.capitalize()

    @property
    def can_wait(self) -> bool:
        """Whether it is not to be missed, but not urgent."""
        return self.when == ROUTINE


@dataclass(frozen=True, slots=True, kw_only=True)
class Matter:
    """One matter that cannot wait: the rule that says most of it, and the others that say the same."""

    told: Urgent
    also: tuple[Urgent, ...] = ()

    @property
    def can_wait(self) -> bool:
        """Whether it is not to be missed, but not urgent."""
        return self.told.can_wait

    @property
    def because(self) -> tuple[str, ...]:
        """The criteria of all its rules, without those that another one says as well."""
        said = [(each.rule, words) for each in (self.told, *self.also) for words in each.because]
        words = tuple(
            dict.fromkeys(each[1] for each in said if _stricter().get(each, frozenset()).isdisjoint(said))
        )
        return tuple(
            each
            for each in words
            if not any(each != other and re.search(rf"\b{re.escape(each)}\b", other) for other in words)
        )


NOW, ROUTINE = "now", "routinely"
PRESSING = (NOW, "today")
"""How soon, in words, a matter comes before anything else that is planned."""

NOT_URGENT = "Not urgent, not to be missed"
"""The heading of what is met and can wait."""

SOON = (*PRESSING, "within 48 hours")
"""How soon, in words, a matter presses that could not be excluded."""

_WHEN = {
    "now": NOW,
    "same_day": "today",
    "within_48_hours": "within 48 hours",
    "within_2_weeks": "within 2 weeks",
    "routine_but_do_not_miss": ROUTINE,
}

_MOST_UNSETTLED = 3


def urgent_matters(alarms: tuple[Alarm, ...]) -> tuple[Urgent, ...]:
    """Return the rules that are met, in the order in which they were given: the most urgent first."""
    return tuple(_urgent(each, [one.words for one in each.met]) for each in alarms if each.is_met)


def open_rules(alarms: tuple[Alarm, ...]) -> tuple[Urgent, ...]:
    """Return every rule that could not be excluded, with all that would settle it, both knees as one."""
    return both_knees(
        [_urgent(each, [one.ask for one in each.unknown]) for each in alarms if not each.is_met]
    )


def matters_of(urgent: Sequence[Urgent]) -> tuple[Matter, ...]:
    """Return each matter once, in the order given: rules that say the same together, and both knees alike.

    The last may be able to wait (`Matter.can_wait`); they are told apart from the others.
    """
    met: dict[str, set[str]] = {}
    for each in urgent:
        met.setdefault(each.where, set()).add(each.rule)
    leaders = [(each.where, _leader(each.rule, met[each.where])) for each in urgent]
    together: dict[tuple[str, str], list[Urgent]] = {}
    for each, leader in zip(urgent, leaders, strict=True):
        together.setdefault(leader, []).append(each)
    return _both_knees(
        Matter(told=each, also=tuple(one for one in together[leader] if one is not each))
        for each, leader in zip(urgent, leaders, strict=True)
        if each.rule == leader[1]
    )


def both_knees(urgent: Iterable[Urgent]) -> tuple[Urgent, ...]:
    """Return the same, those alike on both knees as one."""
    return tuple(each.told for each in _both_knees(Matter(told=each) for each in urgent))


def _both_knees(matters: Iterable[Matter]) -> tuple[Matter, ...]:
    """Return those alike on both knees as one: of rules told with another only what is shown has to agree."""
    alike: dict[object, list[Matter]] = {}
    for each in matters:
        also = tuple(replace(one, where="", because=()) for one in each.also)
        alike.setdefault((replace(each.told, where=""), also, each.because), []).append(each)
    return tuple(_placed(same[0], "Both knees") if len(same) > 1 else same[0] for same in alike.values())


def _leader(rule: str, met: Collection[str]) -> str:
    """Return the met rule under which another is told; itself when none says it as well."""
    for other in packaged_table("report/said_by.toml").get(rule, ()):
        if other in met:
            return _leader(other, met)
    return rule


def _placed(matter: Matter, where: str) -> Matter:
    return Matter(
        told=replace(matter.told, where=where), also=tuple(replace(each, where=where) for each in matter.also)
    )


_Criterion = tuple[str, str]  # a rule, and the words of one of its criteria


@cache
def _stricter() -> Mapping[_Criterion, frozenset[_Criterion]]:
    """Return the criteria that say the same as others and more, as they are met: by their words."""
    table = packaged_table("report/said_twice.toml")
    words = {(rule, one.id): (rule, one.words) for rule, it in load_rules().items() for one in it.criteria}

    def named(place: str) -> _Criterion:
        rule, _, criterion = place.partition(".")
        return words[rule, criterion]

    return {
        words[rule, criterion]: frozenset(map(named, others))
        for rule, criteria in table.items()
        for criterion, others in criteria.items()
    }


def unsettled_matters(alarms: tuple[Alarm, ...]) -> tuple[tuple[Urgent, ...], int]:
    """Return pressing rules not excluded, with what would settle them, and how many more stay open.

    Of those for now all are told, of the others no more than make three in all.
    """
    still_open = open_rules(alarms)
    pressing = [each for each in still_open if each.when in SOON]
    most = max(_MOST_UNSETTLED, sum(each.when == NOW for each in pressing))
    return tuple(pressing[:most]), len(still_open) - len(pressing[:most])


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
