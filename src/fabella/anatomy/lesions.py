"""The lesions a knee can suffer, with their levels, as data (``lesions.toml``)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from fabella.anatomy.structures import Structure
from fabella.errors import InputError, Problems, suggestion
from fabella.packaged import packaged_table

KINDS = (
    "injury",
    "overuse",
    "degenerative",
    "inflammatory",
    "infection",
    "growth",
    "tumour",
    "vascular",
    "referred",
    "prosthesis",
)


@dataclass(frozen=True, slots=True)
class Level:
    """One degree of a lesion, e.g. ``complete``; ``words`` stand in a letter."""

    id: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Lesion:
    """An injured or diseased structure.

    ``levels`` run from the least to the worst; an intact structure is the absence of every level.
    ``company`` names the sets of lesions that may occur three or four at a time; ``excludes`` those that
    cannot occur with this one; ``ages_years`` the (inclusive) ages at which it is considered; ``native`` that
    a totally replaced knee cannot have it; ``tears`` the lesions that this one nearly always brings; ``also``
    the diagnoses that count as this lesion.
    """

    id: str
    name: str
    plain: str
    kind: str
    levels: tuple[Level, ...]
    structures: tuple[Structure, ...]
    company: tuple[str, ...]
    excludes: tuple[str, ...]
    ages_years: tuple[int, int]
    native: bool
    tears: tuple[str, ...]
    also: tuple[str, ...]

    def level(self, level_id: str) -> Level:
        """Return the level called ``level_id``; raise `InputError` when there is none."""
        for level in self.levels:
            if level.id == level_id:
                return level
        allowed = [level.id for level in self.levels]
        raise InputError.of(
            place=self.id, value=level_id, says="no such level", remedy=suggestion(level_id, allowed)
        )


@dataclass(frozen=True, slots=True)
class Lesions(Mapping[str, Lesion]):
    """All lesions by id, in the order of the data file."""

    by_id: Mapping[str, Lesion]
    by_diagnosis: Mapping[str, str]

    def __getitem__(self, key: str) -> Lesion:
        return self.by_id[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self.by_id)

    def __len__(self) -> int:
        return len(self.by_id)

    def of_diagnosis(self, diagnosis: str) -> Lesion | None:
        """Return the lesion that a diagnosis counts as, or None when the knee model has none for it."""
        lesion_id = self.by_diagnosis.get(diagnosis)
        return None if lesion_id is None else self.by_id[lesion_id]

    def check(self, slots: Iterable[tuple[str, str | None]], *, place: str) -> None:
        """Raise `InputError` listing every lesion or level (None or empty for any) that there is not."""
        problems = Problems()
        for lesion, level in slots:
            if lesion not in self.by_id:
                problems.add(place, lesion, "is unknown", suggestion(lesion, self.by_id))
            elif level:
                try:
                    self.by_id[lesion].level(level)
                except InputError as error:
                    problems += error.problems
        problems.raise_any()

    def exclude_each_other(self, a: str, b: str) -> bool:
        """Say whether lesions ``a`` and ``b`` cannot occur in one knee at the same time."""
        return b in self.by_id[a].excludes or a in self.by_id[b].excludes


@cache
def load_lesions() -> Lesions:
    """Read and check ``lesions.toml``.

    Raises `InputError` listing every defect: unknown kind or structure, an ``excludes`` that names no lesion,
    a diagnosis claimed twice.
    """
    raw = packaged_table("anatomy/lesions.toml")
    lesions = {row["id"]: _lesion(row) for row in raw["lesion"]}
    by_diagnosis: dict[str, str] = {}
    problems = Problems()
    for lesion in lesions.values():
        if lesion.kind not in KINDS:
            problems.add(lesion.id, lesion.kind, "unknown kind", suggestion(lesion.kind, KINDS))
        for excluded in lesion.excludes:
            if excluded not in lesions:
                problems.add(lesion.id, excluded, "excludes", suggestion(excluded, lesions))
        for torn in lesion.tears:
            if torn not in lesions:
                problems.add(lesion.id, torn, "tears", suggestion(torn, lesions))
        for diagnosis in (lesion.id, *lesion.also):
            if by_diagnosis.setdefault(diagnosis, lesion.id) != lesion.id:
                problems.add(lesion.id, diagnosis, f"also claimed by {by_diagnosis[diagnosis]}", "keep one")
    problems.raise_any()
    return Lesions(MappingProxyType(lesions), MappingProxyType(by_diagnosis))


def _lesion(row: dict[str, Any]) -> Lesion:
    low, high = row.get("ages", (0, 120))
    return Lesion(
        id=row["id"],
        name=row["name"],
        plain=row["plain"],
        kind=row["kind"],
        levels=tuple(Level(level["id"], level["words"]) for level in row["levels"]),
        structures=tuple(Structure(name) for name in row["structures"]),
        company=tuple(row.get("company", ())),
        excludes=tuple(row.get("excludes", ())),
        ages_years=(low, high),
        native=row.get("native", False),
        tears=tuple(row.get("tears", ())),
        also=tuple(row["also"]),
    )
