"""What the team writes for an exam: stations, timetable, rules; every version stays, the latest holds."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from types import MappingProxyType
from typing import Final

from django.db.models import Exists, OuterRef

from fabella.errors import InputError, Problems
from fabella.exam import Station, Timetable, read_station, write_station
from fabella.protocol import load_protocol
from fabella.store.actor import Actor
from fabella.store.exams import models
from fabella.store.exams.counting import check_annulling
from fabella.store.exams.leading import (
    LONGEST_NAME,
    LONGEST_REASON,
    Stage,
    after_decision,
    exam_of,
    lead,
    stage_of,
)
from fabella.store.exams.paper_texts import read_kept_station, read_kept_timetable, too_long_names
from fabella.store.kept import reading_kept
from fabella.store.refusals import Frozen, Moved, NotThere
from fabella.store.router import EXAMS
from fabella.store.writing import writing

STATION: Final = "station:"
"""What begins the name of a station's paper; its id follows."""

ANNULLED: Final = "annulled:"
"""What begins the name of a paper by which a station counts for nobody; its id follows."""

TIMETABLE: Final = "timetable"
"""Names the day with everybody placed, as `fabella.exam.write_timetable` writes it."""

USUAL_RULES: Final = "usual rules"
"""Names what was usual when the exam was opened, as `fabella.assess.write_rules` writes it: kept by the
program for whatever nobody has declared, and by nobody else."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptPaper:
    """One version of a paper, by whom, when and why; an empty ``text`` has taken it away."""

    name: str
    version: int
    text: str
    why: str
    by: str
    at: datetime


def put_paper(
    actor: Actor,
    exam_id: int,
    name: str,
    text: str,
    *,
    now: datetime,
    why: str = "",
    seen: int | None = None,
) -> KeptPaper:
    """Keep another version of a paper, and return it; the same text again makes none.

    Parameters
    ----------
    name
        ``station:<id>`` for a `fabella.station/1`, ``timetable`` for a `fabella.timetable/1`, both of which
        are read and refused when they are wrong; any other is kept as it is written.
    text
        Empty to take the paper away.
    seen
        The version that was on the screen, 0 if there was none, None to put it there whatever is;
        `Moved` when there is a newer one.

    Raises
    ------
    Frozen
        A station once the exam is open, anything once its results are released, the timetable once it is
        closed.
    InputError
        What is wrong with it; usual rules, which `fabella.store.exams.opening.move` alone keeps; the last
        station that counts, annulled.
    """
    shown = {} if seen is None else {name: seen}
    return put_papers(actor, exam_id, {name: text}, now=now, why=why, seen=shown)[0]


def put_papers(
    actor: Actor,
    exam_id: int,
    texts: Mapping[str, str],
    *,
    now: datetime,
    why: str = "",
    seen: Mapping[str, int] = MappingProxyType({}),
) -> tuple[KeptPaper, ...]:
    """Keep another version of several papers, all of them or none, and return them; see `put_paper`."""
    exam_of(actor, exam_id)
    for name, text in texts.items():
        _check(name, text, why)
    with writing(EXAMS):
        stage = stage_of(exam_id)
        for name in texts:
            _check_stage(name, stage)
        _check_counting(exam_id, texts)
        return tuple(
            add_version(actor, exam_id, name, text, now=now, why=why, seen=seen.get(name))
            for name, text in texts.items()
        )


def add_version(
    actor: Actor, exam_id: int, name: str, text: str, *, now: datetime, why: str = "", seen: int | None = None
) -> KeptPaper:
    """Keep another version of a paper that was checked, while writing; see `put_paper`."""
    last = _latest(exam_id, name)
    version = last.version if last else 0
    if seen is not None and seen != (version if last and last.text else 0):
        raise Moved("Somebody else has written a newer version; look at that first.")
    if last is not None and _same(name, last.text, text):
        return last
    if name.startswith(STATION) and text:
        text = write_station(replace(read_kept_station(text), version=version + 1))
    at = after_decision(exam_id, now)
    row = models.ExamPaper.objects.create(
        exam_id=exam_id, name=name, version=version + 1, text=text, why=why, by=actor.name, at=at
    )
    return _kept(row)


def papers_of(actor: Actor, exam_id: int) -> tuple[KeptPaper, ...]:
    """Return every paper that holds, by name."""
    lead(actor)
    return holding(exam_id)


def holding(exam_id: int, **which: str) -> tuple[KeptPaper, ...]:
    """Return the last version of each paper that was not taken away, by name, for any who may ask."""
    papers = models.ExamPaper.objects.filter(exam_id=exam_id)
    later = papers.filter(name=OuterRef("name"), version__gt=OuterRef("version"))
    return tuple(map(_kept, papers.filter(~Exists(later), **which).exclude(text="").order_by("name")))


def versions_of(actor: Actor, exam_id: int, name: str) -> tuple[KeptPaper, ...]:
    """Return every version of a paper, the first first."""
    lead(actor)
    rows = models.ExamPaper.objects.filter(exam_id=exam_id, name=name).order_by("version")
    return tuple(map(_kept, rows))


def station_of(exam_id: int, station: str) -> Station:
    """Return a station as it holds, for whoever may mark or lead; raise `NotThere` if there is none."""
    last = _latest(exam_id, STATION + station)
    if last is None or not last.text:
        raise NotThere("There is no such station.")
    return station_in(last)


def timetable_of(exam_id: int) -> Timetable | None:
    """Return the timetable as it holds, None before there is one."""
    last = _latest(exam_id, TIMETABLE)
    return None if last is None or not last.text else timetable_in(last)


def station_in(paper: KeptPaper) -> Station:
    """Return the station that a paper holds; raise `Unreadable` for one that this program cannot read."""
    with reading_kept(f"Version {paper.version} of station {paper.name.removeprefix(STATION)}"):
        return read_kept_station(paper.text)


def timetable_in(paper: KeptPaper) -> Timetable:
    """Return the timetable that a paper holds; raise `Unreadable` as `station_in` does."""
    with reading_kept(f"Version {paper.version} of the timetable"):
        return read_kept_timetable(paper.text)


def timetable_texts(exam_id: int) -> tuple[str, ...]:
    """Return every version of the timetable, the latest first; empty where it was taken away."""
    rows = models.ExamPaper.objects.filter(exam_id=exam_id, name=TIMETABLE)
    return tuple(rows.order_by("-version").values_list("text", flat=True))


def _check(name: str, text: str, why: str) -> None:
    problems = Problems()
    if not name.strip() or len(name) > LONGEST_NAME:
        problems.add("name", name[:20], "will not do", f"write 1 to {LONGEST_NAME} letters")
    if len(why) > LONGEST_REASON:
        problems.add("why", why[:20], "is too long", f"write up to {LONGEST_REASON} letters")
    if name == USUAL_RULES:
        problems.add("name", name, "is kept by the program", "declare rules instead")
    if text and name.startswith(STATION):
        own = read_station(text, protocol=load_protocol()).id
        if own != name.removeprefix(STATION):
            problems.add("name", name, "is of another station", STATION + own)
    if text and name == TIMETABLE:
        problems += too_long_names(read_kept_timetable(text), place=TIMETABLE)
    problems.raise_any()


def _check_stage(name: str, stage: Stage) -> None:
    if stage is Stage.RELEASED:
        raise Frozen("The results are released: nothing of this exam changes any more.")
    if name.startswith(STATION) and stage is not Stage.DRAFT:
        raise Frozen("The exam is open or was: a station that may have been used is not altered.")
    if name.startswith(ANNULLED) and stage is not Stage.CLOSED:
        raise Frozen("A station is annulled once the exam is closed: until then sheets are lost or not held.")
    if name == TIMETABLE and stage.is_over:
        raise Frozen("The exam is closed: its timetable is not altered.")


def _check_counting(exam_id: int, texts: Mapping[str, str]) -> None:
    """Refuse to annul what is the last that counts, while writing: nobody else can meanwhile."""
    annulling = {name.removeprefix(ANNULLED) for name in texts if name.startswith(ANNULLED) and texts[name]}
    if annulling:
        there = {each.name for each in holding(exam_id)}
        stations = {name.removeprefix(STATION) for name in there if name.startswith(STATION)}
        counting = {each for each in stations if ANNULLED + each not in there}
        check_annulling(annulling, counting=counting)


def _same(name: str, one: str, other: str) -> bool:
    """Say whether two texts of a paper are the same; the number of its version makes no other station."""
    if name.startswith(STATION) and one and other:
        with suppress(InputError):  # the one that is replaced may be one that this program cannot read
            return replace(read_kept_station(one), version=1) == replace(read_kept_station(other), version=1)
    return one == other


def _latest(exam_id: int, name: str) -> KeptPaper | None:
    row = models.ExamPaper.objects.filter(exam_id=exam_id, name=name).order_by("-version").first()
    return None if row is None else _kept(row)


def _kept(row: models.ExamPaper) -> KeptPaper:
    return KeptPaper(name=row.name, version=row.version, text=row.text, why=row.why, by=row.by, at=row.at)
