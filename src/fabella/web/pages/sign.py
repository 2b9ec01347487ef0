"""Signing, amending, and what was signed."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import ClassVar

from django.conf import settings
from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError
from fabella.protocol import load_protocol
from fabella.record import Writing
from fabella.store import Frozen, Moved, NotThere, Role
from fabella.store.clinic.earlier import earlier_visits
from fabella.store.clinic.fair import write_fair
from fabella.store.clinic.lines import SignatureLine, VisitLine
from fabella.store.clinic.papers import FairPaper, own_words
from fabella.store.clinic.remaking import Comparison, remake
from fabella.store.clinic.signed_papers import SignedPaper
from fabella.store.clinic.signing import amend as amend_visit
from fabella.store.clinic.signing import sign as sign_visit
from fabella.store.clinic.signing import signed_just_so
from fabella.store.clinic.visits import SignedRecord, VisitRecord, see_signed, see_visit
from fabella.web.concluding import workup_of
from fabella.web.door import SENDING, enter
from fabella.web.files import sent_file
from fabella.web.forms import Form, blank, filled, typed_whole
from fabella.web.listing import Dispute, disputes
from fabella.web.recalled import followed
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class ToSignPage:
    """What is about to be signed."""

    template: ClassVar[str] = "sign.html"

    visit: VisitLine = field(metadata=said("The visit, with the version that would be signed."))
    letter: FairPaper | None = field(
        metadata=said("The letter that would be signed, page and text; None while nothing can be signed.")
    )
    summary: FairPaper | None = field(metadata=said("The patient's page that would be signed with it."))
    earlier: str = field(
        metadata=said("What tells the earlier visits that it is held against from any others.")
    )
    unsigned: date | None = field(
        metadata=said("Day of the visit before, when it is not signed and so not compared with; None else.")
    )
    addressee: str = field(metadata=said("To whom the letter says that it goes; empty when nobody is named."))
    problems: tuple[str, ...] = field(metadata=said("What has to be put right before it can be signed."))
    disputes: tuple[Dispute, ...] = field(
        metadata=said("What two people wrote unseen of each other, to be settled first.")
    )
    reason: str = field(metadata=said("Reason of the amendment that is open; empty when none is."))
    today: date = field(metadata=said("The day that the letter bears."))
    form: Form = field(metadata=said("Addressee as typed, and what is wrong with it."))


@dataclass(frozen=True, slots=True, kw_only=True)
class AmendPage:
    """The form that opens a signed visit again."""

    template: ClassVar[str] = "amend.html"

    visit: VisitLine = field(metadata=said("The signed visit."))
    form: Form = field(metadata=said("Reason as typed, and what is wrong with it."))


@dataclass(frozen=True, slots=True, kw_only=True)
class SignedPage:
    """A visit as it was signed once."""

    template: ClassVar[str] = "signed.html"

    visit: VisitLine = field(metadata=said("The visit."))
    signature: SignatureLine = field(metadata=said("Who signed when, and why again."))
    letter: str = field(metadata=said("The letter as text, to the letter."))
    papers: tuple[SignedPaper, ...] = field(
        metadata=said("Letter and patient's page as signed, with what was changed; none where not kept.")
    )
    edition: str = field(metadata=said("Edition of the evidence that it was made with."))
    program: str = field(metadata=said("Version of the program that it was made with."))
    earlier_since: tuple[date, ...] = field(metadata=said("Days of earlier visits signed after it."))


@dataclass(frozen=True, slots=True, kw_only=True)
class AgainPage:
    """What was signed, made again today and held against it."""

    template: ClassVar[str] = "again.html"

    visit: VisitLine = field(metadata=said("The visit."))
    signature: SignatureLine = field(metadata=said("Who signed when."))
    found: Comparison = field(metadata=said("What came of it, paper by paper."))


@enter(Role.CLINICIAN, methods=SENDING)
def sign(request: Request, visit_id: int) -> HttpResponse:
    """Show what would be signed; sign it when the form is sent."""
    form = blank()
    if request.method == "POST":
        try:
            number = _signed(request, visit_id)
        except InputError as error:
            form = filled(request, error.problems)
        else:
            return HttpResponseRedirect(url("signed", visit_id=visit_id, number=number))
    record = see_visit(request.person, visit_id, now=request.now, what="letter to sign")
    return render(request, _to_sign(request, record, form), status=form.status)


def _signed(request: Request, visit_id: int) -> int:
    """Sign a visit as it was sent, and return the signature: the same one for a button pressed twice."""
    version = typed_whole(request.POST.get("version", ""), otherwise=-1)
    try:
        return sign_visit(
            request.person,
            visit_id,
            version=version,
            addressee=request.POST.get("addressee", ""),
            today=request.today,
            sender=settings.FABELLA.letterhead,
            earlier=request.POST.get("earlier", ""),
            patient=request.POST.get("patient"),
            read_on=request.POST.get("today"),
            now=request.now,
            workup=workup_of,
            followed=followed,
        )
    except Frozen:
        given = signed_just_so(request.person, visit_id, version)
        if given is None:
            raise
        return given


def _to_sign(request: Request, record: VisitRecord, form: Form) -> ToSignPage:
    letter: FairPaper | None = None
    summary: FairPaper | None = None
    addressee, problems = "", form.others("addressee")
    earlier = earlier_visits(request.person, record.line.id, record.examination)
    try:
        fair = write_fair(
            record.examination,
            identity=record.line.patient.identity,
            signer=request.person.shown,
            addressee="",
            today=request.today,
            sender=settings.FABELLA.letterhead,
            earlier=earlier,
            own={each: own_words(record.sheet, each) for each in Writing},
            workup=workup_of,
            followed=followed,
        )
        letter, summary = fair.papers
        addressee = letter.document.addressee
        problems = tuple(dict.fromkeys((*problems, *map(str, fair.problems))))
    except InputError as error:
        problems = tuple(map(str, error.problems))
    return ToSignPage(
        visit=record.line,
        letter=letter,
        summary=summary,
        earlier=earlier.mark,
        unsigned=earlier.unsigned,
        addressee=addressee,
        problems=problems,
        disputes=disputes(record.sheet, load_protocol()),
        reason=record.reason,
        today=request.today,
        form=form,
    )


@enter(Role.CLINICIAN, methods=SENDING)
def amend(request: Request, visit_id: int) -> HttpResponse:
    """Open a signed visit again, for a reason."""
    form = blank()
    if request.method == "POST":
        try:
            amend_visit(request.person, visit_id, request.POST.get("reason", ""), now=request.now)
        except InputError as error:
            form = filled(request, error.problems)
        else:
            return HttpResponseRedirect(url("visit", visit_id=visit_id))
    record = see_visit(request.person, visit_id, now=request.now)
    return render(request, AmendPage(visit=record.line, form=form), status=form.status)


@enter(Role.CLINICIAN)
def signed(request: Request, visit_id: int, number: int) -> HttpResponse:
    """Show a visit as it was signed."""
    record = see_signed(request.person, visit_id, number, now=request.now)
    page = SignedPage(
        visit=record.visit,
        signature=record.signature,
        letter=record.letter,
        papers=record.papers,
        edition=record.edition,
        program=record.program,
        earlier_since=record.earlier_since,
    )
    return render(request, page)


@enter(Role.CLINICIAN)
def again(request: Request, visit_id: int, number: int) -> HttpResponse:
    """Make the papers of a signature again, and say whether they come out as they were signed."""
    record = see_signed(request.person, visit_id, number, now=request.now)
    page = AgainPage(visit=record.visit, signature=record.signature, found=remake(record))
    return render(request, page)


@enter(Role.CLINICIAN)
def signed_file(request: Request, visit_id: int, number: int, writing: str, kind: str) -> HttpResponse:
    """Give what was signed as a file: letter or patient's page as text or PDF, or the examination."""
    record = see_signed(request.person, visit_id, number, now=request.now)
    name = f"visit-{visit_id}-signed-{number}"
    if kind == "json":
        return sent_file(record.file, f"{name}.json")
    paper = record.paper(Writing(writing))
    if kind == "pdf":
        return sent_file(_pdf(record, paper), f"{name}-{writing}.pdf")
    return sent_file(_text(record, paper, Writing(writing)), f"{name}-{writing}.txt")


def _text(record: SignedRecord, paper: SignedPaper | None, writing: Writing) -> str:
    if paper is not None:
        return paper.text
    if writing is Writing.LETTER:
        return record.letter
    raise NotThere("No patient’s page was kept with this signature.")


def _pdf(record: SignedRecord, paper: SignedPaper | None) -> bytes:
    """Return a paper as PDF, drawn of what was kept, so that its words are the signed ones."""
    if paper is None:
        raise Moved(
            f"This letter was signed with Fabella {record.program}, before the page itself was kept. Its "
            "text, as it was signed, can be read and taken here."
        )
    return paper.pdf
