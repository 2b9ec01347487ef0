"""Marks as they come in: event by event, each kept once and in order, by the examiner whose sheet it is."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from fabella.errors import InputError
from fabella.exam import OF_THE_LEAD, Act, Folding, SheetEntry, SheetEvent, Station, event_tree, read_event
from fabella.store.batches import Result, read_batch, refused, refused_for, saved, unreadable, used_otherwise
from fabella.store.exams import models
from fabella.store.exams.codes import ExamPass, Kind
from fabella.store.exams.duties import SheetKey, ever_planned
from fabella.store.exams.leading import Stage, after_decision, stage_of
from fabella.store.exams.papers import station_of
from fabella.store.exams.sheets import entries_of
from fabella.store.refusals import Frozen, NotAllowed, NotThere
from fabella.store.router import EXAMS
from fabella.store.writing import writing

MOST_AT_ONCE = 500
MOST_EVENTS = 2000
"""Events a sheet can have: far more than a station needs, so that none grows without end."""

_NOT_OPEN = {
    Stage.DRAFT: "The exam is not open yet. What was marked stays on this device until it is.",
    Stage.CLOSED: "The exam is closed. What was marked stays on this device; tell the exam lead.",
    Stage.RELEASED: "The results are released. What was marked stays on this device; tell the exam lead.",
}


def read_marks(text: str | bytes) -> tuple[Mapping[str, Any], ...]:
    """Return the events of a batch; `InputError` if it is none."""
    return read_batch(text, name="operations", most=MOST_AT_ONCE)


def add_events(
    bearer: ExamPass, batch: Sequence[Mapping[str, Any]], *, device: str, now: datetime
) -> tuple[Result, ...]:
    """Keep what an examiner said on their own sheets, in order, each event once; every one is answered.

    Raises
    ------
    NotAllowed
        When the pass is not an examiner's.
    Frozen
        While the exam is not open: nothing is kept, and everything can be sent again.
    """
    if bearer.kind is not Kind.EXAMINER:
        raise NotAllowed("This is for examiners.")
    desk = _Desk(bearer)
    sent = [desk.read(each) for each in batch]
    with writing(EXAMS):  # everybody waits here: only what has to be done under it
        if (stage := stage_of(bearer.exam_id)) is not Stage.OPEN:
            raise Frozen(_NOT_OPEN[stage])
        keys = [each.key for each in sent if isinstance(each, Sent)]
        keeper = Keeper(bearer.exam_id, keys, device=device, by=bearer.name, now=now)
        return tuple(each if isinstance(each, Result) else keeper.keep(each) for each in sent)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sent:
    """An event as it came in, with its sheet."""

    key: str
    sheet: SheetKey
    event: SheetEvent

    @property
    def text(self) -> str:
        """The event as it is kept."""
        return json.dumps(event_tree(self.event))


class Keeper:
    """Keeps events of one exam while the right to write is held."""

    def __init__(self, exam_id: int, keys: Sequence[str], *, device: str, by: str, now: datetime) -> None:
        self._exam_id, self._device, self._by = exam_id, device, by
        self._now = after_decision(exam_id, now)
        rows = models.MarkEvent.objects.filter(exam_id=exam_id, key__in=keys)
        self._known = {row.key: row for row in rows}
        self._foldings: dict[SheetKey, tuple[Folding, int]] = {}

    def keep(self, sent: Sent) -> Result:
        """Keep one event, unless it is there already or its sheet takes none."""
        if (row := self._known.get(sent.key)) is not None:
            same = (row.candidate, row.station, row.examiner, row.event) == (*sent.sheet.parts, sent.text)
            if not same:
                return used_otherwise(sent.key)
            return saved(sent.key, row.number)
        folding, number = self._folding(sent.sheet)
        if sent.event.act in (Act.SETTLE, Act.LEAVE):
            if not folding.settles(sent.event):
                return refused(sent.key, "holds", "is not in dispute here", "look at the sheet again")
        elif not folding.takes(sent.event, self._device):
            if sent.event.act is Act.REOPEN:
                return refused(sent.key, "event", "opens a sheet that is open", "go on marking")
            return refused(sent.key, "event", "comes after the end", "open the sheet again, with a reason")
        if number >= MOST_EVENTS:
            return refused(sent.key, "event", "is one too many for a sheet", "tell the exam lead")
        candidate, station, examiner = sent.sheet.parts
        self._known[sent.key] = models.MarkEvent.objects.create(
            exam_id=self._exam_id,
            candidate=candidate,
            station=station,
            examiner=examiner,
            number=number + 1,
            key=sent.key,
            event=sent.text,
            device=self._device,
            by=self._by,
            at=self._now,
        )
        folding.add(SheetEntry(number=number + 1, key=sent.key, device=self._device, event=sent.event))
        self._foldings[sent.sheet] = folding, number + 1
        return saved(sent.key, number + 1)

    def _folding(self, sheet: SheetKey) -> tuple[Folding, int]:
        if sheet not in self._foldings:
            entries = entries_of(self._exam_id, sheet)
            self._foldings[sheet] = Folding(entries), len(entries)
        return self._foldings[sheet]


class _Desk:
    """Reads what one examiner has sent: their sheets and stations are looked up once for a batch."""

    def __init__(self, bearer: ExamPass) -> None:
        self._bearer = bearer
        self._own = {each for each in ever_planned(bearer.exam_id) if each.examiner == bearer.person}
        self._stations: dict[str, Station] = {}

    def read(self, given: Mapping[str, Any]) -> Sent | Result:
        """Return an event with its sheet, or why it cannot be kept."""
        if (wrong := unreadable(given)) is not None:
            return wrong
        tree = dict(given)
        key, candidate, station = (tree.pop(name, "") for name in ("id", "candidate", "station"))
        sheet = SheetKey(candidate=str(candidate), station=str(station), examiner=self._bearer.person)
        if sheet not in self._own:
            return refused(key, "sheet", "is not one of yours", "ask the exam lead for the timetable")
        if tree.get("act") in OF_THE_LEAD:
            return refused(key, "act", "is for the exam lead", "tell the exam lead")
        try:
            event = read_event(tree, station=self._station(sheet.station))
        except NotThere:
            return refused(key, "station", "is not there", "tell the exam lead")
        except InputError as error:
            return refused_for(key, error.problems)
        return Sent(key=key, sheet=sheet, event=event)

    def _station(self, name: str) -> Station:
        if name not in self._stations:
            self._stations[name] = station_of(self._bearer.exam_id, name)
        return self._stations[name]
