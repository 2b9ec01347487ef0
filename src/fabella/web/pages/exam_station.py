"""One station: its items and their time, its wording for three people, and every version of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError, Problem
from fabella.exam import Item, Station, kinds_of, load_domains, write_station
from fabella.store import Frozen, Moved, NotThere, Role, Unreadable
from fabella.store.exams.leading import KeptExam, Stage, exam_of
from fabella.store.exams.papers import STATION, KeptPaper, put_paper, station_in, station_of, versions_of
from fabella.web.door import SENDING, enter
from fabella.web.examining.station_form import complaints, read_station_form, station_fields
from fabella.web.examining.station_work import Spare, Times, moved, spare_items, times_of, untold
from fabella.web.forms import Form, typed_whole
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamStationPage:
    """A station while it can be altered."""

    template: ClassVar[str] = "exam_station.html"

    exam: KeptExam = field(metadata=said("The exam."))
    station: Station = field(metadata=said("The station as it holds."))
    times: Times = field(metadata=said("What its items take, and whether that can be done."))
    spare: Spare = field(metadata=said("Items that could be added."))
    untold: str = field(
        metadata=said("What belongs to the topic, is not on the sheet and not named to the candidate.")
    )
    domains: tuple[tuple[str, str], ...] = field(metadata=said("Kinds of items: value and words."))
    versions: tuple[KeptPaper, ...] = field(metadata=said("Its versions, the last first."))
    seen: int = field(metadata=said("The version on the screen."))
    form: Form = field(metadata=said("What was typed, and what is wrong with it."))
    wrong: tuple[str, ...] = field(metadata=said("Everything that is wrong, in words."))


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamStationVersionPage:
    """A version of a station, to be read."""

    template: ClassVar[str] = "exam_station_version.html"

    exam: KeptExam = field(metadata=said("The exam."))
    station: Station = field(metadata=said("The station as it was."))
    parts: tuple[tuple[str, tuple[tuple[int, Item], ...]], ...] = field(
        metadata=said("Its items by domain, with their numbers on the sheet.")
    )
    times: Times = field(metadata=said("What its items take."))
    paper: KeptPaper = field(metadata=said("Who wrote it, when and why."))
    versions: tuple[KeptPaper, ...] = field(metadata=said("All of its versions, the last first."))
    can_return: bool = field(metadata=said("Whether it is an older one that can be taken up again."))


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamStationUnreadPage:
    """A station that this program cannot read, with the ways out of it."""

    template: ClassVar[str] = "exam_station_unread.html"

    exam: KeptExam = field(metadata=said("The exam."))
    station: str = field(metadata=said("Its id."))
    says: str = field(metadata=said("What is wrong with it."))
    versions: tuple[KeptPaper, ...] = field(metadata=said("Its versions, the last first."))
    can_alter: bool = field(metadata=said("Whether an earlier version can be taken up, or it be removed."))


@enter(Role.TEACHER, methods=SENDING)
def exam_station(request: Request, exam_id: int, station: str) -> HttpResponse:
    """Show a station, or keep what was typed and pressed as another version."""
    exam = exam_of(request.person, exam_id)
    try:
        kept = station_of(exam_id, station)
    except Unreadable as error:
        return _unread(request, exam, station, error)
    if exam.stage is not Stage.DRAFT:
        if request.method == "POST":
            raise Frozen("The exam is open or was: a station that may have been used is not altered.")
        return _read(request, exam, station, kept.version)
    if request.method == "POST":
        return _write(request, exam, kept)
    return _edit(request, exam, kept, Form(station_fields(kept)))


@enter(Role.TEACHER, methods=SENDING)
def exam_station_version(request: Request, exam_id: int, station: str, number: int) -> HttpResponse:
    """Show a version of a station, or take it up again."""
    exam = exam_of(request.person, exam_id)
    if request.method == "POST":
        text = _version(request, exam_id, station, number).text
        why = f"version {number} taken up again"
        put_paper(request.person, exam_id, STATION + station, text, now=request.now, why=why)
        return HttpResponseRedirect(url("exam_station", exam_id=exam_id, station=station))
    return _read(request, exam, station, number)


def _unread(request: Request, exam: KeptExam, name: str, error: Unreadable) -> HttpResponse:
    """Show a station that cannot be read, or remove it; nothing else can be done with it."""
    can_alter, versions = exam.stage is Stage.DRAFT, versions_of(request.person, exam.id, STATION + name)
    if request.method == "POST":
        if request.POST.get("move") != "away" or not can_alter:
            raise error
        seen = typed_whole(request.POST.get("seen", ""))
        put_paper(request.person, exam.id, STATION + name, "", now=request.now, seen=seen)
        return HttpResponseRedirect(url("exam_stations", exam_id=exam.id))
    page = ExamStationUnreadPage(
        exam=exam, station=name, says=str(error), versions=versions[::-1], can_alter=can_alter
    )
    return render(request, page)


def _write(request: Request, exam: KeptExam, kept: Station) -> HttpResponse:
    typed, move = request.POST.dict(), request.POST.get("move", "")
    seen = typed_whole(typed.get("seen", ""))
    if move == "away":
        put_paper(request.person, exam.id, STATION + kept.id, "", now=request.now, seen=seen)
        return HttpResponseRedirect(url("exam_stations", exam_id=exam.id))
    try:
        made = read_station_form(_seen(request, exam, kept, seen), typed)
        changed = _after(made, move)
        put_paper(
            request.person,
            exam.id,
            STATION + kept.id,
            write_station(changed),
            now=request.now,
            why=" ".join(typed.get("why", "").split()),
            seen=seen,
        )
    except InputError as error:
        return _edit(request, exam, kept, Form(typed, error.problems))
    except Moved:
        says = f"is now version {kept.version}, written by somebody else meanwhile"
        remedy = "read it below in its versions; saving again puts yours in its place"
        problem = Problem(place="station", says=says, remedy=remedy)
        return _edit(request, exam, kept, Form(typed, (problem,)), status=409)
    here = url("exam_station", exam_id=exam.id, station=kept.id)
    return HttpResponseRedirect(here + (f"#{move.partition(':')[2]}" if move else ""))


def _after(made: Station, move: str) -> Station:
    """Return a station after what was pressed."""
    changed = moved(made, move) if move else made
    if changed is None or not changed.items:
        remedy = "keep one item at least" if changed else "press a button"
        raise InputError.of(place="move", value=move, says="cannot be done", remedy=remedy)
    return changed


def _seen(request: Request, exam: KeptExam, kept: Station, seen: int) -> Station:
    """Return the station that was on the screen, whose items the form has."""
    if seen == kept.version:
        return kept
    return station_in(_version(request, exam.id, kept.id, seen))


def _edit(request: Request, exam: KeptExam, kept: Station, form: Form, *, status: int = 0) -> HttpResponse:
    page = ExamStationPage(
        exam=exam,
        station=kept,
        times=times_of(kept),
        spare=spare_items(kept),
        untold=untold(kept),
        domains=tuple((each.id, each.name) for each in load_domains().values()),
        versions=versions_of(request.person, exam.id, STATION + kept.id)[::-1],
        seen=kept.version,
        form=form,
        wrong=complaints(kept, form.problems),
    )
    return render(request, page, status=status or form.status)


def _read(request: Request, exam: KeptExam, name: str, number: int) -> HttpResponse:
    paper = _version(request, exam.id, name, number)
    versions = versions_of(request.person, exam.id, STATION + name)
    station = station_in(paper)
    numbered = list(enumerate(station.items, 1))
    page = ExamStationVersionPage(
        exam=exam,
        station=station,
        parts=tuple(
            (domain.name, tuple((place, item) for place, item in numbered if item.domain == domain.id))
            for domain in kinds_of(station.items)
        ),
        times=times_of(station),
        paper=paper,
        versions=versions[::-1],
        can_return=exam.stage is Stage.DRAFT and number != versions[-1].version,
    )
    return render(request, page)


def _version(request: Request, exam_id: int, station: str, number: int) -> KeptPaper:
    found = versions_of(request.person, exam_id, STATION + station)
    for each in found:
        if each.version == number and each.text:
            return each
    raise NotThere("There is no such version.")
