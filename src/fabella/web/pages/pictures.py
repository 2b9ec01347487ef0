"""The pictures of a visit: each with what was measured on it, how, by whom and when."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import ClassVar

from django.http import HttpResponse

from fabella.picture import read_picture
from fabella.report.measured_plate import measured_figure
from fabella.store import Role
from fabella.store.clinic.lines import VisitLine
from fabella.store.clinic.picturing import picture_of, pictures_of
from fabella.store.clinic.trail import Action
from fabella.store.clinic.visits import see_visit
from fabella.web.door import enter
from fabella.web.measuring.telling import Shown, shown
from fabella.web.templating import render, said
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class PicturesPage:
    """Everything that was measured on pictures at a visit."""

    template: ClassVar[str] = "pictures.html"

    visit: VisitLine = field(metadata=said("The visit, open or signed."))
    is_disputed: bool = field(
        metadata=said("Whether values stand beside each other of which one has to be chosen.")
    )
    pictures: tuple[Shown, ...] = field(metadata=said("The pictures, in the order in which they were kept."))


@enter(Role.CLINICIAN)
def pictures(request: Request, visit_id: int) -> HttpResponse:
    """Show the pictures of a visit."""
    record = see_visit(request.person, visit_id, now=request.now)
    page = PicturesPage(
        visit=record.line,
        is_disputed=bool(record.sheet.conflicts),
        pictures=shown(pictures_of(request.person, visit_id)),
    )
    return render(request, page)


@enter(Role.CLINICIAN)
def picture(request: Request, visit_id: int, number: int) -> HttpResponse:
    """Give a picture with its points, lines and values, as a drawing."""
    see_visit(request.person, visit_id, now=request.now, action=Action.FOLLOWED)
    kept, jpeg = picture_of(request.person, visit_id, number)
    taken = replace(read_picture(jpeg, name=f"picture {number}"), remarks=kept.remarks)
    figure = measured_figure(kept.measurement, replace(taken, frame=kept.measurement.frame))
    return HttpResponse(figure.svg, content_type="image/svg+xml")
