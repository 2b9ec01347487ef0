"""What a practice patient is drawn from: a seed and the circumstances, never the answer.

A teacher who wants certain lesions is given a seed with which they come up (`fabella.teach.wish`), so that a
file for a whole class holds nothing that a student could read off.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any, Final

from fabella.anatomy import Side
from fabella.errors import Problems, suggestion
from fabella.protocol.fields import json_object
from fabella.record import Acuity, Mechanism, Setting, Sex
from fabella.teach.curricula import AS_THEY_COME, load_curricula
from fabella.teach.dice import MAX_SEED

FORMAT: Final = "fabella.practice/1"

YOUNGEST_YEARS, OLDEST_YEARS = 4, 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """A seed and the circumstances of a patient; what is None is drawn.

    ``curriculum`` is the id of a set of lesions to draw from; ``age_years`` is in whole years, 4 to 100;
    ``side`` the knee complained of.
    """

    seed: int
    setting: Setting = Setting.SPECIALIST_CLINIC
    curriculum: str = AS_THEY_COME
    age_years: int | None = None
    sex: Sex | None = None
    acuity: Acuity | None = None
    mechanism: Mechanism | None = None
    side: Side | None = None


CIRCUMSTANCES: Final[Mapping[str, Any]] = {
    "setting": Setting,
    "sex": Sex,
    "acuity": Acuity,
    "mechanism": Mechanism,
    "side": Side,
}
"""What is chosen among a few: the kind of each, by its name in a recipe."""


def write_recipe(recipe: Recipe) -> str:
    """Return the text of a recipe, one line of JSON; what is left to the dice is left out."""
    tree = {each.name: getattr(recipe, each.name) for each in fields(recipe)}
    return json.dumps({"format": FORMAT, **{key: value for key, value in tree.items() if value is not None}})


def read_recipe(text: str) -> Recipe:
    """Return the recipe written in a text; `InputError` lists everything that is wrong with it."""
    tree = json_object(text, place="recipe")
    problems = Problems()
    known = ("format", *(each.name for each in fields(Recipe)))
    for key in sorted(tree.keys() - set(known)):
        problems.add(key, "", "is no key", suggestion(key, known))
    if tree.get("format") != FORMAT:
        problems.add("format", str(tree.get("format", "")), "is wrong", f"write {FORMAT}")
    values: dict[str, Any] = {
        name: _choice(name, tree[name], problems) for name in CIRCUMSTANCES if name in tree
    }
    values["seed"] = _whole("seed", tree.get("seed"), 0, MAX_SEED, problems)
    if "age_years" in tree:
        values["age_years"] = _whole("age_years", tree["age_years"], YOUNGEST_YEARS, OLDEST_YEARS, problems)
    if "curriculum" in tree:
        values["curriculum"] = str(tree["curriculum"])
        if values["curriculum"] not in load_curricula():
            remedy = suggestion(values["curriculum"], load_curricula())
            problems.add("curriculum", values["curriculum"], "is no curriculum", remedy)
    problems.raise_any()
    return Recipe(**values)


def _choice(name: str, value: object, problems: Problems) -> object:
    kind = CIRCUMSTANCES[name]
    allowed = [str(each) for each in kind]
    if value in allowed:
        return kind(value)
    problems.add(name, str(value), "is not known", suggestion(str(value), allowed))
    return None


def _whole(name: str, value: object, low: int, high: int, problems: Problems) -> int:
    if isinstance(value, int) and not isinstance(value, bool) and low <= value <= high:
        return value
    shown = "" if value is None else str(value)
    problems.add(name, shown, "is missing or wrong", f"write a whole number from {low} to {high}")
    return low
