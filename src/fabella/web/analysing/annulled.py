"""Stations whose marking counts for nobody: annulled by the lead after the day, with a reason."""

from __future__ import annotations

from dataclasses import dataclass

from fabella.errors import Problems
from fabella.store.exams.leading import check_reason
from fabella.store.exams.papers import ANNULLED, put_paper
from fabella.web.examining.drafting import Draft, full_name
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class AnnulledLine:
    """A station that counts for nobody: who has said so, and why."""

    station: str
    name: str
    why: str
    by: str


def annulled_of(draft: Draft) -> dict[str, str]:
    """Return the stations of an exam that are annulled, by id, each with the reason."""
    papers = {name: draft.papers.get(ANNULLED + name) for name in draft.ids}
    return {name: paper.why for name, paper in papers.items() if paper is not None}


def annulled_lines(draft: Draft) -> tuple[AnnulledLine, ...]:
    """Return them for a page, in the order of the exam."""
    return tuple(
        AnnulledLine(
            station=name,
            name=full_name(name, draft.titles[name]),
            why=why,
            by=draft.papers[ANNULLED + name].by,
        )
        for name, why in annulled_of(draft).items()
    )


def keep_annulled(request: Request, draft: Draft) -> None:
    """Annul a station, or let it count after all, as was pressed; `InputError` has all that is wanting."""
    station, why = request.POST.get("station", ""), " ".join(request.POST.get("why", "").split())
    is_annulled, before = request.POST.get("step") == "annul", annulled_of(draft)
    problems = Problems()
    if station not in draft.ids or (station in before) is is_annulled:
        remedy = "choose one that counts" if is_annulled else "choose one that was annulled"
        problems.add("station", station, "cannot be changed so", remedy)
    check_reason(why, problems)
    problems.raise_any()
    text = "annulled\n" if is_annulled else ""
    put_paper(request.person, draft.exam.id, ANNULLED + station, text, why=why, now=request.now)
