"""One image or laboratory test: which lesions it shows, and how well."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import Http404, HttpResponse

from fabella.anatomy import load_lesions
from fabella.evidence import load_edition
from fabella.evidence.knowledge import load_knowledge
from fabella.web.door import enter_known
from fabella.web.evidence.images import Shown, shown_by
from fabella.web.templating import render, said
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class ImagePage:
    """How well an image or a laboratory test shows each lesion."""

    template: ClassVar[str] = "evidence_image.html"

    name: str = field(metadata=said("Name of the image or test."))
    minutes: float = field(metadata=said("Minutes that it is taken to need."))
    shows: tuple[Shown, ...] = field(metadata=said("Lesions with sensitivity, specificity and source."))
    edition: str = field(metadata=said("Edition of the evidence."))


@enter_known()
def evidence_image(request: Request, image: str) -> HttpResponse:
    """Show an image or a laboratory test."""
    edition, knowledge = load_edition(), load_knowledge()
    rows = [each for each in knowledge.images if each.image == image]
    if not rows:
        raise Http404
    page = ImagePage(
        name=rows[0].name,
        minutes=rows[0].minutes,
        shows=shown_by(edition, load_lesions(), rows),
        edition=edition.id,
    )
    return render(request, page)
