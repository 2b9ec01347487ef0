"""A kept decision, read: what was decided about whom, in words, and the page of a candidate."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from fabella.assess import Outcome, Reason
from fabella.papers import Standing
from fabella.papers.words import OUTCOMES, RULES
from fabella.report import Document
from fabella.web.analysing.frozen import read_decision
from fabella.web.analysing.worked import Asked, feedback_file, feedback_told
from fabella.web.concluding import computed


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """What was decided about one candidate, in words."""

    candidate: str
    outcome: str
    reasons: str
    score: str
    passing: str
    second_look: bool


def page_of(decision: str, candidate: str) -> bytes | None:
    """Return a candidate's page as PDF from a kept decision; None where it does not tell enough."""
    asked = _asked(decision, candidate)
    return computed(feedback_file, asked) if asked else None


def told_of(decision: str, candidate: str) -> tuple[Document, tuple[Standing, ...]] | None:
    """Return the same page to be shown, and where the candidate stands."""
    asked = _asked(decision, candidate)
    return computed(feedback_told, asked) if asked else None


def _asked(decision: str, candidate: str) -> Asked | None:
    frozen, names = read_decision(decision), candidates_of(decision)
    if frozen is None or candidate not in names:
        return None
    return Asked(exam=frozen, place=names.index(candidate))


def candidates_of(decision: str) -> list[str]:
    """Return the candidates of a decision, in the order of the marks."""
    return [each["candidate"] for each in decisions_of(decision)]


def decisions_of(text: str) -> list[dict[str, Any]]:
    """Return the decisions as they were kept."""
    tree = json.loads(text)
    found: list[dict[str, Any]] = tree.get("results", tree).get("decisions", [])
    return found


def lines_of(text: str) -> tuple[Line, ...]:
    """Return what was decided, a line a candidate, in the order of the marks."""
    return tuple(map(_line, decisions_of(text)))


def _line(decision: dict[str, Any]) -> Line:
    return Line(
        candidate=decision["candidate"],
        outcome=OUTCOMES[Outcome(decision["outcome"])],
        reasons=", ".join(RULES[Reason(each)] for each in decision["reasons"]),
        score=percent(decision["total"]),
        passing=percent(decision["pass_mark"]),
        second_look=decision["review"],
    )


def percent(value: float | None) -> str:
    """Return a percentage, or a dash where there is none."""
    return "–" if value is None else f"{value:.1f}%"
