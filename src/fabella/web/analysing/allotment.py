"""That candidates were allotted to circuits at random: ticked by the lead, kept with who did and when."""

from __future__ import annotations

from typing import Final

from fabella.store.exams.papers import put_paper
from fabella.web.analysing.allotted import Allotment
from fabella.web.examining.drafting import Draft
from fabella.web.visitor import Request

ALLOTMENT: Final = "allotment"
"""Names the paper that keeps it; it is there while the tick stands."""

_AT_RANDOM: Final = "at random\n"


def allotment_of(draft: Draft) -> Allotment | None:
    """Return what holds; None while nobody has said so."""
    paper = draft.papers.get(ALLOTMENT)
    return Allotment(by=paper.by, at=paper.at) if paper else None


def keep_allotment(request: Request, draft: Draft, *, at_random: bool) -> None:
    """Keep that the tick was set or taken away; `Frozen` once the results are released."""
    if at_random is not (ALLOTMENT in draft.papers):
        text = _AT_RANDOM if at_random else ""
        put_paper(request.person, draft.exam.id, ALLOTMENT, text, now=request.now)
