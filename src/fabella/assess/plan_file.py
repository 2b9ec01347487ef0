"""A planned exam as a file: ``fabella.exam-plan/1``, one JSON object."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any, Final, TypeVar

from fabella.assess.json_text import parsed
from fabella.assess.planning import Costs
from fabella.assess.planning_outlook import PassRule, Spreads
from fabella.errors import InputError, Problems, suggestion

FORMAT: Final = "fabella.exam-plan/1"
_RANGES = ("stations", "examiners", "circuits")
_KEYS = ("format", "candidates", *_RANGES, "spreads", "rule", "costs", "target", "exams", "stations_passed")
_MOST = 1000
_LARGEST = 1e12

_Noun = TypeVar("_Noun")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanFile:
    """What a planned exam is chosen from.

    Parameters
    ----------
    candidates
        How many there will be.
    stations, examiners, circuits
        Fewest and most [-]; examiners are those at one station of one circuit.
    spreads, rule, costs
        As in `planning`.
    target
        Phi wanted at the pass mark [-].
    exams
        Simulated exams of the plan chosen [-].
    stations_passed
        Least number of stations to be passed [-]; 0: no such rule.
    """

    candidates: int
    stations: tuple[int, int]
    examiners: tuple[int, int]
    circuits: tuple[int, int]
    spreads: Spreads
    rule: PassRule
    costs: Costs
    target: float = 0.8
    exams: int = 200
    stations_passed: int = 0


def read_plan(text: str) -> PlanFile:
    """Return the plan in a text; `InputError` lists everything that is wrong with it."""
    tree: Any = parsed(text, remedy=f"use a file of '{FORMAT}'")
    if not isinstance(tree, dict) or tree.get("format") != FORMAT:
        raise InputError.of(place="format", says="is not that of a plan", remedy=f"use '{FORMAT}'")
    wrong = Problems()
    for name in tree:
        if name not in _KEYS:
            wrong.add(name, "", "is not known in a plan", suggestion(name, _KEYS))
    candidates = _whole(tree, "candidates", wrong, low=2, most=100_000)
    ranges = {name: _range(tree, name, wrong) for name in _RANGES}
    nouns = [
        _noun(tree, name, kind, wrong)
        for name, kind in (("spreads", Spreads), ("rule", PassRule), ("costs", Costs))
    ]
    target = _number(tree, "target", 0.8, wrong)
    exams = _whole(tree, "exams", wrong, low=1, most=10_000, usual=200)
    passed = _whole(tree, "stations_passed", wrong, low=0, most=100, usual=0)
    spreads, rule, costs = nouns
    if (
        wrong
        or not isinstance(spreads, Spreads)
        or not isinstance(rule, PassRule)
        or not isinstance(costs, Costs)
    ):
        raise InputError(wrong)
    return PlanFile(
        candidates=candidates,
        stations=ranges["stations"],
        examiners=ranges["examiners"],
        circuits=ranges["circuits"],
        spreads=spreads,
        rule=rule,
        costs=costs,
        target=target,
        exams=exams,
        stations_passed=passed,
    )


def _whole(
    tree: Mapping[str, Any], name: str, wrong: Problems, *, low: int, most: int, usual: int | None = None
) -> int:
    value = tree.get(name, usual)
    if isinstance(value, int) and not isinstance(value, bool) and low <= value <= most:
        return value
    remedy = f"use a whole number from {low} to {most}"
    says = "is missing" if value is None else "does not do"
    wrong.add(name, "" if value is None else str(value), says, remedy)
    return low


def _range(tree: Mapping[str, Any], name: str, wrong: Problems) -> tuple[int, int]:
    value = tree.get(name)
    pair = [value, value] if isinstance(value, int) else value
    whole = isinstance(pair, list) and len(pair) == 2 and all(type(each) is int for each in pair)
    if whole and isinstance(pair, list) and 1 <= pair[0] <= pair[1] <= _MOST:
        return pair[0], pair[1]
    says = "is missing" if value is None else "is no range"
    wrong.add(name, "" if value is None else str(value), says, f"write [fewest, most], 1 to {_MOST}")
    return 1, 1


def _number(tree: Mapping[str, Any], name: str, usual: float, wrong: Problems) -> float:
    value = tree.get(name, usual)
    if _is_number(value):
        return float(value)
    wrong.add(name, str(value), "is no number", "write a number")
    return usual


def _is_number(value: object) -> bool:
    """Say whether a JSON value is a number: not yes or no, not NaN, and not too large to be squared."""
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= _LARGEST


def _noun(tree: Mapping[str, Any], name: str, kind: type[_Noun], wrong: Problems) -> _Noun | None:
    """Return a noun of numbers; a default stands in only where the noun has one."""
    value = tree.get(name)
    known = {each.name: each for each in fields(kind)}  # type: ignore[arg-type]
    if not isinstance(value, dict):
        wrong.add(name, "", "is missing", f"give {', '.join(known)}")
        return None
    before = len(wrong)
    for key, each in value.items():
        place = f"{name}.{key}"
        if key not in known:
            wrong.add(place, "", "is not known", suggestion(key, known))
        elif known[key].type in {"bool", bool}:
            if not isinstance(each, bool):
                wrong.add(place, str(each), "is no answer", "use true or false")
        elif not _is_number(each):
            wrong.add(place, str(each), "is no number", "write a number")
    if len(wrong) > before:
        return None
    try:
        return kind(**value)
    except TypeError as error:
        wrong.add(name, "", f"is not whole ({error})", "")
        return None
