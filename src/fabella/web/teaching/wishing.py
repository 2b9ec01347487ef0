"""What a teacher asks a patient to be, from the form to a recipe that brings it up."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from fabella.anatomy import Side
from fabella.errors import InputError, Problem, Problems, suggestion
from fabella.record import Acuity, Mechanism, Setting, Sex
from fabella.stats.written import spaced
from fabella.teach import Recipe, load_curricula, practice_lesions, recipe_with
from fabella.teach.recipe import CIRCUMSTANCES, OLDEST_YEARS, YOUNGEST_YEARS
from fabella.teach.wording import lesion_words
from fabella.web.forms import typed_whole

MOST_LESIONS = 3
SEEDS = 10**9

Options = tuple[tuple[str, str], ...]


def _words(kind: Any) -> Options:
    return tuple((each.value, spaced(each.value)) for each in kind)


CHOICES: Mapping[str, Options] = {
    "setting": _words(Setting),
    "side": (("", "either"), *_words(Side)),
    "sex": (("", "either"), *_words(Sex)),
    "acuity": (("", "as it comes"), *_words(Acuity)),
    "mechanism": (("", "as it comes"), *_words(Mechanism)),
}
"""Every circumstance that can be chosen: value and words; an empty value leaves it to the dice."""

FIELDS = (
    "curriculum",
    *(f"lesion{number}" for number in range(1, MOST_LESIONS + 1)),
    "alone",
    "age",
    "seed",
    *CHOICES,
)
"""Names of the fields of the form."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """Circumstances and lesions as asked for; ``alone`` allows that knee nothing else."""

    recipe: Recipe
    lesions: tuple[tuple[str, str], ...]
    alone: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Granted:
    """The recipe that a wish came to, or why there is none."""

    recipe: Recipe | None = None
    problems: tuple[Problem, ...] = ()


def lesion_options() -> tuple[tuple[str, Options], ...]:
    """Return every lesion that can be wished for: its name, and its degrees as value and words."""
    return tuple(
        (
            lesion.name,
            (
                *(((lesion.id, f"{lesion.name}, any degree"),) if len(lesion.levels) > 1 else ()),
                *(
                    (f"{lesion.id}:{each.id}", f"{lesion.name}, {each.words}")
                    if len(lesion.levels) > 1
                    else (lesion.id, lesion.name)
                    for each in lesion.levels
                ),
            ),
        )
        for lesion in practice_lesions()
    )


def read_wish(typed: Mapping[str, str], *, dice: Callable[[int], int]) -> Wish:
    """Return what a form asks for, or raise `InputError`; ``dice`` gives the seed that it leaves open."""
    problems = Problems()
    lesions = tuple(_lesions(typed, problems))
    chosen = {name: _choice(name, typed.get(name, ""), problems) for name in CHOICES}
    curriculum = typed.get("curriculum", "")
    if curriculum not in load_curricula():
        problems.add("curriculum", curriculum, "is not known", suggestion(curriculum, load_curricula()))
    age = _whole("age", typed.get("age", ""), YOUNGEST_YEARS, OLDEST_YEARS, problems)
    seed = _whole("seed", typed.get("seed", ""), 0, SEEDS, problems)
    problems.raise_any()
    if chosen["setting"] is None:
        chosen["setting"] = Setting.SPECIALIST_CLINIC
    recipe = Recipe(
        seed=dice(SEEDS) if seed is None else seed, curriculum=curriculum, age_years=age, **chosen
    )
    return Wish(recipe=recipe, lesions=lesions, alone=typed.get("alone") == "yes")


def granted(wish: Wish) -> Granted:
    """Return the recipe with which a wish comes true; this may take some seconds."""
    if not (wish.lesions or wish.alone):
        return Granted(recipe=wish.recipe)
    try:
        return Granted(recipe=recipe_with(wish.recipe, wish.lesions, alone=wish.alone))
    except InputError as error:
        names = ("lesion1" if each.place == "lesion" else each.place for each in error.problems)
        return Granted(
            problems=tuple(
                Problem(place=name, says=each.says, remedy=each.remedy)
                for name, each in zip(names, error.problems, strict=True)
            )
        )


def wish_words(lesions: tuple[tuple[str, str], ...]) -> str:
    """Return what was asked for: ``medial meniscus tear (displaced)``; empty when nothing was."""
    return ", ".join(lesion_words(lesion, level or None) for lesion, level in lesions)


def _lesions(typed: Mapping[str, str], problems: Problems) -> Iterator[tuple[str, str]]:
    offered = {value for _, options in lesion_options() for value, _ in options}
    named: set[str] = set()
    for number in range(1, MOST_LESIONS + 1):
        place = f"lesion{number}"
        value = typed.get(place, "")
        lesion, _, level = value.partition(":")
        if value and value not in offered:
            problems.add(place, value, "is unknown", "choose from the list")
        elif value and lesion in named:
            problems.add(place, "", "is there already", "choose another, or leave it open")
        elif value:
            named.add(lesion)
            yield lesion, level


def _choice(name: str, value: str, problems: Problems) -> Any:
    allowed = [each for each, _ in CHOICES[name]]
    if value in allowed or not value:
        return CIRCUMSTANCES[name](value) if value else None
    problems.add(name, value, "is not known", suggestion(value, filter(None, allowed)))
    return None


def _whole(name: str, text: str, low: int, high: int, problems: Problems) -> int | None:
    if not text.strip():
        return None
    if low <= (found := typed_whole(text.strip(), otherwise=-1)) <= high:
        return found
    problems.add(name, text, "is wrong", f"write a whole number from {low} to {high}")
    return None
