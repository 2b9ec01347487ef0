"""The stations of an exam: proposed from the protocol, put into order, graded on one scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError
from fabella.exam import edited, propose_station, write_station
from fabella.protocol import load_protocol
from fabella.store import Frozen, Role, Unreadable
from fabella.store.exams.leading import KeptExam, Stage
from fabella.store.exams.papers import STATION, put_papers
from fabella.web.analysing.weights import weights_of
from fabella.web.door import SENDING, enter
from fabella.web.examining.drafting import ORDER, Draft, readable_draft, write_order
from fabella.web.examining.scale_form import STEPS, read_scale, scale_fields, scale_of
from fabella.web.examining.station_work import Times, free_name, times_of, topic_options
from fabella.web.forms import Form, blank, filled, rearranged, typed_number
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

PAINFUL = (("", "left out: a volunteer is examined all day"), ("yes", "kept"))
"""What becomes of items that hurt: value and words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StationLine:
    """A station in the list: how many items, the most marks in words, what it takes and how much it counts.

    ``weight`` is empty where it counts once.
    """

    id: str
    title: str
    minutes: str
    items: int
    most: str
    version: int
    times: Times
    weight: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamStationsPage:
    """The stations."""

    template: ClassVar[str] = "exam_stations.html"

    exam: KeptExam = field(metadata=said("The exam."))
    is_frozen: bool = field(metadata=said("Whether the exam is or was open, so that no station is altered."))
    stations: tuple[StationLine, ...] = field(metadata=said("The stations, in the order of the circuit."))
    unread: tuple[tuple[str, str], ...] = field(
        metadata=said("Stations that cannot be read: id, and what is said of each.")
    )
    topics: tuple[tuple[str, str], ...] = field(metadata=said("What a station can test: value and words."))
    painful: tuple[tuple[str, str], ...] = field(metadata=said("What becomes of items that hurt."))
    form: Form = field(metadata=said("What a new station is to be, and what is wrong with it."))
    scale: Form = field(metadata=said("The global rating as typed, and what is wrong with it."))
    steps: tuple[int, ...] = field(metadata=said("The numbers of the steps that the scale has room for."))
    grades: tuple[tuple[str, str], ...] = field(metadata=said("The scale as it holds: name and meaning."))


@enter(Role.TEACHER, methods=SENDING)
def exam_stations(request: Request, exam_id: int) -> HttpResponse:
    """Show the stations; propose one, put them into order or change the scale."""
    draft = readable_draft(request.person, exam_id)
    form, scale = blank(minutes="8", topic="whole_knee", painful=""), _scale_form(draft)
    if request.method == "POST":
        step = request.POST.get("step", "")
        try:
            return _done(request, draft, step)
        except InputError as error:
            sent = filled(request, error.problems)
            form, scale = (form, sent) if step == "scale" else (sent, scale)
    weights = weights_of(draft)
    page = ExamStationsPage(
        exam=draft.exam,
        is_frozen=draft.exam.stage is not Stage.DRAFT,
        stations=tuple(
            StationLine(
                id=each.id,
                title=each.title,
                minutes=f"{each.minutes:g}",
                items=len(each.items),
                most=f"{each.most:g}",
                version=each.version,
                times=times_of(each),
                weight="" if weights[each.id] == 1 else f"{weights[each.id]:g}",
            )
            for each in draft.stations
        ),
        unread=tuple(draft.unread.items()),
        topics=topic_options(),
        painful=PAINFUL,
        form=form,
        scale=scale,
        steps=tuple(range(1, STEPS + 1)),
        grades=tuple((each.name, each.words) for each in scale_of(draft.stations)[0]),
    )
    return render(request, page, status=max(form.status, scale.status))


def _scale_form(draft: Draft) -> Form:
    return blank(**scale_fields(scale_of(draft.stations)))


def _done(request: Request, draft: Draft, step: str) -> HttpResponse:
    if draft.exam.stage is not Stage.DRAFT:
        raise Frozen("The exam is open or was: stations that may have been used are not altered.")
    here = url("exam_stations", exam_id=draft.exam.id)
    if step == "propose":
        made = _propose(request, draft)
        return HttpResponseRedirect(url("exam_station", exam_id=draft.exam.id, station=made))
    if step == "scale":
        _rescale(request, draft)
    elif request.POST.get("move"):
        order = write_order(_arranged(draft.ids, request.POST["move"]))
        put_papers(request.person, draft.exam.id, {ORDER: order}, now=request.now)
    else:
        raise InputError.of(place="step", value=step, says="is none", remedy="press a button")
    return HttpResponseRedirect(here)


def _propose(request: Request, draft: Draft) -> str:
    name = free_name(draft.ids)
    proposal = propose_station(
        load_protocol(),
        topic=request.POST.get("topic", ""),
        minutes=typed_number(request.POST.get("minutes", "")) or 0.0,
        station_id=name,
        painful=request.POST.get("painful") == "yes",
    )
    grades, borderline = scale_of(draft.stations)
    made = edited(proposal.station, {"grades": grades, "borderline": borderline})
    texts = {STATION + name: write_station(made), ORDER: write_order([*draft.ids, name])}
    put_papers(request.person, draft.exam.id, texts, now=request.now)
    return name


def _rescale(request: Request, draft: Draft) -> None:
    """Put every station on the scale that was typed: all, for there is one scale for the whole exam."""
    if draft.unread:
        raise Unreadable("\n".join(draft.unread.values()))
    grades, borderline = read_scale(request.POST.dict())
    if not draft.stations:
        raise InputError.of(place="stations", says="are missing", remedy="propose a station first")
    texts = {
        STATION + each.id: write_station(replace(each, grades=grades, borderline=borderline))
        for each in draft.stations
    }
    why = "another scale of the global rating"
    put_papers(request.person, draft.exam.id, texts, now=request.now, why=why)


def _arranged(ids: Sequence[str], move: str) -> list[str]:
    """Return the order after what a button says: up or down, and which."""
    where, _, name = move.partition(":")
    if where not in ("up", "down") or name not in ids:
        raise InputError.of(place="move", value=move, says="is no move", remedy="press a button")
    return rearranged(ids, name, where)
