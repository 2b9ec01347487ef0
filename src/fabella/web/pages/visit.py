"""One visit: what was found as a list, what it comes to, and the ways on from here."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Any, ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.protocol import load_protocol
from fabella.report.imaging_words import ImageWords
from fabella.report.letter_document import weighed_both
from fabella.report.undone_words import UndoneWords
from fabella.store import Role
from fabella.store.clinic.concluded import Concluded
from fabella.store.clinic.confirming import confirmations_of
from fabella.store.clinic.earlier import earlier_visits
from fabella.store.clinic.lines import SignatureLine, VisitLine
from fabella.store.clinic.picturing import pictures_of
from fabella.store.clinic.settling import settle_dispute
from fabella.store.clinic.trail import Action
from fabella.store.clinic.visits import VisitRecord, see_visit
from fabella.web.concluding import live, plate_of
from fabella.web.door import enter
from fabella.web.found_later.telling import Look, looks, told_then
from fabella.web.history import Answered, answers
from fabella.web.imaged import imaged
from fabella.web.listing import Dispute, Section, disputes, listing
from fabella.web.measuring.telling import Shown, shown
from fabella.web.recalled import weigh_both
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitNow:
    """The part of the page that changes while the examination goes on."""

    template: ClassVar[str] = "_visit_now.html"

    visit: VisitLine = field(metadata=said("Patient, day, setting, complaint and version of the visit."))
    history: tuple[Answered, ...] = field(
        metadata=said("The questions that were answered, and what brought the patient.")
    )
    imaging: tuple[ImageWords, ...] = field(
        metadata=said("Images that were there before the conclusion, and what they show.")
    )
    sections: tuple[Section, ...] = field(metadata=said("What was found, position by position."))
    disputes: tuple[Dispute, ...] = field(
        metadata=said("What two people wrote unseen of each other, to be settled.")
    )
    live: Concluded = field(
        metadata=said("What the examination comes to as it stands; of a signed one, what it came to then.")
    )
    weigh_both: tuple[UndoneWords, ...] | None = field(
        metadata=said("What an earlier visit told and this open one does not; None while that is worked out.")
    )
    weighed_both: tuple[str, ...] = field(
        metadata=said("The same of a signed one, in the words of its letter.")
    )
    plate: str = field(metadata=said("Both knees, drawn."))
    signed_with: str = field(
        metadata=said("Edition of the evidence of the signed conclusion; empty while it is live.")
    )
    today: Concluded | None = field(
        metadata=said("What it would come to today, where that is not what was signed; else None.")
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitPage(VisitNow):
    """A visit as it stands."""

    template: ClassVar[str] = "visit.html"

    signatures: tuple[SignatureLine, ...] = field(metadata=said("Every signing, the first one first."))
    reason: str = field(metadata=said("Reason of the amendment that is open; empty when none is."))
    looks: tuple[Look, ...] = field(
        metadata=said("What scans and operations showed later, and what was corrected of it.")
    )
    earlier_since: tuple[date, ...] = field(
        metadata=said("Days of earlier visits signed after this one, which its letter does not count.")
    )
    pictures: tuple[Shown, ...] = field(metadata=said("What was measured on pictures."))


@enter(Role.CLINICIAN)
def visit(request: Request, visit_id: int) -> HttpResponse:
    """Show a visit."""
    record = see_visit(request.person, visit_id, now=request.now)
    page = VisitPage(
        **_now(request, record),
        signatures=record.signatures,
        reason=record.reason,
        earlier_since=record.signed.earlier_since if record.signed else (),
        looks=looks(confirmations_of(request.person, visit_id), told_then(record.concluded)),
        pictures=shown(pictures_of(request.person, visit_id)),
    )
    return render(request, page)


@enter(Role.CLINICIAN)
def now(request: Request, visit_id: int) -> HttpResponse:
    """Show the part of a visit that changes, for a page that is open already."""
    record = see_visit(request.person, visit_id, now=request.now, action=Action.FOLLOWED)
    return render(request, VisitNow(**_now(request, record)))


@enter(Role.CLINICIAN, methods=("POST",))
def settle(request: Request, visit_id: int) -> HttpResponse:
    """Say which of the values in dispute holds."""
    settle_dispute(request.person, visit_id, request.POST.dict(), now=request.now)
    return HttpResponseRedirect(url("visit", visit_id=visit_id))


def _now(request: Request, record: VisitRecord) -> dict[str, Any]:
    protocol, today = load_protocol(), live(record.examination)
    letter, then = record.letter, record.concluded
    return {
        "visit": record.line,
        "history": answers(record.examination, protocol),
        "imaging": imaged(record.examination),
        "sections": listing(today.readings, protocol, today.graded),
        "disputes": disputes(record.sheet, protocol),
        "live": then or today.concluded,
        "weigh_both": () if record.is_signed else _weigh_both(request, record),
        "weighed_both": weighed_both(letter.document) if letter and then else (),
        "plate": letter.plate if letter and then else plate_of(record.examination),
        "signed_with": record.signed.edition if record.signed and then else "",
        "today": None if then in (None, today.concluded) else today.concluded,
    }


def _weigh_both(request: Request, record: VisitRecord) -> tuple[UndoneWords, ...] | None:
    earlier = earlier_visits(request.person, record.line.id, record.examination)
    return weigh_both(record.examination, earlier.examinations)
