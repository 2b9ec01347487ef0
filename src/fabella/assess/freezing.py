"""Freeze an exam: its marks as the CSV they are read from, its results as text that a re-run must repeat."""

from __future__ import annotations

import csv
import json
from dataclasses import asdict
from datetime import UTC, datetime
from io import StringIO
from math import isfinite
from typing import Any, Final

import numpy as np

from fabella.assess.blueprint import item_table
from fabella.assess.decided import Decision, Results
from fabella.assess.gathering import REQUIRED
from fabella.assess.marks import Marks, State
from fabella.assess.rounding import DIGITS
from fabella.assess.rules import ErrorOf
from fabella.assess.rules_file import rules_tree

FORMAT: Final = "fabella.exam-results/1"
_HEADER = (*REQUIRED[:1], "circuit", *REQUIRED[1:], "started", "finished", "timed_out")


def write_marks(marks: Marks) -> str:
    """Return marks as CSV in long form; reading it back gives marks with the same digest."""
    table, codes = item_table(marks.blueprint), marks.blueprint.station_codes
    out = StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(_HEADER)
    words = [state.word for state in State]
    of_sheet = [
        (
            marks.candidates[marks.candidate[k]],
            marks.circuits[marks.circuit[k]],
            codes[marks.station[k]],
            marks.examiners[marks.examiner[k]],
        )
        for k in range(marks.n_sheets)
    ]
    grades = ["not_observed" if np.isnan(grade) else repr(float(grade)) for grade in marks.grade]
    times = [(_time(a), _time(b)) for a, b in zip(marks.started_s, marks.finished_s, strict=True)]
    late = ["yes" if each else "" for each in marks.timed_out]
    columns = (marks.sheet, marks.item, marks.mark, marks.state)
    for sheet, item, mark, state in zip(*(column.tolist() for column in columns), strict=True):
        text = words[state] if state else repr(mark)
        writer.writerow(
            (*of_sheet[sheet], table.codes[item], text, grades[sheet], *times[sheet], late[sheet])
        )
    return out.getvalue()


def write_results(results: Results) -> str:
    """Return what was decided and what it rests on, as JSON: equal marks and rules, equal text.

    Numbers are rounded to six decimals; what does not exist is null.
    """
    found = results.pass_mark
    tree = {
        "format": FORMAT,
        "marks": results.marks_digest,
        "rules": rules_tree(results.rules),
        "pass_mark": {
            "method": found.method,
            "cut": found.cut.estimate,
            "low": found.cut.low,
            "high": found.cut.high,
            "se": found.se,
            "station_cuts": found.station_cuts,
        },
        "sem": results.sem,
        "se_decision": results.se_decision,
        "predicted_stations": results.predicted_stations,
        "decisions": [_decision_tree(each, results) for each in results.decisions],
    }
    return json.dumps(_rounded(tree), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _decision_tree(decision: Decision, results: Results) -> dict[str, Any]:
    """Return a decision as data; without the own error where rules are older, whose texts had none."""
    tree = asdict(decision)
    if results.rules.error_of is ErrorOf.ALL:
        del tree["sem"]
    return tree


def _time(seconds: float) -> str:
    return "" if np.isnan(seconds) else datetime.fromtimestamp(seconds, tz=UTC).isoformat()


def _rounded(tree: Any) -> Any:
    if isinstance(tree, dict):
        return {name: _rounded(value) for name, value in tree.items()}
    if isinstance(tree, list | tuple):
        return [_rounded(value) for value in tree]
    if isinstance(tree, float):
        return round(tree, DIGITS) + 0.0 if isfinite(tree) else None
    return tree
