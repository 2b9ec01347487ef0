"""An exam as it is frozen: marks, stations and rules as texts, from which everything follows again."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final

from fabella.assess import Rules, read_rules, write_marks, write_rules
from fabella.errors import InputError, Problem
from fabella.exam import Written, marks_of, write_station
from fabella.store import Actor
from fabella.store.exams.sheets import KeptSheet, all_sheets
from fabella.web.analysing.allotment import Allotment, allotment_of
from fabella.web.analysing.weights import weights_of
from fabella.web.examining.drafting import Draft

RULES: Final = "rules"
"""Names the paper that keeps the rules of an exam."""

FORMAT: Final = "fabella.exam-decision/1"


@dataclass(frozen=True, slots=True, kw_only=True)
class FrozenExam:
    """Everything that an analysis rests on, as text.

    ``allotted``: who has said that candidates were allotted at random, which only the comparison of examiners
    and circuits rests on.
    ``void``: sheets said to be lost or not held: candidate, station, examiner, reason.
    ``comments`` are what examiners wrote on the whole: candidate, station, text. No figure rests on them.
    ``weights`` are those of stations that are not 1, by id.
    """

    title: str
    day: date
    marks: str
    stations: tuple[str, ...]
    rules: str
    weights: tuple[tuple[str, float], ...] = ()
    allotted: Allotment | None = None
    void: tuple[tuple[str, str, str, str], ...] = ()
    comments: tuple[tuple[str, str, str], ...] = ()

    @property
    def at_random(self) -> bool:
        """As of `fabella.assess.analyse`."""
        return self.allotted is not None


def freeze(actor: Actor, draft: Draft) -> FrozenExam:
    """Return an exam as it is marked now, for its lead; `InputError` when nothing is marked."""
    if not draft.stations:
        remedy = "propose at least one"
        raise InputError([Problem(place="stations", value="", says="are missing", remedy=remedy)])
    sheets = all_sheets(actor, draft.exam.id)
    weights = weights_of(draft)
    marks = marks_of(draft.stations, _written(sheets, draft.ids), weights=weights)
    return FrozenExam(
        title=draft.exam.name,
        day=draft.exam.day,
        marks=write_marks(marks),
        stations=tuple(map(write_station, draft.stations)),
        rules=write_rules(rules_of(draft)),
        weights=tuple((name, weight) for name, weight in weights.items() if weight != 1),
        allotted=allotment_of(draft),
        void=tuple((*each.key.parts, each.sheet.void) for each in sheets if each.sheet.is_void),
        comments=tuple(
            (each.key.candidate, each.key.station, text)
            for station in draft.ids
            for each in sheets
            if each.key.station == station and (text := each.sheet.comments.get("", ""))
        ),
    )


def rules_of(draft: Draft) -> Rules:
    """Return the rules of an exam: those written for it, or the usual ones."""
    text = draft.text(RULES)
    return read_rules(text) if text else Rules()


def write_decision(frozen: FrozenExam, results: str) -> str:
    """Return the text that is kept of a decision: what it rests on, and what it came to."""
    tree = {
        "format": FORMAT,
        "title": frozen.title,
        "day": frozen.day.isoformat(),
        "marks": frozen.marks,
        "stations": [json.loads(each) for each in frozen.stations],
        "rules": json.loads(frozen.rules),
        "weights": dict(frozen.weights),
        "allotted_at_random": frozen.allotted
        and {"by": frozen.allotted.by, "at": frozen.allotted.at.isoformat()},
        "void": frozen.void,
        "comments": frozen.comments,
        "results": json.loads(results),
    }
    return json.dumps(tree, ensure_ascii=False) + "\n"


def read_decision(text: str) -> FrozenExam | None:
    """Return what a kept decision rests on; None for one that was kept without it."""
    tree: dict[str, Any] = json.loads(text)
    if tree.get("format") != FORMAT:
        return None
    return FrozenExam(
        title=tree["title"],
        day=date.fromisoformat(tree["day"]),
        marks=tree["marks"],
        stations=tuple(json.dumps(each) for each in tree["stations"]),
        rules=json.dumps(tree["rules"]),
        weights=tuple(tree.get("weights", {}).items()),
        allotted=_allotted(tree.get("allotted_at_random")),
        void=tuple(tuple(each) for each in tree.get("void", ())),
        comments=tuple(tuple(each) for each in tree.get("comments", ())),
    )


def _allotted(told: dict[str, str] | None) -> Allotment | None:
    return Allotment(by=told["by"], at=datetime.fromisoformat(told["at"])) if told else None


def _written(kept: tuple[KeptSheet, ...], stations: tuple[str, ...]) -> list[Written]:
    """Return sheets with the circuit of each candidate, even where the timetable has a sheet no more."""
    circuits = {each.key.candidate: each.planned.stop.circuit for each in kept if each.planned}
    return [
        Written(
            candidate=each.key.candidate,
            station=each.key.station,
            examiner=each.key.examiner,
            circuit=circuits.get(each.key.candidate, "1"),
            sheet=each.sheet,
            is_away=each.away is not None,
        )
        for each in kept
        if each.key.station in stations and (each.planned or not each.sheet.is_blank)
    ]
