"""The rules as data (``rules.toml``), read and checked: every defect of the file is told at once."""

import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from fabella.errors import Problem, Problems, suggestion
from fabella.flags.rule import (
    CLAUSES,
    Criterion,
    LeftOut,
    OfTheYoung,
    Rule,
    Rules,
    Since,
    Urgency,
    Window,
    Withholding,
)
from fabella.record import ImageKind


@cache
def load_rules() -> Rules:
    """Read and check ``rules.toml``.

    Raises `InputError` listing every defect: an id used twice, an unknown urgency, a missing field, a
    question that does not say what to do.
    """
    return read_rules(files("fabella.flags").joinpath("rules.toml").read_text("utf-8"))


def read_rules(text: str) -> Rules:
    """Read rules from TOML text; `InputError` lists every defect."""
    rules: dict[str, Rule] = {}
    problems = Problems()
    data = tomllib.loads(text)
    for number, row in enumerate(data["rule"], start=1):
        place = str(row.get("id", f"rule {number}"))
        faults = list(_faults(row, place, rules))
        problems += faults
        if not faults:
            rules[place] = _rule(row)
    problems.raise_any()
    left_out = tuple(LeftOut(tuple(row["rows"]), row["why"]) for row in data.get("left_out", ()))
    return Rules(MappingProxyType(rules), left_out)


_FIELDS = tuple(Rule.__dataclass_fields__)
_OPTIONAL = ("total", "orders", "withholds", "windows", "of_the_young", "answered_by")
_WITHHOLDING = tuple(Withholding.__dataclass_fields__)
_WINDOW = tuple(Window.__dataclass_fields__)
_OF_THE_YOUNG = tuple(OfTheYoung.__dataclass_fields__)
_VERBS = ("ask", "examine", "decide")


def _faults(row: dict[str, Any], place: str, known: Mapping[str, Rule]) -> Iterator[Problem]:
    for field in _FIELDS:
        if field not in row and field not in _OPTIONAL:
            yield Problem(place=place, value="", says=f"'{field}' is missing", remedy="every rule states it")
    for field in row:
        if field not in _FIELDS:
            yield Problem(place=place, value=field, says="is no field", remedy=suggestion(field, _FIELDS))
    if place in known:
        yield Problem(place=place, value=place, says="is used twice", remedy="keep one")
    urgency = str(row.get("urgency", Urgency.NOW))
    if urgency not in list(Urgency):
        yield Problem(place=place, value=urgency, says="is no urgency", remedy=suggestion(urgency, Urgency))
    for image in row.get("answered_by", ()):
        if image not in list(ImageKind):
            yield Problem(place=place, value=image, says="is no image", remedy=suggestion(image, ImageKind))
    yield from _faults_of_withholds(row, place)
    yield from _faults_of_windows(row, place)
    yield from _faults_of_the_young(row, place)
    yield from _faults_of_criteria(row, place)


def _faults_of_criteria(row: dict[str, Any], place: str) -> Iterator[Problem]:
    seen: set[str] = set()
    for criterion in row.get("criteria", ()):
        if criterion["id"] in seen:
            yield Problem(place=place, value=criterion["id"], says="is used twice", remedy="keep one")
        seen.add(criterion["id"])
        if criterion["ask"].split()[0].rstrip(":") not in _VERBS:
            yield Problem(
                place=f"{place}.{criterion['id']}",
                value=criterion["ask"],
                says="does not say what to do",
                remedy=f"begin with {', '.join(_VERBS)}",
            )
        for clause in criterion.get("answered", {}):
            if clause not in criterion["ask"].split(CLAUSES):
                yield Problem(
                    place=f"{place}.{criterion['id']}.answered",
                    value=clause,
                    says="is no clause of what it asks",
                    remedy=suggestion(clause, criterion["ask"].split(CLAUSES)),
                )


def _faults_of_withholds(row: dict[str, Any], place: str) -> Iterator[Problem]:
    for each in row.get("withholds", ()):
        if set(each) != set(_WITHHOLDING) or not all(map(str.strip, each.values())):
            yield Problem(
                place=f"{place}.withholds",
                value=str(each),
                says="does not say what it withholds and why",
                remedy=f"write {' and '.join(_WITHHOLDING)}",
            )
        elif each["deed"] in row.get("orders", ()):
            yield Problem(
                place=f"{place}.withholds",
                value=each["deed"],
                says="is ordered by the same rule",
                remedy="keep one",
            )


def _faults_of_windows(row: dict[str, Any], place: str) -> Iterator[Problem]:
    for each in row.get("windows", ()):
        if set(each) != set(_WINDOW) or each["since"] not in list(Since):
            yield Problem(
                place=f"{place}.windows",
                value=str(each),
                says="does not say what holds until when",
                remedy=f"write {', '.join(_WINDOW)}; since is {' or '.join(Since)}",
            )
        elif each["within"] not in row.get("action", ""):
            yield Problem(
                place=f"{place}.windows",
                value=each["within"],
                says="is no passage of the action",
                remedy="copy it from the action word for word",
            )


def _faults_of_the_young(row: dict[str, Any], place: str) -> Iterator[Problem]:
    for each in row.get("of_the_young", ()):
        complete = set(each) in (set(_OF_THE_YOUNG), set(_OF_THE_YOUNG[:2]))
        whole = each.get("whole", each.get("passage", ""))
        if not complete or each["passage"] not in whole or whole not in row.get("action", ""):
            yield Problem(
                place=f"{place}.of_the_young",
                value=str(each.get("passage", each)),
                says="is no passage of the action with an age",
                remedy=f"write {' and '.join(_OF_THE_YOUNG[:2])}, or all of {', '.join(_OF_THE_YOUNG)}; "
                "copy the passages word for word",
            )


def _rule(row: dict[str, Any]) -> Rule:
    return Rule(
        **{
            **row,
            "urgency": Urgency(row["urgency"]),
            "decides": tuple(row["decides"]),
            "contraindicates": tuple(row["contraindicates"]),
            "settled_by": tuple(row["settled_by"]),
            "orders": tuple(row.get("orders", ())),
            "withholds": tuple(Withholding(**each) for each in row.get("withholds", ())),
            "windows": tuple(
                Window(**{**each, "since": Since(each["since"])}) for each in row.get("windows", ())
            ),
            "of_the_young": tuple(OfTheYoung(**each) for each in row.get("of_the_young", ())),
            "answered_by": tuple(map(ImageKind, row.get("answered_by", ()))),
            "criteria": tuple(map(_criterion, row["criteria"])),
        }
    )


def _criterion(row: dict[str, Any]) -> Criterion:
    answered = row.get("answered", {}).items()
    return Criterion(**{**row, "answered": tuple((clause, tuple(signs)) for clause, signs in answered)})
