"""The lesions by tissue, as a surgeon runs through them, as data (``lesions.toml``)."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cache

from fabella.anatomy.lesions import load_lesions
from fabella.errors import InputError, Problem
from fabella.packaged import packaged_table


@dataclass(frozen=True, slots=True, kw_only=True)
class Tissue:
    """What some lesions are lesions of, and the lesions in the order in which they are asked."""

    id: str
    name: str
    lesions: tuple[str, ...]


@cache
def load_tissues() -> tuple[Tissue, ...]:
    """Read the tissues in order; raise `InputError` unless every lesion stands in one of them, once."""
    raw = packaged_table("anatomy/lesions.toml")
    tissues = tuple(Tissue(**{**row, "lesions": tuple(row["lesions"])}) for row in raw["tissue"])
    times, known = Counter(each for tissue in tissues for each in tissue.lesions), load_lesions()
    if wrong := [each for each in {**times, **known} if times[each] != (each in known)]:
        remedy = "let every lesion stand in one tissue"
        raise InputError(
            Problem(place="tissue", value=each, says="is unknown, missing or doubled", remedy=remedy)
            for each in wrong
        )
    return tissues
