"""Which lesions of the model a published diagnosis stands for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache

from fabella.anatomy import Lesions, load_lesions
from fabella.audit.cases import PublishedCase
from fabella.audit.words import Bag, load, vocabulary
from fabella.errors import Problems, suggestion


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """The lesions that count as right for a case.

    ``primary`` answers what the case is about, also by a diagnosis that it accepts instead; ``any`` every
    diagnosis of the case. ``unknown`` are diagnoses that are not in the model.
    """

    primary: frozenset[str]
    any: frozenset[str]
    unknown: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Names:
    exact: Mapping[str, tuple[str, ...]]
    by_bag: Mapping[Bag, tuple[str, ...]]
    qualifiers: frozenset[str]
    incidental: frozenset[str]
    same: Mapping[str, str]


def expected(case: PublishedCase) -> Expected:
    """Return the lesions that count as right for a case; incidental findings are none."""
    primary = lesions_of(case.primary_diagnosis)
    accepted = [lesion for name in case.accept for lesion in lesions_of(name)]
    named = tuple(dict.fromkeys((case.primary_diagnosis, *case.diagnoses)))
    others = [lesion for name in named for lesion in lesions_of(name)]
    unknown = tuple(name for name in named if name and not lesions_of(name) and not _is_incidental(name))
    return Expected(
        primary=frozenset((*primary, *accepted)),
        any=frozenset((*primary, *accepted, *others)),
        unknown=unknown,
    )


def lesions_of(diagnosis: str) -> tuple[str, ...]:
    """Return the lesions that a diagnosis stands for; none when it is incidental or not in the model.

    Spelling, word order and words such as "acute" or "left" do not matter; a name that is not known without
    doubt stands for nothing.
    """
    names = _names()
    if not diagnosis or _is_incidental(diagnosis):
        return ()
    if exact := names.exact.get(diagnosis.strip().casefold().replace(" ", "_").replace("-", "_")):
        return exact
    whole = _bag(diagnosis, names)
    bare = tuple(word for word in whole if word not in names.qualifiers)
    return names.by_bag.get(whole) or names.by_bag.get(bare) or ()


def _is_incidental(diagnosis: str) -> bool:
    return bool(set(vocabulary().bag(diagnosis)) & _names().incidental)


@cache
def _names() -> _Names:
    """Read ``case_diagnoses.toml`` beside the lesions; raise `InputError` for a lesion that is none."""
    raw, lesions = load("case_diagnoses.toml"), load_lesions()
    problems = Problems()
    for lesion in (*raw["also"], *(lesion for meant in raw["generic"].values() for lesion in meant)):
        if lesion not in lesions:
            problems.add("case_diagnoses.toml", lesion, "is no lesion", suggestion(lesion, lesions))
    problems.raise_any()
    qualifiers = frozenset(word for each in raw["qualifiers"]["words"] for word in vocabulary().bag(each))
    same = {word: kept for kept, words in raw["same"].items() for word in words}
    names = _Names({}, {}, qualifiers, frozenset(raw["qualifiers"]["incidental"]), same)
    also = {name: (lesion,) for lesion, named in raw["also"].items() for name in named}
    generic = {name: tuple(meant) for name, meant in raw["generic"].items()}
    exact = {**_single(lesions), **also, **generic}
    return _Names(exact, _bags(exact, names), qualifiers, names.incidental, same)


def _single(lesions: Lesions) -> Mapping[str, tuple[str, ...]]:
    named = {lesion.name: (lesion.id,) for lesion in lesions.values()}
    return named | {diagnosis: (lesion,) for diagnosis, lesion in lesions.by_diagnosis.items()}


def _bags(exact: Mapping[str, tuple[str, ...]], names: _Names) -> dict[Bag, tuple[str, ...]]:
    """Return the names by their words; words that several lesions share mean none of them."""
    found: dict[Bag, tuple[str, ...] | None] = {}
    for name, meant in exact.items():
        whole = _bag(name, names)
        for bag in {whole, tuple(word for word in whole if word not in names.qualifiers)}:
            if bag and found.setdefault(bag, meant) != meant:
                found[bag] = None
    return {bag: meant for bag, meant in found.items() if meant is not None}


def _bag(name: str, names: _Names) -> Bag:
    words: Iterable[str] = vocabulary().bag(name)
    return tuple(sorted({names.same.get(word, word) for word in words}))
