"""An examiner's page: the candidates of their station by round and time, and the sheet of each."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, ClassVar

from django.http import HttpResponse

from fabella.store.exams.codes import Kind
from fabella.web.door import enter_by_code
from fabella.web.marking.states import marking_tree
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkSheetsPage:
    """One page for the whole day, so that all of it is at hand when the connection is not."""

    template: ClassVar[str] = "mark_sheets.html"

    exam: str = field(metadata=said("Name of the exam."))
    person: str = field(metadata=said("Who examines."))
    marking: dict[str, Any] = field(
        metadata=said("What the scripts need: stations, sheets as they stand, bells and addresses.")
    )


@enter_by_code(Kind.EXAMINER)
def mark_sheets(request: Request) -> HttpResponse:
    """Show an examiner's own sheets."""
    tree = marking_tree(request.holder)
    addresses = {"sheets": url("api_mark_sheets"), "events": url("api_mark_events")}
    page = MarkSheetsPage(
        exam=tree["exam"], person=request.holder.person, marking={**tree, "addresses": addresses}
    )
    return render(request, page)
