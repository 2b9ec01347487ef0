"""A day and its timetable as a file: ``fabella.timetable/1``, one JSON object; nobody need be placed yet."""

from __future__ import annotations

import json
import math
from dataclasses import asdict
from typing import Final

from fabella.errors import InputError, Problems, suggestion
from fabella.exam.checking import check_day
from fabella.exam.day import MINUTES_OF_A_DAY, Candidate, Day, Examiner, Round
from fabella.exam.timetable import Duty, Seat, Timetable
from fabella.protocol.fields import Fields, json_object

TIMETABLE_FORMAT: Final = "fabella.timetable/1"
_MOST, _LONGEST_MIN = 10_000, 240


def write_timetable(table: Timetable) -> str:
    """Return the text of a day and of who was placed where; the same timetable gives the same text."""
    day = asdict(table.day)
    for examiner in day["examiners"]:
        examiner["away"] = [{"turn": each} for each in sorted(examiner["away"])]
    tree = {
        "format": TIMETABLE_FORMAT,
        "day": day,
        "seats": [asdict(each) for each in table.seats],
        "duties": [asdict(each) for each in table.duties],
    }
    return json.dumps(tree, ensure_ascii=False, indent=1, sort_keys=True, default=sorted) + "\n"


def read_timetable(text: str | bytes) -> Timetable:
    """Return the timetable written in a text; `InputError` lists everything that is wrong with it.

    A day that contradicts itself is refused. Whether the timetable breaks anything is for `faults` to say.
    """
    problems = Problems()
    fields = Fields("timetable", json_object(text, place="timetable"), problems)
    fields.choice("format", {TIMETABLE_FORMAT: TIMETABLE_FORMAT})
    told = fields.table("day")
    if told is None:
        fields.complain("day", "", "is missing", "write who is there and what is planned")
    day = _day(told) if told else None
    seats = tuple(map(_seat, fields.rows("seats")))
    duties = tuple(map(_duty, fields.rows("duties")))
    fields.finish()
    if problems or day is None:
        raise InputError(problems)
    check_day(day)
    table = Timetable(day=day, seats=seats, duties=duties)
    _strangers(table).raise_any()
    return table


def _day(fields: Fields) -> Day:
    day = Day(
        stations=fields.texts("stations"),
        circuits=fields.texts("circuits"),
        rounds=tuple(map(_round, fields.rows("rounds"))),
        examiners=tuple(map(_examiner, fields.rows("examiners"))),
        candidates=tuple(map(_candidate, fields.rows("candidates"))),
        rests=fields.whole("rests", low=0, high=100) if fields.has("rests") else 0,
        station_min=_positive(fields, "station_min"),
        change_min=_positive(fields, "change_min", low=0.0),
        examiners_each=fields.whole("examiners_each", low=1, high=10) if fields.has("examiners_each") else 1,
        most_rounds=fields.whole("most_rounds", low=1, high=100) if fields.has("most_rounds") else 3,
    )
    fields.finish()
    return day


def _round(fields: Fields) -> Round:
    made = Round(
        begins_min=fields.whole("begins_min", low=0, high=MINUTES_OF_A_DAY - 1), extra_share=_share(fields)
    )
    fields.finish()
    return made


def _examiner(fields: Fields) -> Examiner:
    away = fields.rows("away") if fields.has("away") else ()
    made = Examiner(
        id=fields.text("id"),
        stations=frozenset(fields.texts("stations", optional=True)),
        circuits=frozenset(fields.texts("circuits", optional=True)),
        away=frozenset(map(_turn, away)),
        reserve=fields.flag("reserve", default=False),
    )
    fields.finish()
    return made


def _candidate(fields: Fields) -> Candidate:
    made = Candidate(
        id=fields.text("id"),
        extra_share=_share(fields),
        conflicts=frozenset(fields.texts("conflicts", optional=True)),
        circuits=frozenset(fields.texts("circuits", optional=True)),
    )
    fields.finish()
    return made


def _seat(fields: Fields) -> Seat:
    made = Seat(
        turn=fields.whole("turn", low=0, high=_MOST),
        circuit=fields.text("circuit"),
        first=fields.whole("first", low=0, high=_MOST),
        candidate=fields.text("candidate"),
    )
    fields.finish()
    return made


def _duty(fields: Fields) -> Duty:
    made = Duty(
        turn=fields.whole("turn", low=0, high=_MOST),
        circuit=fields.text("circuit"),
        station=fields.text("station"),
        examiner=fields.text("examiner"),
    )
    fields.finish()
    return made


def _turn(fields: Fields) -> int:
    turn = fields.whole("turn", low=0, high=_MOST)
    fields.finish()
    return turn


def _share(fields: Fields) -> float:
    if not fields.has("extra_share"):
        return 0.0
    share = fields.number("extra_share")
    if not 0 <= share <= 1:  # also what is no number
        fields.complain("extra_share", share, "is no share", "write 0 to 1")
        return 0.0
    return share


def _positive(fields: Fields, field: str, *, low: float = 0.1) -> float:
    minutes = fields.number(field)
    if not low <= minutes <= _LONGEST_MIN:
        if not math.isnan(minutes):
            fields.complain(field, minutes, "is out of range", f"write {low:g} to {_LONGEST_MIN} minutes")
        return 1.0
    return minutes


def _strangers(table: Timetable) -> Problems:
    """Return everybody and everything placed that is not of the day."""
    day, found = table.day, Problems()

    def known(place: str, name: str, allowed: tuple[str, ...]) -> None:
        if name not in allowed:
            found.add(place, name, "is not on this day", suggestion(name, allowed))

    def within(place: str, number: int, count: int) -> None:
        if number >= count:
            found.add(place, str(number), "is out of range", f"count from 0 to {count - 1}")

    candidates = tuple(each.id for each in day.candidates)
    examiners = tuple(each.id for each in day.examiners)
    for number, seat in enumerate(table.seats, start=1):
        place = f"timetable, seats {number}"
        known(f"{place}, candidate", seat.candidate, candidates)
        known(f"{place}, circuit", seat.circuit, day.circuits)
        within(f"{place}, turn", seat.turn, len(day.rounds))
        within(f"{place}, first", seat.first, len(day.places))
    for number, duty in enumerate(table.duties, start=1):
        place = f"timetable, duties {number}"
        known(f"{place}, examiner", duty.examiner, examiners)
        known(f"{place}, circuit", duty.circuit, day.circuits)
        known(f"{place}, station", duty.station, day.stations)
        within(f"{place}, turn", duty.turn, len(day.rounds))
    return found
