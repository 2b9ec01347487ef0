"""The trail of an exam in words: the papers of an exam by their names, its stages as pages call them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from fabella.store import Actor
from fabella.store.exams.leading import Stage
from fabella.store.exams.papers import ANNULLED, STATION, TIMETABLE, USUAL_RULES
from fabella.store.exams.trail import TrailLine, trail_of
from fabella.web.analysing.allotment import ALLOTMENT
from fabella.web.analysing.freezing import RULES
from fabella.web.analysing.weights import WEIGHTS
from fabella.web.examining.day_plan import PLAN
from fabella.web.examining.drafting import ORDER, Draft, full_name
from fabella.web.examining.people import CANDIDATES, EXAMINERS
from fabella.web.examining.stages import STAGES

_PAPERS: Final = {
    ORDER: "order of the stations",
    PLAN: "plan of the day",
    CANDIDATES: "list of candidates",
    EXAMINERS: "list of examiners",
    TIMETABLE: "timetable",
    RULES: "rules of the pass mark",
    USUAL_RULES: "usual rules of that day, for what nobody has declared",
    WEIGHTS: "weights of the stations",
    ALLOTMENT: "allotment at random",
}


def trail_told(actor: Actor, draft: Draft) -> tuple[TrailLine, ...]:
    """Return everything that was done to an exam but marking, the earliest first."""
    called = {each: full_name(each, title) for each, title in draft.titles.items()}
    return tuple(replace(each, about=_about(each.about, called)) for each in trail_of(actor, draft.exam.id))


def _about(name: str, called: Mapping[str, str]) -> str:
    if name.startswith((STATION, ANNULLED)):
        station = name.removeprefix(STATION).removeprefix(ANNULLED)
        return called.get(station, f"station {station}, which is out")
    if name in set(Stage):
        return STAGES[Stage(name)]
    return _PAPERS.get(name, name)
