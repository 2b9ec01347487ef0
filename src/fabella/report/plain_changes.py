"""What has truly changed since the last visit about the same knee, in the plain words of a patient's page."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from types import MappingProxyType

from fabella.anatomy import Side
from fabella.follow import ChangeVerdict, Course, Importance
from fabella.packaged import packaged_table
from fabella.record import Examination
from fabella.report.since_words import compared_with
from fabella.workup import Workup

MOST_CHANGES = 3
"""Changes told to a patient; the talk and the letter have the rest (judgement)."""

BEFORE = "That was before your operation."

_TRUE = (ChangeVerdict.TRUE_CHANGE_WORSE, ChangeVerdict.TRUE_CHANGE_BETTER)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plain:
    """A change for the better and for the worse; ``{side}`` stands for the knee where it is of one."""

    better: str
    worse: str

    @property
    def is_of_a_knee(self) -> bool:
        """Whether it has to be said of which knee."""
        return "{side}" in self.better

    def words(self, verdict: ChangeVerdict) -> str:
        """Return what is said of a true change."""
        return self.worse if verdict is ChangeVerdict.TRUE_CHANGE_WORSE else self.better


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainChanges:
    """What has changed since the visit of a day, in plain sentences: what is worse first."""

    day: date
    told: tuple[str, ...]


def plain_changes(workup: Workup, earlier: Sequence[Workup | Examination]) -> PlainChanges | None:
    """Return what a patient is told of what has changed since the last visit; None when that is nothing.

    Raises `InputError` for an earlier examination of another patient, without a day or not earlier.
    """
    before = next(compared_with(workup, earlier), None)
    told = () if before is None else tuple(_told(before.course))[:MOST_CHANGES]
    if before is None or not told:
        return None
    return PlainChanges(day=before.day, told=(*((BEFORE,) if before.before_operation else ()), *told))


def _told(course: Course) -> Iterator[str]:
    """Yield what is worse, then what is better; nothing where two signs of one thing say both."""
    seen: dict[tuple[Plain, Side | None], set[ChangeVerdict]] = {}
    for name, side, verdict in _verdicts(course):
        if name in load_plain_changes() and verdict in _TRUE:
            seen.setdefault((load_plain_changes()[name], side), set()).add(verdict)
    for wanted in _TRUE:
        for (plain, side), verdicts in seen.items():
            if verdicts == {wanted} and (side or not plain.is_of_a_knee):
                yield plain.words(wanted).format(side=side)


def _verdicts(course: Course) -> Iterator[tuple[str, Side | None, ChangeVerdict]]:
    for measure in course.measures:
        if measure.steps:
            yield measure.sign, measure.side, measure.steps[-1].verdict
    for grade in course.grades:
        if grade.steps:
            yield grade.sign, grade.side, grade.steps[-1].verdict
    for total in course.totals:
        if total.steps and total.steps[-1].importance is Importance.IMPORTANT:
            yield total.score, total.side, total.steps[-1].verdict


@cache
def load_plain_changes() -> Mapping[str, Plain]:
    """Return the words for each sign or score that has any."""
    rows = packaged_table("report/plain_changes.toml")["change"]
    return MappingProxyType(
        {name: Plain(better=row["better"], worse=row["worse"]) for row in rows for name in row["signs"]}
    )
