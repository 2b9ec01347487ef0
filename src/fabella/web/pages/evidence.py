"""What every number rests on: the list of signs, lesions, rules, measures, images and sources."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from typing import ClassVar

from django.http import HttpResponse

from fabella.evidence import load_edition
from fabella.evidence.knowledge import load_knowledge
from fabella.protocol import load_protocol
from fabella.web.door import enter_known
from fabella.web.evidence.catalogue import Group, catalogue, found, sources
from fabella.web.templating import render, said
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class EvidencePage:
    """Everything that evidence is held on, or what a query finds of it."""

    template: ClassVar[str] = "evidence.html"

    query: str = field(metadata=said("What was looked for; empty for everything."))
    groups: tuple[Group, ...] = field(
        metadata=said("Signs by position, lesions, rules, measures, images; sources when looked for.")
    )
    edition: str = field(metadata=said("Edition of the evidence."))
    sources: int = field(metadata=said("How many sources the edition has."))


@enter_known()
def evidence(request: Request) -> HttpResponse:
    """Show the list, or what a query finds of it; sources only when something is looked for."""
    query = request.GET.get("q", "").strip()
    everything = (*_catalogue(), sources(load_edition())) if query else _catalogue()
    edition = load_edition()
    page = EvidencePage(
        query=query,
        groups=found(everything, query),
        edition=edition.id,
        sources=len(edition.sources),
    )
    return render(request, page)


@cache
def _catalogue() -> tuple[Group, ...]:
    return catalogue(load_edition(), load_knowledge(), load_protocol())
