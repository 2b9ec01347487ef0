"""Two exams of the invented clinic that were held: one closed, one released; nobody in them is real."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from random import Random
from typing import Any, Final

from fabella.exam import (
    Candidate,
    Day,
    Examiner,
    Round,
    Station,
    make_timetable,
    write_station,
    write_timetable,
)
from fabella.store import Actor
from fabella.store.exams.codes import Kind, make_codes
from fabella.store.exams.duties import Planned, planned
from fabella.store.exams.leading import Stage, exams_of, make_exam
from fabella.store.exams.opening import move
from fabella.store.exams.papers import STATION, TIMETABLE, put_paper
from fabella.store.exams.results import keep_result
from fabella.store.exams.settling import reopen
from fabella.store.exams.sheets import led_sheet
from fabella.web.analysing.freezing import freeze
from fabella.web.analysing.worked import decision_text
from fabella.web.demo.examining import TABLET, keep_events, marked, named_events, proposed, thrown
from fabella.web.examining.drafting import ORDER, draft_of, write_order
from fabella.web.marking.times import moment

CLOSED, RELEASED = "Knee examination, year 3", "Knee examination, year 5"
PASSED, PASSED_CODE = "G10", "FJMPRVXC"
FAILED, FAILED_CODE = "G11", "HKNRTWY4"
"""Two candidates of the released exam with their codes; everybody may know them."""

_STATIONS = (("1", "ligaments"), ("2", "menisci"), ("3", "patella"), ("4", "effusion"))
_EXAMINERS = ("Anvil", "Bobbin", "Candle", "Dibber")
_BEGINS_MIN, _ROUND_MIN, _STATION_MIN = 9 * 60, 60, 10.0
_COMMENTS = (
    "Kind manner; say aloud which knee is which.",
    "Well ordered. Support the thigh before you bend the knee.",
    "Compare with the sound knee before you name a finding.",
)
_COMMENTED, _UNSEEN = 0.5, 0.005  # shares of sheets and of items
_REOPENED: Final = "one line too low, seen while adding up"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Past:
    """An exam that was held: how long ago, how many stations and rounds, the letter of its candidates."""

    name: str
    days_ago: int
    stations: int
    rounds: int
    letter: str
    seed: int


_PAST = (
    _Past(name=CLOSED, days_ago=3, stations=3, rounds=3, letter="H", seed=5),
    _Past(name=RELEASED, days_ago=30, stations=4, rounds=4, letter="G", seed=8),
)


def hold_when_nobody_did(actor: Actor, *, now: datetime) -> None:
    """Keep the exams that are over, unless they are there."""
    if any(each.name == RELEASED for each in exams_of(actor)):
        return
    closed, released = (_hold(actor, each, now) for each in _PAST)
    now -= timedelta(days=2)
    move(actor, closed, Stage.CLOSED, now=now)
    for name, code in ((PASSED, PASSED_CODE), (FAILED, FAILED_CODE)):
        make_codes(actor, released, Kind.CANDIDATE, [name], now=now, dice=thrown(code))
    move(actor, released, Stage.CLOSED, now=now)
    now += timedelta(hours=1)
    frozen = freeze(actor, draft_of(actor, released))
    keep_result(actor, released, decision_text(frozen), now=now)
    move(actor, released, Stage.RELEASED, now=now + timedelta(days=1))


def _hold(actor: Actor, past: _Past, now: datetime) -> int:
    """Make an exam, open it and mark everybody; a sheet of the one who fails is opened again."""
    day = (now - timedelta(days=past.days_ago)).astimezone().date()
    begins = moment(day, _BEGINS_MIN)
    before = begins - timedelta(days=7)
    exam = make_exam(actor, past.name, day=day, now=before)
    stations = {name: proposed(name, topic, _STATION_MIN) for name, topic in _STATIONS[: past.stations]}
    for name, station in stations.items():
        put_paper(actor, exam, STATION + name, write_station(station), now=before)
    put_paper(actor, exam, ORDER, write_order(list(stations)), now=before)
    table = make_timetable(_day(past, tuple(stations)), seconds=3)
    put_paper(actor, exam, TIMETABLE, write_timetable(table), now=before)
    people = [each.id for each in table.day.examiners]
    make_codes(actor, exam, Kind.EXAMINER, people, now=before, dice=Random(past.seed).randrange)
    move(actor, exam, Stage.OPEN, now=before)
    dice = Random(past.seed)
    able = {each.id: min(max(dice.gauss(0.68, 0.13), 0.25), 0.95) for each in table.day.candidates}
    for each in planned(exam):
        said = list(_said(each, stations[each.key.station], able[each.key.candidate], day, dice))
        _keep(exam, each, said, day)
        if (each.key.candidate, each.key.station) == (FAILED, _STATIONS[0][0]):
            _mend(actor, exam, each, said, day)
    return exam


def _day(past: _Past, stations: tuple[str, ...]) -> Day:
    people = range(1, past.rounds * len(stations) + 1)
    return Day(
        stations=stations,
        circuits=("A",),
        rounds=tuple(Round(begins_min=_BEGINS_MIN + each * _ROUND_MIN) for each in range(past.rounds)),
        examiners=tuple(
            Examiner(id=name, stations=frozenset({each}))
            for name, each in zip(_EXAMINERS, stations, strict=False)
        ),
        candidates=tuple(Candidate(id=f"{past.letter}{number:02}") for number in people),
        station_min=_STATION_MIN,
        change_min=2.0,
        most_rounds=past.rounds,
    )


def _said(each: Planned, station: Station, able: float, day: date, dice: Random) -> Iterator[dict[str, Any]]:
    """Yield what an examiner says on one sheet; the grade goes with the marks, and not only with them."""
    length_s = 60 * (each.stop.ends_min - each.stop.begins_min)

    def at(share: float, **event: Any) -> dict[str, Any]:
        seconds = round(share * length_s, 1)
        when = moment(day, each.stop.begins_min) + timedelta(seconds=seconds)
        return {**event, "seconds": seconds, "at": when.isoformat()}

    yield at(0.01, act="begin")
    earned = 0.0
    for place, item in enumerate(station.items, start=1):
        mark = marked(item, able, dice, unseen=_UNSEEN)
        earned += mark / item.most if isinstance(mark, int) else able
        yield at(0.85 * place / len(station.items), act="mark", item=item.id, mark=mark)
    whole = 7.5 * earned / len(station.items) - 2.7 + dice.gauss(0, 0.45)
    yield at(0.9, act="grade", grade=min(4, max(0, round(whole))))
    if dice.random() < _COMMENTED:
        yield at(0.94, act="comment", item="", text=dice.choice(_COMMENTS))
    yield at(0.97, act="finish")


def _mend(actor: Actor, exam: int, each: Planned, said: list[dict[str, Any]], day: date) -> None:
    """Open a finished sheet again, and mend one mark."""
    later = moment(day, each.stop.ends_min) + timedelta(minutes=4)
    sheet, _ = led_sheet(actor, exam, each.key)
    reopen(
        actor,
        exam,
        each.key,
        reason=_REOPENED,
        seen=sheet.number,
        now=later,
        name=lambda: f"reopened-in-the-demo-{exam:06}",
    )
    again = {"seconds": 60 * _STATION_MIN + 300, "at": later.isoformat(), "seen": sheet.number + 1}
    mark = 0 if said[1]["mark"] else 1
    _keep(exam, each, [{**said[1], **again, "mark": mark}, {"act": "finish", **again}], day)


def _keep(exam: int, each: Planned, said: list[dict[str, Any]], day: date) -> None:
    """Keep what was said on a sheet, as from the tablet of its examiner."""
    ended = moment(day, each.stop.ends_min)
    keep_events(exam, each, named_events(each, said), device=TABLET, now=ended)
