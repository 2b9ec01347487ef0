"""Decisions as a table for other programs, one candidate a row."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from io import StringIO
from math import isnan
from typing import Any

from fabella.assess import Outcome, Reason
from fabella.papers.reasons import reasons_for
from fabella.papers.words import OUTCOMES, RULES
from fabella.report.spreadsheet import no_formula

_HEADER = ("candidate", "outcome", "reasons", "score", "error", "to_pass", "stations_passed", "second_look")


def decision_table(decisions: Iterable[Mapping[str, Any]]) -> str:
    """Return decisions as CSV in which no text can be taken for a formula by a spreadsheet.

    Parameters
    ----------
    decisions
        Each as `fabella.assess.Decision` with its fields by name, or as a kept decision has it; scores in
        percent, empty in the table where there is none (None or NaN). ``error`` is the standard error of the
        score over the stations taken, which decisions by earlier rules did not keep.
    """
    text = StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(_HEADER)
    for each in decisions:
        outcome = Outcome(each["outcome"])
        reasons = "; ".join(RULES[reason] for reason in reasons_for(outcome, map(Reason, each["reasons"])))
        look = "yes" if each["review"] else ""
        writer.writerow(
            (
                no_formula(each["candidate"]),
                OUTCOMES[outcome],
                reasons,
                _number(each["total"]),
                _number(each.get("sem")),
                _number(each["pass_mark"]),
                each["stations_passed"],
                look,
            )
        )
    return text.getvalue()


def _number(value: float | None) -> str:
    return "" if value is None or isnan(value) else f"{value:.6f}"
