"""A candidate's own page as PDF, once it is released."""

from __future__ import annotations

from django.http import HttpResponse

from fabella.store import NotAllowed, NotThere
from fabella.store.exams.codes import Kind
from fabella.store.exams.results import released_to
from fabella.web.analysing.decided import page_of
from fabella.web.door import enter_by_code
from fabella.web.pages.exam_analysis import as_file
from fabella.web.visitor import Request


@enter_by_code(Kind.CANDIDATE)
def mark_page(request: Request) -> HttpResponse:
    """Send a candidate the page about themselves, and nobody else's."""
    held = request.exam_pass
    if held is None:
        raise NotAllowed("Please enter your code.")
    content = page_of(released_to(held).text, held.person)
    if content is None:
        raise NotThere("There is no page about you; ask the exam lead.")
    return as_file(content, f"result-{held.person}.pdf")
