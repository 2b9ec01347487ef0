"""The examination page: the patient from standing to the pulses, with what it comes to beside it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.figure import position_figure
from fabella.protocol import load_protocol
from fabella.report import Outcome, Readings
from fabella.report.imaging_words import ImageWords
from fabella.report.undone_words import UndoneWords
from fabella.store import Role
from fabella.store.clinic.concluded import Concluded
from fabella.store.clinic.earlier import earlier_visits
from fabella.store.clinic.lines import VisitLine
from fabella.store.clinic.trail import Action
from fabella.store.clinic.visits import see_visit
from fabella.web.api.visit import state_tree
from fabella.web.bedside.norms import norm_words
from fabella.web.bedside.signs import bedside_digest
from fabella.web.concluding import anticipate, live, plate_of
from fabella.web.door import enter
from fabella.web.imaged import set_aside
from fabella.web.listing import Dispute, disputes
from fabella.web.recalled import anticipate_followed, weigh_both
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class ExaminePage:
    """An examination that is going on."""

    template: ClassVar[str] = "examine.html"

    visit: VisitLine = field(metadata=said("Patient, day, setting, complaint and version of the visit."))
    reason: str = field(metadata=said("Reason of the amendment that is open; empty when none is."))
    figures: tuple[tuple[str, str], ...] = field(
        metadata=said("The patient in each position, drawn: its id and its SVG.")
    )
    bedside: dict[str, Any] = field(
        metadata=said("What the scripts need: the state of the visit, addresses, norms and who writes.")
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ComesTo:
    """What the examination comes to as it stands: the part of the page that moves with every touch."""

    template: ClassVar[str] = "_comes_to.html"

    visit: VisitLine = field(metadata=said("The visit, with the version that was concluded from."))
    disputes: tuple[Dispute, ...] = field(
        metadata=said("What two people wrote unseen of each other, to be settled.")
    )
    live: Concluded = field(metadata=said("What the examination comes to."))
    judged: tuple[tuple[str, str, str], ...] = field(
        metadata=said("Sign, side and outcome of each bare measurement, as it was graded.")
    )
    weigh_both: None = field(
        metadata=said("What earlier visits told and this one does not is fetched by itself, after the rest.")
    )
    set_aside: tuple[ImageWords, ...] = field(
        metadata=said("Images that tell nothing of this complaint, and why they are not weighed.")
    )
    is_hidden: bool = field(metadata=said("Whether only what cannot wait is to be shown."))


@dataclass(frozen=True, slots=True, kw_only=True)
class ComesToEarlier:
    """What it comes to beside earlier visits: fetched after the rest, so that nobody waits for it."""

    template: ClassVar[str] = "_weigh_both.html"

    weigh_both: tuple[UndoneWords, ...] | None = field(
        metadata=said("What an earlier visit told and this one does not as yet; None until worked out.")
    )


@enter(Role.CLINICIAN)
def examine(request: Request, visit_id: int) -> HttpResponse:
    """Show the page for an open visit; a signed one is shown as it was signed."""
    record = see_visit(request.person, visit_id, now=request.now)
    if record.is_signed:
        return HttpResponseRedirect(url("visit", visit_id=visit_id))
    anticipate(record.examination)  # the scripts ask as soon as they have laid the page out
    anticipate_followed(earlier_visits(request.person, visit_id, record.examination).examinations)
    state = state_tree(request, record)
    del state["stated"]  # who stated what, line by line: no script of the page asks
    bedside = {
        "visit": visit_id,
        "author": request.person.name,
        "device": request.person.device,
        "state": state,
        "norms": norm_words(record.examination.patient),
        "addresses": {
            "signs": url("api_signs", digest=bedside_digest()),
            "state": url("api_state", visit_id=visit_id),
            "operations": f"{url('api_operations', visit_id=visit_id)}?conclude=yes",
            "comes_to": url("comes_to", visit_id=visit_id),
            "dictation": url("api_dictation"),
            "sign": url("sign", visit_id=visit_id),
            "visit": url("visit", visit_id=visit_id),
        },
    }
    figures = tuple((each.id, position_figure(each.id)) for each in load_protocol().positions)
    page = ExaminePage(visit=record.line, reason=record.reason, figures=figures, bedside=bedside)
    return render(request, page)


@enter(Role.CLINICIAN)
def comes_to(request: Request, visit_id: int) -> HttpResponse:
    """Show what a visit comes to, for an examination page that is open."""
    record = see_visit(request.person, visit_id, now=request.now, action=Action.FOLLOWED)
    now = live(record.examination)
    part = ComesTo(
        visit=record.line,
        disputes=disputes(record.sheet, load_protocol()),
        live=now.concluded,
        judged=_judged(now.readings),
        weigh_both=None,
        set_aside=set_aside(record.examination),
        is_hidden=request.GET.get("hidden") == "yes",
    )
    return render(request, part)


@enter(Role.CLINICIAN)
def comes_to_earlier(request: Request, visit_id: int) -> HttpResponse:
    """Show what earlier visits told and this one does not as yet, for an examination page that is open."""
    record = see_visit(request.person, visit_id, now=request.now, action=Action.FOLLOWED)
    earlier = earlier_visits(request.person, visit_id, record.examination).examinations
    return render(request, ComesToEarlier(weigh_both=weigh_both(record.examination, earlier)))


@enter(Role.CLINICIAN)
def comes_to_plate(request: Request, visit_id: int) -> HttpResponse:
    """Give the plate of both knees as it stands, for an examination page that is open."""
    record = see_visit(request.person, visit_id, now=request.now, action=Action.FOLLOWED)
    return HttpResponse(plate_of(record.examination), content_type="image/svg+xml")


def _judged(readings: Readings) -> tuple[tuple[str, str, str], ...]:
    return tuple(
        (each.sign, each.side.value if each.side else "", each.outcome.name.lower())
        for each in readings.all
        if each.value is not None and each.outcome in {Outcome.NORMAL, Outcome.ABNORMAL}
    )
