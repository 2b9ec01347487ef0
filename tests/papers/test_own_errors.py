"""Who took fewer stations reads the error of those: on their page, in an appeal, in the board's report."""

from __future__ import annotations

import csv
from dataclasses import asdict, replace
from datetime import date
from io import StringIO

import numpy as np
import pytest

from fabella.assess import (
    CutMethod,
    ErrorOf,
    Outcome,
    Reason,
    Rules,
    alternatives,
    analyse,
    compare,
    decide,
    read_marks,
)
from fabella.exam import blueprint_of
from fabella.papers import Analysed, Cohort, board_report, decision_table, error_grounds, feedback, standings
from fabella.papers.own_errors import error_words
from fabella.papers.words import RULES as RULE_WORDS
from fabella.report import Document, as_text
from fabella.report.document import Table
from tests.assess.made import made_blueprint, made_rows, read_rows
from tests.cli.make_exam_example import HEADER, RULES, rows, stations

DAY = date(2031, 5, 6)
MADE = stations()
MARKS = read_marks("\n".join([HEADER, *rows(MADE), ""]), blueprint=blueprint_of(MADE))


def words(document: Document) -> str:
    """What a document says, with single spaces."""
    return " ".join(as_text(document).split())


def cohort(rules: Rules = RULES) -> Cohort:
    """The invented exam, in which three took four of five stations."""
    return Cohort(exam="An exam", held_on=DAY, marks=MARKS, results=decide(MARKS, rules), stations=MADE)


def board(rules: Rules) -> Document:
    """The report to the board by some rules."""
    exam = Analysed(
        title="An exam",
        held_on=DAY,
        analysis=analyse(MARKS, rules),
        alternatives=compare(MARKS, alternatives(rules)[:1]),
        target=0.8,
        version="0",
    )
    return board_report(exam)


def test_a_candidate_reads_the_error_of_the_stations_taken() -> None:
    """The page has the larger error with what it is of, drawn as told; who took all reads theirs alone."""
    exam = cohort()
    first = exam.results.with_other_error[0]
    place, own, whole = exam.results.decisions.index(first), first.sem, exam.results.sem
    assert own == pytest.approx(whole * np.sqrt(5 / 4), abs=2e-6)
    told = f"±{own:.1f}% over 4 stations, where all 5 give ±{whole:.1f}%"
    assert f"with a measurement error of {told} (two scores in three" in words(feedback(exam, place))
    assert error_grounds(exam, place) == f"The error of measurement of the whole is {told}."
    assert standings(exam, place)[0].error == own
    assert error_grounds(exam, 0) == f"The error of measurement of the whole is ±{whole:.1f}%."
    assert f"with a measurement error of ±{whole:.1f}% (two" in words(feedback(exam, 0))


def test_a_declared_error_for_everybody_is_told_of_all_stations_of_the_exam() -> None:
    """One station was held for nobody: four were taken, and what was declared is said to be of five."""
    blueprint = made_blueprint(stations=5, items=4)
    lines = [
        ",".join([*row.split(",")[:5], "station_void", "station_void"]) if ",S02," in row else row
        for row in made_rows(blueprint, candidates=20, circuits=1, seed=2)
    ]
    rules = Rules(method=CutMethod.FIXED, fixed_cut=50, sem=4, error_of=ErrorOf.ALL, resamples=200)
    results = decide(read_rows(lines, blueprint), rules)
    assert error_words(results, results.decisions[0]) == "±4.5% over 4 stations, where all 5 give ±4.0%"


def test_a_kind_of_item_has_the_error_of_the_stations_taken_too() -> None:
    """Of a kind that is marked alike at all stations, four of five leave sqrt(5/4) of its error."""
    exam = cohort()
    place = exam.results.decisions.index(exam.results.with_other_error[0])
    for _, errors, _ in exam.domains.values():
        assert errors[place] > errors[0] > 0


def test_the_board_reads_by_which_error_others_are_judged() -> None:
    """The report says how many took fewer stations, their error, and it beside the score at a second look."""
    near = replace(RULES, review_sems=5, sem_multiple=1)
    report = board(near)
    whole, own = (decide(MARKS, near).sem, decide(MARKS, near).with_other_error[0].sem)
    says = f"Where fewer stations were taken (3 candidates) it is that of those: {own:.2f}%."
    assert words(report).count(says) == 2  # at the pass mark and at the reliability
    (look,) = [each for each in report.sections if each.heading == "Second look"]
    (table,) = [each for each in look.blocks if isinstance(each, Table)]
    assert {row[1].split(" ± ")[-1] for row in table.rows if " ± " in row[1]} == {
        f"{whole:.1f}",
        f"{own:.1f}",
    }
    same = words(board(replace(near, error_of=ErrorOf.ALL)))
    assert "By the rules it is the same for all, also where other stations were taken (3 candidates)." in same


def test_the_table_of_decisions_has_the_error_of_each() -> None:
    """For other programs the own error stands beside the score, empty where a decision was kept without."""
    decisions = decide(MARKS, RULES).decisions
    told = list(csv.DictReader(StringIO(decision_table(map(asdict, decisions)))))
    for row, decision in zip(told, decisions, strict=True):
        assert row["error"] == ("" if np.isnan(decision.sem) else f"{decision.sem:.6f}")
    old = {name: value for name, value in asdict(decisions[0]).items() if name != "sem"}
    assert next(csv.DictReader(StringIO(decision_table([old]))))["error"] == ""


def test_who_is_not_decided_about_reads_of_no_failure() -> None:
    """Too few stations is the reason; that the score of those lay below the pass mark is none, anywhere.

    The page had said that this is no failure, and gave the score below the pass mark as a reason.
    """
    exam = cohort(replace(RULES, least_stations=0.9, method=CutMethod.FIXED, fixed_cut=90))
    first = exam.results.with_other_error[0]
    assert (first.outcome, Reason.BELOW_PASS_MARK in first.reasons) == (Outcome.INSUFFICIENT, True)
    text = words(feedback(exam, exam.results.decisions.index(first)))
    assert "this is no failure" in text
    assert "The reason: too few stations were taken." in text
    (row,) = csv.DictReader(StringIO(decision_table([asdict(first)])))
    assert row["reasons"] == RULE_WORDS[Reason.TOO_FEW_TAKEN]
