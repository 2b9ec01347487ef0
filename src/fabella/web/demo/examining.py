"""An exam of the invented clinic: open today, in its second round; nobody in it is real."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date, datetime, timedelta
from itertools import count, cycle
from random import Random
from typing import Any

from fabella.exam import (
    MINUTES_OF_A_DAY,
    Candidate,
    Day,
    Examiner,
    Item,
    Round,
    Station,
    make_timetable,
    propose_station,
    write_station,
    write_timetable,
)
from fabella.protocol import load_protocol
from fabella.store import Actor
from fabella.store.exams.codes import ExamPass, Kind, make_codes
from fabella.store.exams.duties import Planned, planned
from fabella.store.exams.leading import Stage, exams_of, make_exam
from fabella.store.exams.marking import add_events
from fabella.store.exams.opening import move
from fabella.store.exams.papers import STATION, TIMETABLE, put_paper
from fabella.store.short_codes import ALPHABET
from fabella.web.marking.times import minutes, moment

EXAMINER_CODE, CANDIDATE_CODE = "HMNPRTVW", "CDFHJKMN"
"""Of the examiner `EXAMINER` and of the first candidate; everybody may know them."""

TABLET, _SPARE = "7c41e2-tablet", "b90d35-tablet"
EXAMINER, CANDIDATE = "Quill", "C01"
_EXAMINERS = ("Quill", "Lantern", "Thimble", "Bellow", "Acorn", "Pebble", "Kettle", "Marrow")
_RESERVE = "Spindle"
_TOPICS = ("look_and_gait", "effusion", "ligaments", "menisci")
_STATION_MIN, _CHANGE_MIN, _ROUND_MIN = 8.0, 2.0, 60
_ALL_ALIKE, _SLOW = "Lantern", "Thimble"
_PASS = 2
_DISPUTED, _HALF_EMPTY, _UNGRADED = 1, 3, 7  # sheets, counted in order of time
_COMMENTED, _UNSEEN = 0.3, 0.03  # shares of sheets and of items


def examine_when_nobody_did(actor: Actor, *, now: datetime) -> None:
    """Keep the exam unless there is any."""
    if exams_of(actor):
        return
    day = now.astimezone().date()
    before = now - timedelta(days=7)
    exam = make_exam(actor, "Knee examination, year 4", day=day, now=before)
    stations = {each: proposed(each, each, _STATION_MIN) for each in _TOPICS}
    for name, station in stations.items():
        put_paper(actor, exam, STATION + name, write_station(station), now=before)
    table = make_timetable(_day(tuple(stations), minutes(day, now)), seconds=3)
    put_paper(actor, exam, TIMETABLE, write_timetable(table), now=before)
    _give_codes(actor, exam, before)
    move(actor, exam, Stage.OPEN, now=before)
    left = moment(day, table.day.rounds[-1].begins_min)
    _mark(exam, stations, day, now=now, left=left)


def proposed(name: str, topic: str, minutes: float) -> Station:
    """Return a station as it is proposed for a topic."""
    return propose_station(load_protocol(), topic=topic, minutes=minutes, station_id=name).station


def _day(stations: tuple[str, ...], now_min: float) -> Day:
    """Return a day of three rounds, in the second of which it is now; near midnight in another."""
    second = min(max(now_min - 13, _ROUND_MIN), MINUTES_OF_A_DAY - 2 * _ROUND_MIN) // 5 * 5
    return Day(
        stations=stations,
        circuits=("Garden", "Harbour"),
        rounds=tuple(Round(begins_min=int(second) + each * _ROUND_MIN) for each in (-1, 0, 1)),
        examiners=(*(Examiner(id=name) for name in _EXAMINERS), Examiner(id=_RESERVE, reserve=True)),
        candidates=tuple(Candidate(id=f"C{number:02}") for number in range(1, 29)),
        rests=1,
        station_min=_STATION_MIN,
        change_min=_CHANGE_MIN,
    )


def _give_codes(actor: Actor, exam: int, now: datetime) -> None:
    for kind, person, code in (
        (Kind.EXAMINER, EXAMINER, EXAMINER_CODE),
        (Kind.CANDIDATE, CANDIDATE, CANDIDATE_CODE),
    ):
        make_codes(actor, exam, kind, [person], now=now, dice=thrown(code))


def thrown(code: str) -> Callable[[int], int]:
    """Return dice that throw a code."""
    faces = cycle(ALPHABET.index(each) for each in code)
    return lambda _: next(faces)


def _mark(exam: int, stations: dict[str, Station], day: date, *, now: datetime, left: datetime) -> None:
    """Mark everything that is over, and begin what goes on; two sheets are half empty, one is in dispute.

    What was to begin at ``left`` or later is left to whoever tries the sheets, near midnight too.
    """
    dice = Random(11)
    for number, each in enumerate(planned(exam)):
        begins, ends = (moment(day, minute) for minute in (each.stop.begins_min, each.stop.ends_min))
        if begins > now or begins >= left:
            continue
        said = list(_said(each, stations[each.key.station], begins, dice))
        if ends > now:
            said = [
                event
                for event in said
                if event["act"] != "finish" and event["seconds"] < (now - begins).seconds
            ]
        elif number % 41 == _UNGRADED:
            said = [event for event in said if event["act"] != "grade"]
        if number == _HALF_EMPTY:
            said = said[:4]
        events = named_events(each, said)
        keep_events(exam, each, events, device=TABLET, now=min(now, ends))
        if number == _DISPUTED:
            other = named_events(each, [_other(said[2])])
            keep_events(exam, each, other, device=_SPARE, now=min(now, ends))


def _said(each: Planned, station: Station, begins: datetime, dice: Random) -> Iterator[dict[str, Any]]:
    """Yield what an examiner says on one sheet, with the seconds."""
    able = dice.choice([0.45, 0.6, 0.7, 0.75, 0.85])
    length = (each.stop.ends_min - each.stop.begins_min) * 60
    late = 180.0 if each.key.examiner == _SLOW else 0.0

    def at(share: float, **event: Any) -> dict[str, Any]:
        seconds = round(share * length + 5, 1)
        return {**event, "seconds": seconds, "at": (begins + timedelta(seconds=seconds)).isoformat()}

    yield at(0, act="begin")
    for place, item in enumerate(station.items, start=1):
        yield at(0.85 * place / len(station.items), act="mark", item=item.id, mark=marked(item, able, dice))
    grade = (
        _PASS
        if each.key.examiner == _ALL_ALIKE
        else min(4, max(0, round(5 * able - 1 + dice.uniform(-0.6, 0.6))))
    )
    yield at(0.9, act="grade", grade=grade)
    if grade == 0:
        yield at(0.92, act="concern", reason="Went on pressing although the volunteer winced.")
    if dice.random() < _COMMENTED:
        yield at(0.94, act="comment", item="", text="Kind manner; say aloud which knee is which.")
    yield at(0.97 + late / length, act="finish")


def marked(item: Item, able: float, dice: Random, *, unseen: float = _UNSEEN) -> int | str:
    """Return a mark of somebody who earns so large a share of them, and now and then why there is none."""
    if dice.random() < unseen:
        return "not_observed"
    return sum(dice.random() < able for _ in range(item.most))


def _other(event: dict[str, Any]) -> dict[str, Any]:
    """Return another mark of the same item, as a second tablet gives it that has not seen the first."""
    return {**event, "mark": 0 if event["mark"] else 1}


_numbers = count()


def named_events(each: Planned, said: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return events of one sheet with ids of their own."""
    about = {"candidate": each.key.candidate, "station": each.key.station}
    return [{**event, **about, "id": f"invented-exam-event-{next(_numbers):06}"} for event in said]


def keep_events(
    exam: int, each: Planned, events: list[dict[str, Any]], *, device: str, now: datetime
) -> None:
    """Keep events of one sheet as from a tablet of its examiner."""
    bearer = ExamPass(code_id=0, exam_id=exam, kind=Kind.EXAMINER, person=each.key.examiner)
    for result in add_events(bearer, events, device=device, now=now):
        if result.problems:
            raise ValueError("; ".join(map(str, result.problems)))
