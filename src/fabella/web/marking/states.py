"""An examiner's stations, sheets and bells as the scripts of a tablet read them."""

from __future__ import annotations

from datetime import date
from typing import Any

from fabella.exam import Dispute, Station, Stop, kinds_of
from fabella.store.exams.codes import ExamPass
from fabella.store.exams.leading import KeptExam, kept_exam
from fabella.store.exams.papers import timetable_of
from fabella.store.exams.sheets import KeptSheet, sheets_of
from fabella.store.exams.stations import readable_stations
from fabella.store.refusals import Unreadable
from fabella.web.marking.times import milliseconds, moment
from fabella.web.marking.wording import away_words, value_words

_Tree = dict[str, Any]


def marking_tree(bearer: ExamPass) -> _Tree:
    """Return everything that an examiner may see of their exam; `Unreadable` where a station of theirs is."""
    exam, sheets, found = kept_exam(bearer.exam_id), sheets_of(bearer), readable_stations(bearer.exam_id)
    own = {each.key.station for each in sheets}
    if wrong := [says for name, says in found.unread.items() if name in own]:
        raise Unreadable("\n".join(wrong))
    stations = {name: each for name, each in found.read.items() if name in own}
    return {
        "exam": exam.name,
        "day": exam.day.isoformat(),
        "stage": exam.stage.value,
        "person": bearer.person,
        "name": bearer.name,
        "stations": {name: _station_tree(each) for name, each in stations.items()},
        "sheets": [
            _sheet(each, exam.day, stations[each.key.station])
            for each in sheets
            if each.key.station in stations
        ],
        "bells": _bells(exam),
    }


def _station_tree(station: Station) -> _Tree:
    names = {each.id: each.name for each in kinds_of(station.items)}
    return {
        "title": station.title,
        "minutes": station.minutes,
        "task": station.task,
        "items": [
            {
                "id": each.id,
                "words": each.words,
                "domain": names[each.domain],
                "anchors": list(each.anchors),
                "critical": each.critical,
            }
            for each in station.items
        ],
        "grades": [{"code": each.code, "name": each.name, "words": each.words} for each in station.grades],
    }


def _sheet(kept: KeptSheet, day: date, station: Station) -> _Tree:
    sheet, stop = kept.sheet, kept.planned.stop if kept.planned else None
    return {
        "candidate": kept.key.candidate,
        "station": kept.key.station,
        "turn": kept.planned.turn if kept.planned else None,
        "circuit": stop.circuit if stop else "",
        "begins": _ms(day, stop, begins=True),
        "ends": _ms(day, stop, begins=False),
        "number": sheet.number,
        "marks": dict(sheet.marks),
        "grade": sheet.grade,
        "comments": dict(sheet.comments),
        "concern": sheet.concern,
        "began": milliseconds(sheet.began) if sheet.began else None,
        "finished": sheet.finished,
        "reopened": list(sheet.reopened),
        "disputes": [_dispute(each, station) for each in sheet.disputes],
        "away": away_words(kept.away) if kept.away else "",
        "instead": kept.instead,
    }


def _ms(day: date, stop: Stop | None, *, begins: bool) -> int | None:
    return None if stop is None else milliseconds(moment(day, stop.begins_min if begins else stop.ends_min))


def _dispute(each: Dispute, station: Station) -> _Tree:
    values = [value_words(each.about, each.item, one.value, station) for one in each.choices]
    return {"about": each.about.value, "item": each.item, "values": values, "left": each.left}


def _bells(exam: KeptExam) -> list[_Tree]:
    """Return every time at the stations of the day, empty places included: the bell rings for all."""
    table = timetable_of(exam.id)
    if table is None:
        return []
    day, found = table.day, []
    for turn, each in enumerate(day.rounds):
        slot = day.slot_min(turn)
        for step in range(len(day.places)):
            begins = each.begins_min + step * slot
            found.append(
                {
                    "turn": turn,
                    "begins": milliseconds(moment(exam.day, begins)),
                    "ends": milliseconds(moment(exam.day, begins + slot - day.change_min)),
                }
            )
    return found
