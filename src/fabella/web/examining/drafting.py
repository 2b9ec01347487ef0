"""The exam as it is written so far: its stations in order, its plan and people, and the day they make."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from fabella.errors import InputError, Problems
from fabella.exam import Day, Station, Timetable
from fabella.exam import check_day as check
from fabella.store import Actor, Unreadable
from fabella.store.exams.leading import KeptExam, exam_of
from fabella.store.exams.papers import (
    STATION,
    TIMETABLE,
    KeptPaper,
    papers_of,
    timetable_in,
)
from fabella.store.exams.stations import read_stations
from fabella.web.examining.day_plan import PLAN, Plan, read_plan, typed_plan
from fabella.web.examining.people import CANDIDATES, EXAMINERS, People, read_people

ORDER: Final = "order"
"""Names the paper that keeps the order of the stations, a JSON list of ids; those it omits come last."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """What the team has written; ``papers`` by name, those alone that hold.

    ``ids`` are of all stations, in the order of the circuit, ``stations`` those that could be read, and
    ``unread`` says of each other one, by id, what is wrong with it (`readable_draft`; else there is none).
    """

    exam: KeptExam
    ids: tuple[str, ...]
    stations: tuple[Station, ...]
    unread: Mapping[str, str]
    papers: dict[str, KeptPaper]

    def text(self, name: str) -> str:
        """Return the text of a paper; empty when it is not written."""
        return self.papers[name].text if name in self.papers else ""

    def version(self, name: str) -> int:
        """Return the version of a paper that holds, 0 when none does."""
        return self.papers[name].version if name in self.papers else 0

    @property
    def names(self) -> dict[str, str]:
        """What each station is called where there is little room, by id."""
        return {each: short_name(each, title) for each, title in self.titles.items()}

    @property
    def titles(self) -> dict[str, str]:
        """The title of each station, by id; of one that cannot be read its id."""
        read = {each.id: each.title for each in self.stations}
        return {each: read.get(each, each) for each in self.ids}

    @property
    def plan(self) -> Plan | None:
        """The plan of the day, None before there is one."""
        return read_plan(typed_plan(self.text(PLAN))) if PLAN in self.papers else None

    def people(self) -> People:
        """Return who is there; `InputError` when that does not fit plan and stations any more."""
        return read_people(self.text(CANDIDATES), self.text(EXAMINERS), stations=self.ids, plan=self.plan)

    @property
    def timetable(self) -> Timetable | None:
        """The timetable that holds, None before there is one."""
        return timetable_in(self.papers[TIMETABLE]) if TIMETABLE in self.papers else None

    def day(self) -> Day:
        """Return the day as planned so far; `InputError` lists everything that is missing or wrong."""
        plan, problems = self.plan, Problems()
        if plan is None and self.timetable is not None:
            return self.timetable.day  # it was made elsewhere, and is its own plan
        for is_there, place, remedy in (
            (self.ids, "stations", "propose at least one"),
            (plan, "rounds of the day", "say when they begin"),
            (self.text(CANDIDATES), "candidates", "name at least one"),
            (self.text(EXAMINERS), "examiners", "name at least one"),
        ):
            if not is_there:
                problems.add(place, "", "are missing", remedy)
        if plan is None or problems:
            raise InputError(problems)
        made = day_of(plan, self.people(), self.ids)
        check(made)
        return made


def draft_of(actor: Actor, exam_id: int) -> Draft:
    """Return what is written for an exam, for its lead.

    A station that cannot be read is refused by its place (`Unreadable`), and with it what rests on what is in
    all of them, as rules and decisions do: without it they would be of another exam.
    """
    found = readable_draft(actor, exam_id)
    if found.unread:
        raise Unreadable("\n".join(found.unread.values()))
    return found


def readable_draft(actor: Actor, exam_id: int) -> Draft:
    """Return the same for a page that has to open: a station that cannot be read is named, and stays one."""
    exam = exam_of(actor, exam_id)
    papers = {each.name: each for each in papers_of(actor, exam_id)}
    found = read_stations(each for name, each in papers.items() if name.startswith(STATION))
    ids = {name.removeprefix(STATION) for name in papers if name.startswith(STATION)}
    order = [each for each in _first(papers) if each in ids]
    order += sorted((each for each in ids if each not in order), key=_natural)
    stations = tuple(found.read[each] for each in order if each in found.read)
    return Draft(exam=exam, ids=tuple(order), stations=stations, unread=found.unread, papers=papers)


def short_name(station: str, title: str) -> str:
    """Return what a station is called where there is little room: ``station 3``, or its title."""
    return f"station {station}" if station[:1].isdecimal() else title


def full_name(station: str, title: str) -> str:
    """Return the whole name of a station: ``Station 3: Ligaments``, or its title."""
    return f"Station {station}: {title}" if station[:1].isdecimal() else title


def write_order(ids: Sequence[str]) -> str:
    """Return the text of an order of stations."""
    return json.dumps(list(ids)) + "\n"


def day_of(plan: Plan, people: People, stations: Sequence[str]) -> Day:
    """Return the day of a plan with its people and stations, unchecked."""
    return Day(
        stations=tuple(stations),
        circuits=tuple(each.name for each in plan.circuits),
        rounds=plan.rounds(len(stations) + plan.rests),
        examiners=people.examiners,
        candidates=people.candidates,
        rests=plan.rests,
        station_min=plan.station_min,
        change_min=plan.change_min,
        examiners_each=plan.examiners_each,
        most_rounds=plan.most_rounds,
    )


def _first(papers: Mapping[str, KeptPaper]) -> Sequence[str]:
    """Return the stations whose order was settled, on a page or by a timetable."""
    if ORDER in papers:
        settled: list[str] = json.loads(papers[ORDER].text)
        return settled
    return timetable_in(papers[TIMETABLE]).day.stations if TIMETABLE in papers else ()


def _natural(name: str) -> tuple[int, str]:
    return (int(name) if name.isdecimal() else 10**6, name)
