"""A kept decision, read: what was decided about whom, in words, and the page of a candidate."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date
from typing import Any

import fabella
from fabella.assess import Outcome, Reason, read_rules, write_blueprint, write_rules
from fabella.exam import blueprint_of, read_station
from fabella.papers import decision_table
from fabella.papers.batch import file_names
from fabella.papers.reasons import reasons_for
from fabella.papers.words import OUTCOMES, RULES, beside
from fabella.web.analysing.frozen import decision_tree, read_decision
from fabella.web.analysing.told_pages import Printed, ToldPage, printed, told_of_tree
from fabella.web.analysing.worked import Asked, Decided, follows_again, told, told_all
from fabella.web.elsewhere import computed


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """What was decided about one candidate, in words."""

    candidate: str
    outcome: str
    reasons: str
    score: str
    passing: str
    second_look: bool


PART = 40
"""Candidates whose pages are made in one go: about a second."""


def page_of(decision: str, candidate: str) -> bytes | None:
    """Return a candidate's page as PDF from a kept decision; None as of `told_of`."""
    found = told_of(decision, candidate)
    if found is None:
        return None
    day = date.fromisoformat(decision_tree(decision)["day"])
    ((_, content),) = computed(printed, Printed(day=day, pages=(("", found.document),)))
    return content


def told_of(decision: str, candidate: str) -> ToldPage | None:
    """Return what is told of a candidate: as it was when it was decided, or, where that was not kept, now.

    None where the decision was kept without what it rests on, for whoever is not in it, and where it
    `is_other`.
    """
    kept = decision_tree(decision).get("pages", {}).get(candidate)
    if kept is not None:
        return told_of_tree(kept)
    frozen, names = read_decision(decision), candidates_of(decision)
    if frozen is None or candidate not in names or is_other(decision):
        return None
    return computed(told, Asked(exam=frozen, place=names.index(candidate)))


def parts_of(decision: str) -> tuple[Printed, ...]:
    """Return the pages of all candidates, `PART` at a time, to be `printed`; none where there are none."""
    tree = decision_tree(decision)
    if (kept := tree.get("pages")) is not None:
        found = [(name, told_of_tree(kept[name])) for name in candidates_of(decision)]
    elif (frozen := read_decision(decision)) is None or is_other(decision):
        return ()
    else:
        found = list(zip(candidates_of(decision), computed(told_all, frozen), strict=True))
    files = file_names(tuple(name for name, _ in found))
    pages = tuple((file, each.document) for file, (_, each) in zip(files, found, strict=True))
    day = date.fromisoformat(tree["day"])
    return tuple(Printed(day=day, pages=pages[n : n + PART]) for n in range(0, len(pages), PART))


def is_other(decision: str) -> bool:
    """Say whether this program works out something else from a decision that was kept without its pages.

    What was decided stands, and no page is made of it that would say otherwise.
    """
    tree = decision_tree(decision)
    if "pages" in tree:
        return False
    frozen = read_decision(decision)
    results = json.dumps(tree.get("results"))
    return frozen is not None and not computed(follows_again, Decided(exam=frozen, results=results))


def other_words(decision: str) -> str:
    """Return what is said where it `is_other`; empty where it is not."""
    if not is_other(decision):
        return ""
    program = decision_tree(decision).get("program", "")
    return (
        f"Fabella {fabella.__version__} does not work out again what was decided by "
        f"{f'Fabella {program}' if program else 'an earlier version'} from the same marks and rules. What "
        "was decided stands, and no page is made here that would say otherwise. The files of the decision "
        "hold all that it rests on, for the version that decided."
    )


def candidates_of(decision: str) -> list[str]:
    """Return the candidates of a decision, in the order of the marks."""
    return [each["candidate"] for each in decisions_of(decision)]


def decisions_of(text: str) -> list[dict[str, Any]]:
    """Return the decisions as they were kept."""
    tree = decision_tree(text)
    found: list[dict[str, Any]] = tree.get("results", tree).get("decisions", [])
    return found


def lines_of(text: str) -> tuple[Line, ...]:
    """Return what was decided, a line a candidate, in the order of the marks."""
    return tuple(map(_line, decisions_of(text)))


def decision_files(kept: str) -> tuple[tuple[str, str], ...]:
    """Return a kept decision as files: itself, as a table, and what `fabella exam` makes the same of again.

    A decision that was kept without what it rests on has the first two alone.
    """
    table = decision_table(decisions_of(kept))
    found: tuple[tuple[str, str], ...] = (("decision.json", kept), ("decisions.csv", table))
    if (frozen := read_decision(kept)) is None:
        return found
    stations = [read_station(each, protocol=None) for each in frozen.stations]
    blueprint = blueprint_of(stations, weights=dict(frozen.weights))
    return (
        *found,
        ("marks.csv", frozen.marks),
        ("blueprint.json", write_blueprint(blueprint) + "\n"),
        ("rules.json", write_rules(read_rules(frozen.rules)) + "\n"),
    )


def _line(decision: dict[str, Any]) -> Line:
    outcome = Outcome(decision["outcome"])
    score, passing = decision["total"], decision["pass_mark"]
    shown, to_pass = percent(score), percent(passing)
    if score is not None and passing is not None:  # a score below is read as one
        shown, to_pass = (f"{each}%" for each in beside(score, passing))
    return Line(
        candidate=decision["candidate"],
        outcome=OUTCOMES[outcome],
        reasons=", ".join(RULES[each] for each in reasons_for(outcome, map(Reason, decision["reasons"]))),
        score=shown,
        passing=to_pass,
        second_look=decision["review"],
    )


def percent(value: float | None) -> str:
    """Return a percentage, or a dash where there is none."""
    return "–" if value is None else f"{value:.1f}%"
