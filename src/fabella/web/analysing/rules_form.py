"""The rules of an exam as a form: what a page offers; what it does not offer stays as it was written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from fabella.assess import CutMethod, Rules, StationsRule, write_rules
from fabella.errors import InputError, Problem
from fabella.web.analysing.frozen import rules_of
from fabella.web.examining.drafting import Draft
from fabella.web.forms import Form, blank

STATIONS_RULES: Final = (
    (StationsRule.NONE.value, "any number of stations"),
    (StationsRule.PREDICTED.value, "as many as predicted at the pass mark"),
    (StationsRule.FIXED.value, "a fixed number"),
)


def rules_form(draft: Draft) -> Form:
    """Return the rules of an exam as typed."""
    rules = rules_of(draft)
    return blank(
        method=rules.method.value,
        fixed_cut=_text(rules.fixed_cut),
        sem_multiple=f"{rules.sem_multiple:g}",
        stations=rules.stations.value,
        stations_needed=_text(rules.stations_needed),
        most_critical_failed=_text(rules.most_critical_failed),
    )


def read_rules_form(draft: Draft, typed: Mapping[str, str]) -> str:
    """Return the text of the rules that were typed; `InputError` lists everything that is wrong."""
    problems: list[Problem] = []

    def number(name: str, *, usual: float | None = None) -> float | None:
        text = typed.get(name, "").strip().replace(",", ".")
        try:
            return float(text) if text else usual
        except ValueError:
            problems.append(Problem(place=name, value=text, says="is no number", remedy="write a number"))
            return usual

    def whole(name: str) -> int | None:
        value = number(name)
        if value is not None and value != int(value):
            problems.append(
                Problem(place=name, value=f"{value:g}", says="is no whole number", remedy="write one")
            )
        return None if value is None else int(value)

    method, stations = typed.get("method", ""), typed.get("stations", "")
    if method not in list(CutMethod):
        problems.append(Problem(place="method", value=method, says="is none", remedy="choose one"))
    if stations not in list(StationsRule):
        problems.append(Problem(place="stations", value=stations, says="is none", remedy="choose one"))
    changes = {
        "fixed_cut": number("fixed_cut"),
        "sem_multiple": number("sem_multiple", usual=0.0),
        "stations_needed": whole("stations_needed") if stations == StationsRule.FIXED else None,
        "most_critical_failed": whole("most_critical_failed"),
    }
    if problems:
        raise InputError(problems)
    rules: Rules = replace(
        rules_of(draft),
        method=CutMethod(method),
        stations=StationsRule(stations),
        **changes,  # type: ignore[arg-type]
    )
    return write_rules(rules)


def _text(value: float | None) -> str:
    return "" if value is None else f"{value:g}"
