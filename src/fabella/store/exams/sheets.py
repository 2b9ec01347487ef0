"""Mark sheets as they stand: an examiner's own, and for the lead all of an exam."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Max, QuerySet

from fabella.exam import EMPTY, Attendance, Dispute, Sheet, SheetEntry, Station, fold, read_event
from fabella.store.actor import Actor
from fabella.store.exams import models
from fabella.store.exams.attending import attendance_of
from fabella.store.exams.codes import ExamPass, Kind
from fabella.store.exams.duties import Planned, SheetKey, ever_planned, planned
from fabella.store.exams.leading import exam_of, lead
from fabella.store.exams.papers import station_of, stations_of
from fabella.store.refusals import NotAllowed, NotThere
from fabella.store.remembered import Remembered


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptSheet:
    """A sheet as it stands, with where the timetable has it; ``planned`` None: it has it no more.

    ``away`` is what was said of its candidate where that means that they are not there then.
    """

    key: SheetKey
    sheet: Sheet
    planned: Planned | None
    away: Attendance | None = None

    @property
    def is_excused(self) -> bool:
        """Whether nobody waits for it: it is void, or its candidate is not there, and nothing was judged."""
        return self.sheet.is_void or (self.away is not None and self.sheet.is_blank)


def sheets_of(bearer: ExamPass) -> tuple[KeptSheet, ...]:
    """Return the sheets of an examiner's duties, and any others they wrote on, in order of time."""
    if bearer.kind is not Kind.EXAMINER:
        raise NotAllowed("This is for examiners.")
    return _kept(bearer.exam_id, planned(bearer.exam_id, examiner=bearer.person), examiner=bearer.person)


def all_sheets(actor: Actor, exam_id: int) -> tuple[KeptSheet, ...]:
    """Return every sheet that the timetable wants or that was written on, in order of time, for the lead."""
    lead(actor)
    return _kept(exam_id, planned(exam_id))


def unsettled_of(exam_id: int) -> tuple[tuple[SheetKey, Dispute], ...]:
    """Return every dispute of an exam that is neither settled nor left open with a reason."""
    folded = _folded(exam_id, None)
    return tuple((key, each) for key in sorted(folded) for each in folded[key].unsettled)


def led_sheet(actor: Actor, exam_id: int, key: SheetKey) -> tuple[Sheet, tuple[SheetEntry, ...]]:
    """Return one sheet and its events, for the lead."""
    exam_of(actor, exam_id)
    entries = entries_of(exam_id, key)
    if not entries and key not in ever_planned(exam_id):
        raise NotThere("There is no such sheet.")
    return fold(entries), entries


def entries_of(exam_id: int, key: SheetKey) -> tuple[SheetEntry, ...]:
    """Return the events of one sheet, in order."""
    candidate, station, examiner = key.parts
    rows = models.MarkEvent.objects.filter(
        exam_id=exam_id, candidate=candidate, station=station, examiner=examiner
    )
    found = list(rows.order_by("number").values_list("number", "key", "device", "event"))
    if not found:
        return ()
    kept = station_of(exam_id, station)
    return tuple(_entry(row, kept) for row in found)


def _kept(exam_id: int, wanted: Iterable[Planned], *, examiner: str | None = None) -> tuple[KeptSheet, ...]:
    places = {each.key: each for each in wanted}
    folded, attendance = _folded(exam_id, examiner), attendance_of(exam_id)
    return tuple(
        KeptSheet(
            key=key,
            sheet=folded.get(key, EMPTY),
            planned=places.get(key),
            away=_away(places.get(key), attendance.get(key.candidate)),
        )
        for key in dict.fromkeys((*places, *sorted(folded)))
    )


def _away(place: Planned | None, told: Attendance | None) -> Attendance | None:
    if place is None or told is None or not told.misses(place.stop.begins_min, place.stop.ends_min):
        return None
    return told


# A lead looks at the whole exam every few seconds: sheets on which nothing was added are not folded anew.
_remembered: Remembered[tuple[int, SheetKey], Sheet] = Remembered(20_000)
forget_sheets = _remembered.forget


def _folded(exam_id: int, examiner: str | None) -> dict[SheetKey, Sheet]:
    """Return every sheet of an exam on which something was said, one examiner's alone if named."""
    rows = models.MarkEvent.objects.filter(exam_id=exam_id)
    if examiner is not None:
        rows = rows.filter(examiner=examiner)
    numbers = {
        SheetKey(candidate=candidate, station=station, examiner=name): last
        for candidate, station, name, last in rows.values_list("candidate", "station", "examiner")
        .order_by()
        .annotate(last=Max("number"))
    }
    found = {
        key: sheet
        for key, number in numbers.items()
        if (sheet := _remembered.get((exam_id, key)) or EMPTY).number == number
    }
    new = [key for key in numbers if key not in found]
    if new:
        found |= _fold_all(exam_id, new, rows)
        for key in new:
            _remembered.put((exam_id, key), found[key])
    return {key: found[key] for key in numbers}


def _fold_all(exam_id: int, keys: list[SheetKey], rows: QuerySet[models.MarkEvent]) -> dict[SheetKey, Sheet]:
    stations, wanted, entries = stations_of(exam_id), set(keys), defaultdict(list)
    if len(keys) == 1:
        rows = rows.filter(candidate=keys[0].candidate, station=keys[0].station)
    fields = ("candidate", "station", "examiner", "number", "key", "device", "event")
    for candidate, station, examiner, *row in rows.order_by("number").values_list(*fields):
        key = SheetKey(candidate=candidate, station=station, examiner=examiner)
        if key in wanted:
            entries[key].append(_entry(tuple(row), stations[station]))
    return {key: fold(each) for key, each in entries.items()}


def _entry(row: tuple[int, str, str, str], station: Station) -> SheetEntry:
    number, key, device, event = row
    read = read_event(json.loads(event), station=station)
    return SheetEntry(number=number, key=key, device=device, event=read)
