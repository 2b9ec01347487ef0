"""An exam as it is frozen: marks, stations and rules as texts, from which everything follows again."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from typing import Any, ClassVar, Final

import fabella
from fabella.web.analysing.allotted import Allotment
from fabella.web.analysing.rules_origin import RulesOrigin

FORMAT: Final = "fabella.exam-decision/1"
_KEPT: Final = 4
"""Decisions that are remembered as read: of exams that are looked at in one hour (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FrozenExam:
    """Everything that an analysis rests on, as text.

    ``allotted``: who has said that candidates were allotted at random, which only the comparison of examiners
    and circuits rests on.
    ``void``: sheets said to be lost or not held: candidate, station, examiner, reason.
    ``annulled``: stations that count for nobody, with the reason of each.
    ``comments`` are what examiners wrote on the whole: candidate, station, text. No figure rests on them.
    ``weights`` are those of stations that are not 1, by id.
    ``origin``: where the rules come from; None in what was kept before that was told.
    """

    is_large: ClassVar[bool] = True

    title: str
    day: date
    marks: str
    stations: tuple[str, ...]
    rules: str
    origin: RulesOrigin | None = None
    weights: tuple[tuple[str, float], ...] = ()
    allotted: Allotment | None = None
    void: tuple[tuple[str, str, str, str], ...] = ()
    annulled: tuple[tuple[str, str], ...] = ()
    comments: tuple[tuple[str, str, str], ...] = ()

    @property
    def at_random(self) -> bool:
        """As of `fabella.assess.analyse`."""
        return self.allotted is not None


def write_decision(frozen: FrozenExam, results: str, pages: Mapping[str, Any]) -> str:
    """Return the text that is kept of a decision: what it rests on, what it came to, and what is told then.

    ``pages`` are those of the candidates, as `fabella.web.analysing.told_pages.told_tree` has them.
    """
    tree = {
        "format": FORMAT,
        "title": frozen.title,
        "day": frozen.day.isoformat(),
        "marks": frozen.marks,
        "stations": [json.loads(each) for each in frozen.stations],
        "rules": json.loads(frozen.rules),
        "rules_from": frozen.origin and frozen.origin.tree,
        "weights": dict(frozen.weights),
        "allotted_at_random": frozen.allotted
        and {"by": frozen.allotted.by, "at": frozen.allotted.at.isoformat()},
        "void": frozen.void,
        "annulled": dict(frozen.annulled),
        "comments": frozen.comments,
        "program": fabella.__version__,
        "results": json.loads(results),
        "pages": pages,
    }
    return json.dumps(tree, ensure_ascii=False) + "\n"


@lru_cache(maxsize=_KEPT)
def decision_tree(text: str) -> Mapping[str, Any]:
    """Return a kept decision as data, to be read only; when results are released everybody asks for one."""
    tree: dict[str, Any] = json.loads(text)
    return tree


@lru_cache(maxsize=_KEPT)
def read_decision(text: str) -> FrozenExam | None:
    """Return what a kept decision rests on; None for one that was kept without it."""
    tree = decision_tree(text)
    if tree.get("format") != FORMAT:
        return None
    return FrozenExam(
        title=tree["title"],
        day=date.fromisoformat(tree["day"]),
        marks=tree["marks"],
        stations=tuple(json.dumps(each) for each in tree["stations"]),
        rules=json.dumps(tree["rules"]),
        origin=RulesOrigin.of_tree(origin) if (origin := tree.get("rules_from")) else None,
        weights=tuple(tree.get("weights", {}).items()),
        allotted=_allotted(tree.get("allotted_at_random")),
        void=tuple(tuple(each) for each in tree.get("void", ())),
        annulled=tuple(tree.get("annulled", {}).items()),
        comments=tuple(tuple(each) for each in tree.get("comments", ())),
    )


def _allotted(told: dict[str, str] | None) -> Allotment | None:
    return Allotment(by=told["by"], at=datetime.fromisoformat(told["at"])) if told else None
