"""The rules of an exam as a form, and what was typed there read again: every mistake told at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace
from math import isnan, nan
from typing import Any

from fabella.assess import CutMethod, ErrorOf, Rounding, Rules, StationsRule, Unreached, write_rules
from fabella.errors import Problem, Problems
from fabella.papers.words import METHODS
from fabella.store.exams.papers import KeptPaper
from fabella.web.analysing.bounds_table import bounds_text, read_bounds
from fabella.web.analysing.freezing import rules_in, rules_of
from fabella.web.analysing.rule_field import Kind, RuleField
from fabella.web.analysing.rules_fields import FIELDS
from fabella.web.examining.drafting import Draft
from fabella.web.forms import Form, blank, typed_number

BOUNDS = "bounds"
_REASON = {"why": "Reason for the change"}
_KINDS = {
    "method": CutMethod,
    "stations": StationsRule,
    "rounding": Rounding,
    "unreached": Unreached,
    "error_of": ErrorOf,
}
_MANY = 4  # changed rules named in the list of versions


def rules_form(rules: Rules) -> Form:
    """Return rules as typed."""
    typed = {name: _typed(each, getattr(rules, name)) for name, each in FIELDS.items()}
    return blank(**typed, **{BOUNDS: bounds_text(rules.bounds)})


def read_rules_form(draft: Draft, typed: Mapping[str, str]) -> str:
    """Return the text of the rules that were typed; `InputError` lists everything that is wrong.

    Estimates of judges, which have a page of their own, stay as they are.
    """
    problems = Problems()
    changes: dict[str, Any] = {name: _read(each, typed, problems) for name, each in FIELDS.items()}
    changes["bounds"] = read_bounds(typed.get(BOUNDS, ""), problems)
    if changes["stations"] is not StationsRule.FIXED:
        changes["stations_needed"] = None
    elif changes["stations_needed"] is None and not any(each.place == "stations_needed" for each in problems):
        problems.add("stations_needed", "", "is missing", "write how many")
    before = rules_of(draft)
    lacking = {
        CutMethod.ANGOFF: (not before.estimates, "keep the judges’ estimates first"),
        CutMethod.HOFSTEE: (not changes["bounds"], "write what each judge accepts, below"),
        CutMethod.FIXED: (changes["fixed_cut"] is None, "write the pass mark, below"),
    }
    lacks, remedy = lacking.get(changes["method"], (False, ""))
    if lacks:
        problems.add("method", METHODS[changes["method"]], "lacks what it needs", remedy)
    problems.raise_any()
    return write_rules(replace(before, **changes))


def told_by_name(problems: tuple[Problem, ...]) -> tuple[str, ...]:
    """Return problems in one list, rules by what the page calls them."""
    found = []
    for each in problems:
        label = FIELDS[each.place].label if each.place in FIELDS else _REASON.get(each.place, each.place)
        found.append(str(Problem(place=label, value=each.value, says=each.says, remedy=each.remedy)))
    return tuple(found)


def versions_told(kept: tuple[KeptPaper, ...], usual: Rules) -> tuple[tuple[KeptPaper, str], ...]:
    """Return every version of the rules with what it changed, the last first; the first beside the usual."""
    before, found = usual, []
    for each in kept:
        after = rules_in(each)
        names = [
            _label(one.name) for one in fields(Rules) if getattr(before, one.name) != getattr(after, one.name)
        ]
        more = f" and {len(names) - _MANY} more" if len(names) > _MANY else ""
        found.append((each, ("; ".join(names[:_MANY]) + more) or "the usual rules, kept"))
        before = after
    return tuple(reversed(found))


def _label(name: str) -> str:
    apart = {"estimates": "judges’ estimates", "bounds": "what Hofstee’s judges accept"}
    label = FIELDS[name].label if name in FIELDS else apart[name]
    return f"{label[:1].lower()}{label[1:]}"


def _typed(field: RuleField, value: object) -> str:
    if value is None:
        return ""
    if field.kind is Kind.TICK:
        return "yes" if value else ""
    return f"{value * field.of:.10g}" if isinstance(value, int | float) else str(value)


def _read(field: RuleField, typed: Mapping[str, str], problems: Problems) -> object:
    text = typed.get(field.name, "").strip()

    def wrong(says: str, remedy: str) -> None:
        problems.add(field.name, text, says, remedy)

    if field.kind is Kind.TICK:
        return bool(text)
    if field.kind is Kind.CHOICE:
        if text not in {value for value, _ in field.choices}:
            wrong("is none of them", "choose one")
            text = field.choices[0][0]
        return _KINDS[field.name](text)
    if not text and field.optional:
        return None
    number = typed_number(text.replace("%", ""))
    value = nan if number is None else number
    if not field.low <= value <= field.high:  # also what is no number
        says = "is missing" if not text else "is no number" if isnan(value) else "is out of range"
        wrong(says, f"write {field.low:g} to {field.high:g}")
        return None
    if field.kind is Kind.WHOLE and value != int(value):
        wrong("is no whole number", "write one")
    return int(value) if field.kind is Kind.WHOLE else value / field.of
