"""That candidates were allotted to circuits at random: ticked by the lead, kept with who did and when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from fabella.report.letter import written_date
from fabella.store.exams.papers import put_paper
from fabella.web.examining.drafting import Draft
from fabella.web.visitor import Request

ALLOTMENT: Final = "allotment"
"""Names the paper that keeps it; it is there while the tick stands."""

_AT_RANDOM: Final = "at random\n"
_NOBODY: Final = "Nobody has said that candidates were allotted to circuits at random."


@dataclass(frozen=True, slots=True, kw_only=True)
class Allotment:
    """That candidates were allotted to circuits at random, as somebody said."""

    by: str
    at: datetime


def allotment_of(draft: Draft) -> Allotment | None:
    """Return what holds; None while nobody has said so."""
    paper = draft.papers.get(ALLOTMENT)
    return Allotment(by=paper.by, at=paper.at) if paper else None


def keep_allotment(request: Request, draft: Draft, *, at_random: bool) -> None:
    """Keep that the tick was set or taken away; `Frozen` once the results are released."""
    if at_random is not (ALLOTMENT in draft.papers):
        text = _AT_RANDOM if at_random else ""
        put_paper(request.person, draft.exam.id, ALLOTMENT, text, now=request.now)


def allotment_words(allotment: Allotment | None) -> str:
    """Return it as a sentence."""
    if allotment is None:
        return _NOBODY
    at = allotment.at.astimezone()
    said = f"as {allotment.by} said on {written_date(at.date())} at {at:%H:%M}"
    return f"Candidates were allotted to circuits at random, {said}."
