"""A mark sheet from its events: what replaces what, what stands beside it, and what comes too late.

Two devices that say different things unseen of each other are never merged: both stay, the first to arrive
stands for the moment, and the exam lead says which holds.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from types import MappingProxyType

from fabella.exam.sheet import Choice, Dispute, Sheet, SheetEntry, Subject
from fabella.exam.sheet_events import STATEMENTS, Act, Missing, SheetEvent


class Folding:
    """A sheet while events are added to it."""

    def __init__(self, entries: Iterable[SheetEntry] = ()) -> None:
        self._heads: dict[Subject, tuple[Choice, ...]] = {}
        self._left: dict[Subject, str] = {}
        self._said: dict[str, SheetEntry] = {}
        self._finishes: list[SheetEntry] = []
        self._finishers: dict[str, None] = {}
        self._reopened: list[str] = []
        self._began: datetime | None = None
        self._finished = False
        self._number = 0
        self._void = ""
        for each in entries:
            self.add(each)

    def takes(self, event: SheetEvent, device: str) -> bool:
        """Say whether an event may be added.

        A finished sheet takes none from who knows that it is, and only one that is blank can be void.
        """
        if event.act is Act.VOID:
            return not self._void and self.sheet().is_blank
        if event.act is Act.HELD:
            return bool(self._void)
        if event.act in {Act.SETTLE, Act.LEAVE, Act.BEGIN, Act.FINISH} or self._is_late(event, device):
            return True
        return self._finished is (event.act is Act.REOPEN)

    def settles(self, event: SheetEvent) -> bool:
        """Say whether a settlement names something said there, or what is left open is in dispute."""
        heads = self._heads.get((event.about or Act.MARK, event.item), ())
        return _differ(heads) and (event.act is Act.LEAVE or event.holds in {each.key for each in heads})

    def add(self, entry: SheetEntry) -> None:
        """Add an event that the sheet takes."""
        event = entry.event
        self._number, self._said[entry.key] = entry.number, entry
        if event.act in STATEMENTS:
            self._state(entry)
        elif event.act is Act.SETTLE:
            self._settle(entry)
        elif event.act is Act.LEAVE:
            self._left[event.about or Act.MARK, event.item] = event.reason
        elif event.act in (Act.VOID, Act.HELD):
            self._void = event.reason if event.act is Act.VOID else ""
        elif event.act is Act.BEGIN:
            self._began = self._began or event.moment
        elif event.act is Act.FINISH:
            self._finishers.setdefault(entry.device)
            if not self._finished and not self._is_late(event, entry.device):
                self._finished = True
                self._finishes.append(entry)
        else:
            self._finished = False
            self._reopened.append(event.reason)

    def sheet(self) -> Sheet:
        """Return the sheet as it stands."""
        standing = {
            subject: heads[0].value for subject, heads in self._heads.items() if subject not in self._left
        }
        said = {subject: value for subject, value in standing.items() if value is not None}
        last = self._finishes[-1].event if self._finishes else None
        grade, concern = said.get((Act.GRADE, "")), said.get((Act.CONCERN, ""))
        marks = {
            item: value
            for (about, item), value in said.items()
            if about is Act.MARK and isinstance(value, int | Missing)
        }
        comments = {item: str(value) for (about, item), value in said.items() if about is Act.COMMENT}
        return Sheet(
            number=self._number,
            marks=MappingProxyType(marks),
            grade=grade if isinstance(grade, int) else None,
            comments=MappingProxyType(comments),
            concern=str(concern or ""),
            began=self._began,
            ended=last.moment if last else None,
            ended_s=last.seconds if last else None,
            finished=self._finished,
            reopened=tuple(self._reopened),
            disputes=tuple(
                Dispute(about=about, item=item, choices=heads, left=self._left.get((about, item), ""))
                for (about, item), heads in self._heads.items()
                if _differ(heads)
            ),
            finishers=tuple(self._finishers),
            void=self._void,
        )

    def _state(self, entry: SheetEntry) -> None:
        """Put a statement in the place of what its device had seen, beside what it had not."""
        event = entry.event
        subject, is_late = (event.act, event.item), self._is_late(event, entry.device)
        heads = self._heads.get(subject, ())
        self._left.pop(subject, None)  # something new was said: it has to be looked at again
        if not heads and is_late:
            heads = (Choice(key="", value=None, device="", number=self._finishes[-1].number),)
        made = Choice(
            key=entry.key, value=event.value, device=entry.device, number=entry.number, is_late=is_late
        )
        left = tuple(each for each in heads if not self._knows(entry, each, is_late=is_late))
        is_first = not left or heads[0] is not left[0]
        self._heads[subject] = (made, *left) if is_first else (*left, made)

    def _knows(self, entry: SheetEntry, head: Choice, *, is_late: bool) -> bool:
        """Say whether a statement replaces an earlier one: it does where its device had that before it.

        What stood when the sheet was finished elsewhere is not replaced by a device that did not know.
        """
        if is_late:
            return head.is_late and head.device == entry.device
        return head.device == entry.device or head.number <= entry.event.seen

    def _settle(self, entry: SheetEntry) -> None:
        event = entry.event
        subject = (event.about or Act.MARK, event.item)
        value = self._said[event.holds].event.value if event.holds else None
        held = Choice(key=event.holds, value=value, device=entry.device, number=entry.number)
        self._heads[subject] = (held,)
        self._left.pop(subject, None)

    def _is_late(self, event: SheetEvent, device: str) -> bool:
        """Say whether the sheet had been finished elsewhere, and the device did not know."""
        return any(each.number > event.seen and each.device != device for each in self._finishes)


def _differ(heads: tuple[Choice, ...]) -> bool:
    return any(each.value != heads[0].value for each in heads)


def fold(entries: Iterable[SheetEntry]) -> Sheet:
    """Return the sheet that events make, in the order of their numbers."""
    return Folding(entries).sheet()
