"""Mark sheets as they stand: an examiner's own, and for the lead all of an exam."""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from django.db.models import Max, QuerySet

from fabella.exam import EMPTY, Attendance, Dispute, Sheet, SheetEntry, Station, fold, read_event
from fabella.store.actor import Actor
from fabella.store.exams import models
from fabella.store.exams.attending import attendance_of
from fabella.store.exams.codes import ExamPass, Kind
from fabella.store.exams.duties import Duties, Planned, SheetKey, duties_of, ever_planned
from fabella.store.exams.leading import exam_of, lead
from fabella.store.exams.papers import station_of
from fabella.store.exams.stations import readable_stations, stations_of
from fabella.store.kept import reading_kept
from fabella.store.refusals import NotAllowed, NotThere
from fabella.store.remembered import Remembered


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptSheet:
    """A sheet as it stands, with where the timetable has it; ``planned`` None: it has it no more.

    ``circuit`` is its candidate's, that of the latest timetable that had them. ``away`` is what was said of
    its candidate where that means that they are not there then. ``instead`` names who marked the candidate
    there in its examiner's place, as where one took over in the middle of a round; empty: nobody.
    """

    key: SheetKey
    sheet: Sheet
    planned: Planned | None
    circuit: str
    away: Attendance | None = None
    instead: str = ""

    @property
    def is_excused(self) -> bool:
        """Whether nobody waits for it: nothing was judged, and it is void, its candidate away or marked."""
        return self.sheet.is_void or (self.sheet.is_blank and (self.away is not None or bool(self.instead)))


def sheets_of(bearer: ExamPass) -> tuple[KeptSheet, ...]:
    """Return the sheets of an examiner's duties, and any others they wrote on, in order of time."""
    if bearer.kind is not Kind.EXAMINER:
        raise NotAllowed("This is for examiners.")
    exam_id, person, duties = bearer.exam_id, bearer.person, duties_of(bearer.exam_id)
    own = tuple(each for each in duties.planned if each.key.examiner == person)
    folded, others = _folded(exam_id, {person}), duties.shared(own)
    beside = folded | _folded(exam_id, others) if others else folded
    return _kept(exam_id, duties, own, folded, beside=beside)


def all_sheets(actor: Actor, exam_id: int) -> tuple[KeptSheet, ...]:
    """Return every sheet that the timetable wants or that was written on, in order of time, for the lead.

    Raises `Unreadable` where a station is: what rests on all sheets is not told of some.
    """
    lead(actor)
    stations_of(exam_id)
    return readable_sheets(actor, exam_id, ())


def readable_sheets(actor: Actor, exam_id: int, unread: Collection[str]) -> tuple[KeptSheet, ...]:
    """Return the same, to be looked at, without those of stations that cannot be read, given by id."""
    lead(actor)
    duties, folded = duties_of(exam_id), _folded(exam_id)
    wanted = tuple(each for each in duties.planned if each.key.station not in unread)
    return _kept(exam_id, duties, wanted, folded, beside=folded)


def unsettled_of(exam_id: int) -> tuple[tuple[SheetKey, Dispute], ...]:
    """Return every dispute that is neither settled nor left open, at stations that can be read."""
    folded = _folded(exam_id)
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
    return tuple(_entry(key, row, kept) for row in found)


def _kept(
    exam_id: int,
    duties: Duties,
    wanted: Iterable[Planned],
    folded: Mapping[SheetKey, Sheet],
    *,
    beside: Mapping[SheetKey, Sheet],
) -> tuple[KeptSheet, ...]:
    """Return sheets as they stand; ``beside`` holds all that could have been marked in their place."""
    places = {each.key: each for each in wanted}
    attendance, circuits, instead = attendance_of(exam_id), dict(duties.circuits), _instead(duties, beside)
    standing = [(key, place, folded.get(key, EMPTY)) for key, place in places.items()]
    beyond = [(key, None, folded[key]) for key in sorted(folded.keys() - places.keys())]
    return tuple(
        KeptSheet(
            key=key,
            sheet=sheet,
            planned=place,
            circuit=circuits[key.candidate],
            away=_away(place, attendance.get(key.candidate)),
            instead=instead.get((key.candidate, key.station), "") if sheet.is_blank else "",
        )
        for key, place, sheet in (*standing, *beyond)
    )


def _instead(duties: Duties, folded: Mapping[SheetKey, Sheet]) -> dict[tuple[str, str], str]:
    """Return who marked each candidate at each station, where as many did as the timetable wants there."""
    wrote = defaultdict[tuple[str, str], list[str]](list)
    for key, sheet in folded.items():
        if not sheet.is_blank:
            wrote[key.candidate, key.station].append(key.examiner)
    wanted = Counter((each.key.candidate, each.key.station) for each in duties.planned)
    return {place: ", ".join(sorted(names)) for place, names in wrote.items() if len(names) >= wanted[place]}


def _away(place: Planned | None, told: Attendance | None) -> Attendance | None:
    if place is None or told is None or not told.misses(place.stop.begins_min, place.stop.ends_min):
        return None
    return told


# A lead looks at the whole exam every few seconds: sheets on which nothing was added are not folded anew.
_remembered: Remembered[tuple[int, SheetKey], Sheet] = Remembered(20_000)
forget_sheets = _remembered.forget


def _folded(exam_id: int, examiners: Collection[str] | None = None) -> dict[SheetKey, Sheet]:
    """Return every sheet of an exam on which something was said, those of some examiners alone if named.

    Sheets of stations that cannot be read are left out.
    """
    rows = models.MarkEvent.objects.filter(exam_id=exam_id)
    if examiners is not None:
        rows = rows.filter(examiner__in=examiners)
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
            if key in found:
                _remembered.put((exam_id, key), found[key])
    return {key: found[key] for key in numbers if key in found}


def _fold_all(exam_id: int, keys: list[SheetKey], rows: QuerySet[models.MarkEvent]) -> dict[SheetKey, Sheet]:
    stations, entries = readable_stations(exam_id), defaultdict(list)
    wanted = {each for each in keys if each.station not in stations.unread}
    if len(keys) == 1:
        rows = rows.filter(candidate=keys[0].candidate, station=keys[0].station)
    fields = ("candidate", "station", "examiner", "number", "key", "device", "event")
    for candidate, station, examiner, *row in rows.order_by("number").values_list(*fields):
        key = SheetKey(candidate=candidate, station=station, examiner=examiner)
        if key in wanted:
            entries[key].append(_entry(key, tuple(row), stations.read[station]))
    return {key: fold(each) for key, each in entries.items()}


def _entry(sheet: SheetKey, row: tuple[int, str, str, str], station: Station) -> SheetEntry:
    number, key, device, event = row
    with reading_kept(f"Mark {number} of {sheet.candidate} at {sheet.station}"):
        read = read_event(json.loads(event), station=station)
    return SheetEntry(number=number, key=key, device=device, event=read)
