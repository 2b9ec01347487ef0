"""An exam frozen as it is marked now."""

from __future__ import annotations

from collections.abc import Collection, Hashable
from typing import Final

from fabella.assess import Rules, read_rules, write_marks, write_rules
from fabella.errors import InputError
from fabella.exam import Written, marks_of, write_station
from fabella.store import Actor
from fabella.store.exams.leading import Stage, lead
from fabella.store.exams.papers import USUAL_RULES, KeptPaper
from fabella.store.exams.results import edition_of
from fabella.store.exams.sheets import KeptSheet, all_sheets
from fabella.store.kept import reading_kept
from fabella.store.remembered import Remembered
from fabella.web.analysing.allotment import allotment_of
from fabella.web.analysing.annulled import annulled_of
from fabella.web.analysing.frozen import FrozenExam
from fabella.web.analysing.rules_origin import Origin, RulesOrigin
from fabella.web.analysing.weights import weights_of
from fabella.web.examining.drafting import Draft

RULES: Final = "rules"
"""Names the paper that keeps the rules of an exam."""


# A lead waits for the analysis, and then opens one report after the other: the same marks are gathered once.
_frozen: Remembered[Hashable, FrozenExam] = Remembered(2)
forget_frozen = _frozen.forget


def freeze(actor: Actor, draft: Draft) -> FrozenExam:
    """Return an exam as it is marked now, for its lead; `InputError` when nothing is marked or counts."""
    lead(actor)
    papers = tuple((name, paper.version) for name, paper in draft.papers.items())
    # Asked before anything is read: what is said meanwhile is of the next edition.
    edition = (draft.exam, papers, edition_of(draft.exam.id))
    if (known := _frozen.get(edition)) is not None:
        return known
    found = _freeze(actor, draft)
    _frozen.put(edition, found)
    return found


def _freeze(actor: Actor, draft: Draft) -> FrozenExam:
    if not draft.stations:
        remedy = "propose at least one"
        raise InputError.of(place="stations", says="are missing", remedy=remedy)
    sheets = all_sheets(actor, draft.exam.id)
    weights = weights_of(draft)
    annulled = annulled_of(draft)
    if len(annulled) == len(draft.ids):
        remedy = "let one count after all, among the rules"
        raise InputError.of(place="stations", says="are all annulled", remedy=remedy)
    marks = marks_of(draft.stations, _written(sheets, draft.ids, annulled), weights=weights)
    return FrozenExam(
        title=draft.exam.name,
        day=draft.exam.day,
        marks=write_marks(marks),
        stations=tuple(map(write_station, draft.stations)),
        rules=write_rules(rules_of(draft)),
        origin=rules_origin(draft),
        weights=tuple((name, weight) for name, weight in weights.items() if weight != 1),
        allotted=allotment_of(draft),
        annulled=tuple(annulled.items()),
        void=tuple((*each.key.parts, each.sheet.void) for each in sheets if each.sheet.is_void),
        comments=tuple(
            (each.key.candidate, each.key.station, text)
            for station in draft.ids
            for each in sheets
            if each.key.station == station and (text := each.sheet.comments.get("", ""))
        ),
    )


def rules_of(draft: Draft) -> Rules:
    """Return the rules of an exam: those declared for it, or the usual ones."""
    return rules_in(draft.papers[RULES]) if RULES in draft.papers else usual_of(draft)


def usual_of(draft: Draft) -> Rules:
    """Return what is usual for an exam: what was so when it was opened, or what this program takes for it.

    The second is of a draft, and of an exam that was opened before the usual rules were kept.
    """
    paper = _kept_usual(draft)
    return Rules() if paper is None else rules_in(paper)


def rests_on_other(draft: Draft, frozen: FrozenExam) -> bool:
    """Say whether a decision was made by other rules, weights or stations than those that hold."""
    if dict(frozen.annulled) != annulled_of(draft):
        return True
    weights = {name: weight for name, weight in weights_of(draft).items() if weight != 1}
    return read_rules(frozen.rules) != rules_of(draft) or dict(frozen.weights) != weights


def rules_origin(draft: Draft) -> RulesOrigin:
    """Return where the rules of an exam come from."""
    if paper := draft.papers.get(RULES):
        return RulesOrigin(origin=Origin.DECLARED, by=paper.by, at=paper.at, version=paper.version)
    if kept := _kept_usual(draft):
        return RulesOrigin(origin=Origin.KEPT, at=kept.at)
    return RulesOrigin(origin=Origin.USUAL)


def _kept_usual(draft: Draft) -> KeptPaper | None:
    return None if draft.exam.stage is Stage.DRAFT else draft.papers.get(USUAL_RULES)


def rules_in(paper: KeptPaper) -> Rules:
    """Return the rules that a paper holds; raise `Unreadable` for what this program cannot read."""
    with reading_kept(f"Version {paper.version} of the {'usual ' if paper.name == USUAL_RULES else ''}rules"):
        return read_rules(paper.text) if paper.text else Rules()


def _written(
    kept: tuple[KeptSheet, ...], stations: tuple[str, ...], annulled: Collection[str]
) -> list[Written]:
    """Return the sheets that were wanted or written."""
    return [
        Written(
            candidate=each.key.candidate,
            station=each.key.station,
            examiner=each.key.examiner,
            circuit=each.circuit,
            sheet=each.sheet,
            is_away=each.away is not None,
            is_annulled=each.key.station in annulled,
        )
        for each in kept
        if each.key.station in stations and (each.planned or not each.sheet.is_blank)
    ]
