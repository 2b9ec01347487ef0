"""The rules of an exam as text: equal rules, equal text, and each format as it was first written."""

from __future__ import annotations

import json
from dataclasses import asdict, fields
from enum import StrEnum
from typing import Any, Final

from fabella.assess.angoff_rounds import Estimates
from fabella.assess.compromise import Bounds
from fabella.assess.json_text import parsed
from fabella.assess.rules import CutMethod, ErrorOf, Rounding, Rules, StationsRule, Unreached
from fabella.errors import InputError, Problems, suggestion

FORMAT: Final = "fabella.exam-rules/4"
_FORMATS: Final[dict[str, dict[str, Any]]] = {
    "fabella.exam-rules/1": {"items_prorated": 0, "unreached": Unreached.MISSING},
    "fabella.exam-rules/2": {"error_of": ErrorOf.ALL},
    "fabella.exam-rules/3": {"largest_prorated": 0.25},
    FORMAT: {},
}
"""What the format after each added, with what that was in rules written until then."""


def _since() -> dict[str, dict[str, Any]]:
    """Return what each format did without: what any later one added."""
    found: dict[str, dict[str, Any]] = {}
    later: dict[str, Any] = {}
    for name in reversed(_FORMATS):
        later = _FORMATS[name] | later
        found[name] = later
    return dict(reversed(found.items()))


_SINCE: Final = _since()
"""What each format did without, with what that is in its rules: so their decisions stay what they were."""
_KINDS: Final[dict[str, type[StrEnum]]] = {
    "method": CutMethod,
    "stations": StationsRule,
    "rounding": Rounding,
    "unreached": Unreached,
    "error_of": ErrorOf,
}


def rules_tree(rules: Rules) -> dict[str, Any]:
    """Return rules as data, those that could be written in an earlier format exactly as they were then."""
    return _written(rules)[1]


def write_rules(rules: Rules) -> str:
    """Return rules as JSON with a fixed order of keys: equal rules, equal text."""
    written, tree = _written(rules)
    return json.dumps({"format": written, **tree}, indent=1)


def read_rules(text: str) -> Rules:
    """Return the rules written in a text; `InputError` lists everything that is wrong with it."""
    tree: Any = parsed(text, remedy="use the text of write_rules")
    written = tree.pop("format", None) if isinstance(tree, dict) else None
    if not isinstance(written, str) or written not in _SINCE:
        raise InputError.of(place="format", says="is not that of rules", remedy=f"use '{FORMAT}'")
    known = {each.name for each in fields(Rules)}
    wrong = Problems()
    for name in tree:
        if name not in known:
            wrong.add(name, "", "is not a known rule", suggestion(name, known))
    for name, kind in _KINDS.items():
        if name in tree and tree[name] not in list(kind):
            wrong.add(name, str(tree[name]), "is not known", suggestion(str(tree[name]), list(kind)))
    wrong.raise_any()
    tree = _SINCE[written] | tree
    for name, kind in _KINDS.items():
        if name in tree:
            tree[name] = kind(tree[name])
    try:
        tree["estimates"] = tuple(Estimates(**_tuples(each)) for each in tree.get("estimates", ()))
        tree["bounds"] = tuple(Bounds(**each) for each in tree.get("bounds", ()))
        return Rules(**tree)
    except (TypeError, AttributeError) as error:
        raise InputError.of(place="rules", says=f"do not fit ({error})", remedy="see docs/exam.md") from None


def _written(rules: Rules) -> tuple[str, dict[str, Any]]:
    """Return the first format that can hold rules, and the rules as data in it."""
    tree = asdict(rules)
    for each in tree["bounds"]:
        if not each["judge"]:
            del each["judge"]
    written, without = next(
        (name, since) for name, since in _SINCE.items() if all(tree[key] == old for key, old in since.items())
    )
    return written, {name: value for name, value in tree.items() if name not in without}


def _tuples(tree: dict[str, Any]) -> dict[str, Any]:
    return {name: _tuple(value) for name, value in tree.items()}


def _tuple(value: Any) -> Any:
    return tuple(map(_tuple, value)) if isinstance(value, list) else value
