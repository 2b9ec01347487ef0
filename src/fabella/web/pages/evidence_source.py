"""One source: what it is, where to find it, and everything that is taken from it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import Http404, HttpResponse

from fabella.anatomy import load_lesions
from fabella.evidence import SourceEvidence, describe_source, load_edition
from fabella.evidence.knowledge import load_knowledge
from fabella.protocol import load_protocol
from fabella.web.door import enter_known
from fabella.web.evidence.taken import Taken, taken_by_model, taken_from
from fabella.web.templating import render, said
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class SourcePage:
    """A source and what is taken from it."""

    template: ClassVar[str] = "evidence_source.html"

    found: SourceEvidence = field(metadata=said("Citation, identifier, kind and remark, with its rows."))
    taken: tuple[Taken, ...] = field(metadata=said("What its rows are about, table by table."))
    in_model: tuple[Taken, ...] = field(metadata=said("What the model takes from it."))


@enter_known()
def evidence_source(request: Request, source: str) -> HttpResponse:
    """Show a source."""
    edition = load_edition()
    if source not in edition.sources:
        raise Http404
    found = describe_source(edition, source)
    page = SourcePage(
        found=found,
        taken=taken_from(edition, found, load_protocol(), load_lesions()),
        in_model=taken_by_model(load_knowledge(), source, load_protocol(), load_lesions()),
    )
    return render(request, page)
