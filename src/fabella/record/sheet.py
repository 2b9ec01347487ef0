"""What stands on the sheet: the entries of an examination, applied in order, with who wrote what.

An entry is never applied over something that its author had not seen and somebody else had written: it is
kept beside it as a conflict until one of them, having seen both, states what holds.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from fabella.record.examination import Examination
from fabella.record.finding import Finding, State
from fabella.record.operation import Change, Mode, Operation, Step
from fabella.record.statement import Key, Value, with_statements

SEEN = "seen"
"""The key under which a payload lists the operations that its author had before them, newer than the base."""


@dataclass(frozen=True, slots=True)
class Writer:
    """Who wrote, and on which device.

    What they wrote there themselves they are taken to have seen, unless an operation tells what was on its
    screen: two windows of one browser may show different things.
    """

    author: str
    device: str


@dataclass(frozen=True, slots=True)
class Entry:
    """An operation as it was accepted: ``version`` is its number in the examination, from 1 without gaps."""

    version: int
    writer: Writer
    operation: Operation

    def saw(self, other: Entry) -> bool:
        """Return whether its author had an earlier entry before them when they made it."""
        if other.version <= self.operation.base:
            return True
        seen = self.operation.payload.get(SEEN)
        return other.operation.id in seen if isinstance(seen, list) else other.writer == self.writer


@dataclass(frozen=True, slots=True)
class Stated:
    """One value of one statement, with the entry that wrote it, and those that stated the same since."""

    value: Value
    entry: Entry
    seconded: tuple[Entry, ...] = ()

    @property
    def version(self) -> int:
        """The version in which it was written."""
        return self.entry.version

    @property
    def writer(self) -> Writer:
        """Who wrote it."""
        return self.entry.writer

    def is_seen_by(self, entry: Entry) -> bool:
        """Return whether the author of a later entry knew of everybody who had stated it."""
        return all(entry.saw(each) for each in (self.entry, *self.seconded))


@dataclass(frozen=True, slots=True)
class Sheet:
    """The state of an examination after all its entries.

    Parameters
    ----------
    version
        The version of the last entry; 0 when nothing was written.
    stated
        The last value of every statement, None where it was taken back, in the order of first stating.
    conflicts
        For each statement in dispute what others wrote beside it, the latest of each writer.
    contested
        The versions of all entries that were ever in conflict.
    """

    version: int = 0
    stated: Mapping[Key, Stated] = field(default_factory=dict)
    conflicts: Mapping[Key, tuple[Stated, ...]] = field(default_factory=dict)
    contested: frozenset[int] = frozenset()

    def onto(self, blank: Examination) -> Examination:
        """Return a blank examination with everything that stands on the sheet; conflicts change nothing."""
        return with_statements(blank, {key: each.value for key, each in self.stated.items()})


EMPTY = Sheet()
_TAKING_BACK = (Mode.CLEAR, Mode.UNFILL)


def fold(entries: Iterable[Entry], start: Sheet = EMPTY) -> Sheet:
    """Return the sheet after further entries, which must follow ``start`` without a gap."""
    stated, conflicts = dict(start.stated), dict(start.conflicts)
    contested, version = set(start.contested), start.version
    for entry in entries:
        if entry.version != version + 1:
            raise ValueError(f"entry {entry.version} does not follow entry {version}")
        version = entry.version
        for step in entry.operation.steps:
            if not _apply(step, entry, stated, conflicts):
                contested.add(version)
    return Sheet(version, MappingProxyType(stated), MappingProxyType(conflicts), frozenset(contested))


def _apply(
    step: Step, entry: Entry, stated: dict[Key, Stated], conflicts: dict[Key, tuple[Stated, ...]]
) -> bool:
    """Apply one step, and return whether it met no conflict."""
    if _is_idle(step, stated):
        return True
    key = step.key
    last, beside = stated.get(key), conflicts.get(key, ())
    now = None if last is None else last.value
    new = Stated(None if step.mode in _TAKING_BACK else step.value, entry)
    if last is not None and not last.is_seen_by(entry) and _disagrees(step, now):
        others = (each for each in beside if each.writer != entry.writer or not entry.saw(each.entry))
        conflicts[key] = (*others, new)
        return False
    if _changes(step, now):
        if now is None:
            stated.pop(key, None)  # what is stated anew comes last
        stated[key] = new
    elif last is not None and step.mode is Mode.SET:
        stated[key] = replace(last, seconded=(*last.seconded, entry))
    if step.mode is Mode.SET and all(entry.saw(each.entry) for each in beside):
        conflicts.pop(key, None)
    return True


def _is_idle(step: Step, stated: Mapping[Key, Stated]) -> bool:
    """Return whether a step asks nothing: a fill beside an abnormal finding, an unfill of no fill."""
    match step.mode:
        case Mode.FILL:
            return any(_is_abnormal(stated.get(each)) for each in step.under)
        case Mode.UNFILL:
            last = stated.get(step.key)
            return last is None or last.entry.operation.change is not Change.MARK_NORMAL
        case _:
            return False


def _disagrees(step: Step, now: Value) -> bool:
    if step.mode in _TAKING_BACK:
        return _is_plain_normal(now)
    return step.value != now and not (step.mode is Mode.FILL and _is_normal(now))


def _changes(step: Step, now: Value) -> bool:
    match step.mode:
        case Mode.SET:
            return step.value != now
        case Mode.FILL:
            return now is None
        case Mode.CLEAR | Mode.UNFILL:
            return _is_plain_normal(now)


def _is_abnormal(last: Stated | None) -> bool:
    return last is not None and isinstance(last.value, Finding) and last.value.state is State.ABNORMAL


def _is_normal(value: Value) -> bool:
    return isinstance(value, Finding) and value.state is State.NORMAL


def _is_plain_normal(value: Value) -> bool:
    """Return whether a finding says no more than one touch says."""
    return isinstance(value, Finding) and value == Finding(
        sign=value.sign, side=value.side, state=State.NORMAL
    )
