"""What a visit gives to read and to take away before it is signed: letter, patient's page, plate, file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import ClassVar

from django.conf import settings
from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import FabellaError
from fabella.protocol import load_protocol
from fabella.record import Writing, write_examination
from fabella.report import PAGE_GRADE, Document, Placed, as_pdf, as_text, not_signed, reading_grade
from fabella.report.document import Block, Paragraph, Points, Section
from fabella.store import Role
from fabella.store.clinic.earlier import Earlier, earlier_visits
from fabella.store.clinic.importing import bring_in
from fabella.store.clinic.lines import VisitLine
from fabella.store.clinic.papers import FairPaper, own_words, paper, writers_of
from fabella.store.clinic.trail import Action
from fabella.store.clinic.visits import VisitRecord, see_visit
from fabella.web.concluding import plate_of, side_view_of, workup_of
from fabella.web.door import SENDING, enter
from fabella.web.files import sent_file
from fabella.web.forms import typed_whole
from fabella.web.listing import Dispute, disputes
from fabella.web.passages import save_passage
from fabella.web.recalled import followed
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperPage:
    """A letter or the patient's page of an open visit, in which every passage can be put in other words."""

    template: ClassVar[str] = "paper.html"

    visit: VisitLine = field(metadata=said("The visit that it is about."))
    writing: Writing = field(metadata=said("Whether it is the letter or the patient's page."))
    document: Document = field(metadata=said("The page as it would be signed, ready to be rendered."))
    sections: tuple[tuple[Section, tuple[Block | Placed, ...]], ...] = field(
        metadata=said("Its sections, each passage beside what the program says there.")
    )
    writers: Mapping[str, str] = field(
        metadata=said("Who last wrote each passage that is not the program's.")
    )
    problems: tuple[str, ...] = field(metadata=said("What has to be settled before it can be signed."))
    unsigned: date | None = field(
        metadata=said("Day of the visit before, when it is not signed and so not compared with; None else.")
    )
    disputes: tuple[Dispute, ...] = field(
        metadata=said("What two people wrote unseen of each other, to be settled first.")
    )
    text: str = field(metadata=said("The whole page as plain text, to be copied."))
    reading: str = field(metadata=said("How hard the patient's page is to read; empty for a letter."))
    reason: str = field(metadata=said("Reason of the amendment that is open; empty when none is."))
    operations: str = field(metadata=said("Where a script sends what is typed."))


@enter(Role.CLINICIAN, methods=SENDING)
def letter(request: Request, visit_id: int) -> HttpResponse:
    """Show the letter as it would be signed; put a passage in other words when one is sent."""
    return _paper(request, visit_id, Writing.LETTER)


@enter(Role.CLINICIAN, methods=SENDING)
def summary(request: Request, visit_id: int) -> HttpResponse:
    """Show the patient's page as it would be signed; put a passage in other words when one is sent."""
    return _paper(request, visit_id, Writing.SUMMARY)


@enter(Role.CLINICIAN)
def draft_file(request: Request, visit_id: int, writing: str, kind: str) -> HttpResponse:
    """Give a letter or patient's page before it is signed, as text to be read or as PDF; it says so."""
    record = _taken(request, visit_id, f"{_NAMES[Writing(writing)]}, not signed")
    earlier = earlier_visits(request.person, visit_id, record.examination)
    fair = _fair(request, record, Writing(writing), earlier)
    document = not_signed(fair.document)
    if kind == "txt":
        return HttpResponse(as_text(document), content_type="text/plain; charset=utf-8")
    name = f"visit-{visit_id}-{writing}-not-signed.pdf"
    return sent_file(as_pdf(document, written_on=request.today), name)


_NAMES = {Writing.LETTER: "letter", Writing.SUMMARY: "patient's page"}


def _paper(request: Request, visit_id: int, writing: Writing) -> HttpResponse:
    if request.method == "POST":
        save_passage(request, visit_id, writing, request.POST.dict())
        place = f"#p-{request.POST.get('passage', '')}"
        return HttpResponseRedirect(f"{url(writing.value, visit_id=visit_id)}{place}")
    if "again" in request.GET:  # a page that stays open fetches what is new
        record = see_visit(request.person, visit_id, now=request.now, action=Action.FOLLOWED)
    else:
        record = _taken(request, visit_id, _NAMES[writing])
    if record.is_signed:
        place = "#patients-page" if writing is Writing.SUMMARY else ""
        signed = url("signed", visit_id=visit_id, number=record.signatures[-1].number)
        return HttpResponseRedirect(f"{signed}{place}")
    earlier = earlier_visits(request.person, visit_id, record.examination)
    fair = _fair(request, record, writing, earlier)
    page = PaperPage(
        visit=record.line,
        writing=writing,
        document=fair.document,
        sections=fair.sections,
        writers=writers_of(record.sheet, writing),
        problems=tuple(map(str, fair.problems())),
        unsigned=earlier.unsigned,
        disputes=disputes(record.sheet, load_protocol()),
        text=as_text(not_signed(fair.document)),
        reading=_reading(fair) if writing is Writing.SUMMARY else "",
        reason=record.reason,
        operations=url("api_operations", visit_id=visit_id),
    )
    return render(request, page)


def _fair(request: Request, record: VisitRecord, writing: Writing, earlier: Earlier) -> FairPaper:
    """Return a paper as it would be if the person signed it now."""
    workup = workup_of(replace(record.examination, examiner=request.person.shown))
    fair = paper(
        writing,
        workup,
        written_on=request.today,
        identity=record.line.patient.identity,
        earlier=followed(earlier.examinations),
        own=own_words(record.sheet, writing),
    )
    return replace(fair, sender=settings.FABELLA.letterhead)


def _reading(fair: FairPaper) -> str:
    """Return how hard the page is to read, in the program's words and in somebody's own."""
    computed, now = (reading_grade(_prose(each)) or 0.0 for each in (fair.computed, fair.document))
    told = f"Reading level: grade {max(now, 0):.1f} (Flesch-Kincaid, US school)"
    if fair.own and round(now, 1) != round(computed, 1):
        told += f"; as computed {max(computed, 0):.1f}"
    hard = f". That is hard: ours stay at or below {PAGE_GRADE:g}. Shorter sentences and words help"
    return told + (hard if now > PAGE_GRADE else "") + "."


def _prose(document: Document) -> str:
    """Return everything a patient reads, without headings and small print."""
    texts = [document.close]
    for section in document.sections:
        for block in section.blocks:
            if isinstance(block, Paragraph):
                texts.append(block.text)
            elif isinstance(block, Points):
                texts.extend(block.texts)
    return " ".join(texts)


@enter(Role.CLINICIAN)
def plate(request: Request, visit_id: int) -> HttpResponse:
    """Give the plate of both knees as a drawing."""
    record = _taken(request, visit_id, "plate")
    return HttpResponse(plate_of(record.examination), content_type="image/svg+xml")


@enter(Role.CLINICIAN)
def side_view(request: Request, visit_id: int) -> HttpResponse:
    """Give both knees from the side as a drawing."""
    if "again" in request.GET:  # a page that stays open fetches what is new
        record = see_visit(request.person, visit_id, now=request.now, action=Action.FOLLOWED)
    else:
        record = _taken(request, visit_id, "side view")
    return HttpResponse(side_view_of(record.examination), content_type="image/svg+xml")


@enter(Role.CLINICIAN)
def file(request: Request, visit_id: int) -> HttpResponse:
    """Give the examination as a file."""
    record = _taken(request, visit_id, "file")
    return sent_file(write_examination(record.examination), f"visit-{visit_id}.json")


@enter(Role.CLINICIAN, methods=("POST",))
def bring(request: Request, visit_id: int) -> HttpResponse:
    """Bring an examination file into the visit."""
    upload = request.FILES.get("file")
    text: bytes | str = upload.read() if upload is not None else request.POST.get("text", "")
    saved = bring_in(
        request.person,
        visit_id,
        text,
        base=typed_whole(request.POST.get("base", "")),
        today=request.today,
        now=request.now,
    )
    if refused := [str(each) for result in saved.results for each in result.problems]:
        raise FabellaError("\n".join(refused))
    return HttpResponseRedirect(url("visit", visit_id=visit_id))


def _taken(request: Request, visit_id: int, what: str) -> VisitRecord:
    return see_visit(request.person, visit_id, now=request.now, action=Action.TOOK, what=what)
