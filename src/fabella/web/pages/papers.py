"""What a visit gives to read and to take away before it is signed: letter, patient's page, plate, file."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import FabellaError
from fabella.record import write_examination
from fabella.report import Document, build_letter, build_summary, letter_document, summary_document
from fabella.store import Role
from fabella.store.clinic.charting import Outcome
from fabella.store.clinic.importing import bring_in
from fabella.store.clinic.lines import VisitLine
from fabella.store.clinic.trail import Action
from fabella.store.clinic.visits import VisitRecord, see_visit
from fabella.web.concluding import live, workup_of
from fabella.web.door import enter
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperPage:
    """A letter or the patient's page, as it would be now."""

    template: ClassVar[str] = "paper.html"

    visit: VisitLine = field(metadata=said("The visit that it is about."))
    document: Document = field(metadata=said("The page itself, ready to be rendered."))
    is_draft: bool = field(metadata=said("Whether the visit is not signed, so that this may still change."))


@enter(Role.CLINICIAN)
def letter(request: Request, visit_id: int) -> HttpResponse:
    """Show the letter as it would be now."""
    record = _taken(request, visit_id, "letter")
    context = build_letter(workup_of(record.examination), written_on=request.today)
    return _paper(request, record, letter_document(context))


@enter(Role.CLINICIAN)
def summary(request: Request, visit_id: int) -> HttpResponse:
    """Show the patient's page as it would be now."""
    record = _taken(request, visit_id, "patient's page")
    context = build_summary(workup_of(record.examination), written_on=request.today)
    return _paper(request, record, summary_document(context))


@enter(Role.CLINICIAN)
def plate(request: Request, visit_id: int) -> HttpResponse:
    """Give the plate of both knees as a drawing."""
    record = _taken(request, visit_id, "plate")
    return HttpResponse(live(record.examination).plate, content_type="image/svg+xml")


@enter(Role.CLINICIAN)
def file(request: Request, visit_id: int) -> HttpResponse:
    """Give the examination as a file."""
    record = _taken(request, visit_id, "file")
    return attachment(
        write_examination(record.examination).encode(), "application/json", f"visit-{visit_id}.json"
    )


@enter(Role.CLINICIAN, methods=("POST",))
def bring(request: Request, visit_id: int) -> HttpResponse:
    """Bring an examination file into the visit."""
    upload = request.FILES.get("file")
    text: bytes | str = upload.read() if upload is not None else request.POST.get("text", "")
    base = request.POST.get("base", "")
    saved = bring_in(
        request.person,
        visit_id,
        text,
        base=int(base) if base.isdigit() else 0,
        today=request.today,
        now=request.now,
    )
    refused = [str(each) for result in saved.results for each in result.problems]
    if any(result.outcome is Outcome.REFUSED for result in saved.results):
        raise FabellaError("\n".join(refused))
    return HttpResponseRedirect(url("visit", visit_id=visit_id))


def attachment(content: bytes, kind: str, name: str) -> HttpResponse:
    """Return something to be saved under a name."""
    response = HttpResponse(content, content_type=kind)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


def _taken(request: Request, visit_id: int, what: str) -> VisitRecord:
    return see_visit(request.person, visit_id, now=request.now, action=Action.TOOK, what=what)


def _paper(request: Request, record: VisitRecord, document: Document) -> HttpResponse:
    return render(
        request, PaperPage(visit=record.line, document=document, is_draft=not record.line.is_signed)
    )
