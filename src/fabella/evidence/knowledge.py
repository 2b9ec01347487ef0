"""Reading the tables that the model of the knee is built from; what they hold stands in `facts`.

The tables stand in ``editions/<edition>/model``. A published or derived row names its sources by their keys
in ``sources.csv``, joined by ``+``, and says whether the number was ``seen`` or is from ``memory`` and how it
was worked out. Nothing here computes.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cache
from importlib.resources.abc import Traversable
from types import MappingProxyType
from typing import Any, TypeVar

from fabella.errors import EvidenceError, suggestion
from fabella.evidence.facts import BaseRate, Knowledge
from fabella.evidence.links import (
    Row,
    accuracy,
    at_age,
    cause,
    company,
    first_image,
    healing,
    image,
    indicator,
    mechanism,
    mechanism_from,
    review,
)
from fabella.evidence.loader import LATEST, edition_folder
from fabella.evidence.rates import (
    RATE_COLUMNS,
    after_operation,
    base_rate,
    level_shares,
    mended,
    rate_footing,
    replaced_rate,
    women_to_men,
)
from fabella.evidence.read import MODEL
from fabella.evidence.source import RECALLED, Provenance
from fabella.evidence.table_files import SOURCES, TableFiles

_ONCE: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "manifestations": ("manifestation",),
        "causes": ("manifestation", "acuity", "cause"),
        "causes_by_age": ("manifestation", "acuity", "cause", "below_years"),
        "indicators": ("sign",),
        "accuracy_used": ("sign", "setting"),
        "prevalence": ("lesion",),
        "prevalence_rests": ("lesion", "column"),
        "prevalence_replaced": ("lesion", "column"),
        "odds_by_sex": ("lesion", "age_band"),
        "level_shares": ("lesion", "age_band"),
        "after_operation": ("lesion",),
        "mended": ("lesion", "procedure"),
        "mechanisms": ("lesion",),
        "mechanisms_by_age": ("lesion", "from_years"),
        "pairs": ("given", "also", "acuity"),
        "images": ("image", "lesion"),
        "first_images": ("lesion", "level", "image"),
        "healing": ("within_weeks", "tissue", "manifestation"),
        "reviews": ("operation", "within_weeks"),
        "aspects": ("sign", "aspect"),
    }
)
"""The columns by which no two rows of a table are alike: another would count twice, or hide the first."""

_T = TypeVar("_T")


@cache
def load_knowledge(edition: str = LATEST) -> Knowledge:
    """Return the model tables of a packaged edition, read once; raises what `read_knowledge` does."""
    return read_knowledge(edition_folder(edition))


def read_knowledge(edition: Traversable) -> Knowledge:
    """Read the model tables in the folder of an edition; `EvidenceError` names file and line of bad rows."""
    reader = _Reader(edition)
    read = reader.read
    rates = _base_rates(reader)
    images = tuple(read("images", image))
    causes = tuple(read("causes", cause))
    knowledge = Knowledge(
        manifestations=dict(
            read("manifestations", lambda row, _: (row["manifestation"], int(row["levels"])))
        ),
        causes=causes,
        at_ages=tuple(read("causes_by_age", at_age(causes))),
        indicators={item.sign: item for item in read("indicators", indicator)},
        accuracy=tuple(read("accuracy_used", accuracy)),
        base_rates=rates,
        mechanisms=dict(read("mechanisms", mechanism)),
        later_mechanisms=tuple(read("mechanisms_by_age", mechanism_from)),
        company=tuple(read("pairs", company)),
        images=images,
        first_images=tuple(read("first_images", first_image(rates, {each.image for each in images}))),
        healing=tuple(read("healing", healing)),
        reviews=tuple(read("reviews", review)),
        aspects=_aspects(read("aspects", lambda row, _: (row["sign"], row["aspect"], row["levels"]))),
    )
    if reader.problems:
        raise EvidenceError("\n".join(map(str, reader.problems)))
    return knowledge


class _Reader(TableFiles):
    """Reads table after table of the model."""

    def __init__(self, edition: Traversable) -> None:
        paths = (SOURCES, *map(_path, _ONCE))
        super().__init__({path: (edition / path).read_bytes() for path in paths})

    def read(self, name: str, make: Callable[[Row, dict[str, Any]], _T]) -> list[_T]:
        """Return what the good rows of a table state; ``make`` takes a row and what it rests on."""
        made: list[_T] = []
        seen: set[tuple[str, ...]] = set()
        for place, row in self.rows(_path(name)):
            try:
                _note_once(tuple(row[column] for column in _ONCE[name]), seen)
                made.append(make(row, self._footing(row)))
            except (KeyError, ValueError) as error:
                self.wrong(place, "", str(error), "")
        return made

    def knows(self, lesion: str, rates: Mapping[str, BaseRate], table: str) -> bool:
        """Say whether a lesion has rates; if not, note it against the table that names it."""
        if lesion not in rates:
            self.wrong(_path(table), "", f"no lesion '{lesion}'", suggestion(lesion, rates))
        return lesion in rates

    def _footing(self, row: Row) -> dict[str, Any]:
        if "provenance" not in row:
            return {}
        provenance, text = Provenance(row["provenance"]), row["source"]
        keys = () if provenance is Provenance.JUDGEMENT else tuple(text.split("+"))
        for key in keys:
            if key not in self.sources:
                raise ValueError(f"no source '{key}'; {suggestion(key, self.sources)}")
        if keys:
            text = "; ".join(self.sources[key].short for key in keys)
        if row.get("verified") == "memory":
            text = f"{text} ({RECALLED})"
        return {"provenance": provenance, "source": text, "keys": keys, "note": row.get("note") or ""}


def _base_rates(reader: _Reader) -> dict[str, BaseRate]:
    """Return how common every lesion is, with all that changes it."""
    rates = {item.lesion: item for item in reader.read("prevalence", base_rate)}

    def add(table: str, make: Callable[[Row, dict[str, Any]], Any], change: Callable[..., BaseRate]) -> None:
        for lesion, *what in reader.read(table, make):
            if reader.knows(lesion, rates, table):
                rates[lesion] = change(rates[lesion], *what)

    add("prevalence_rests", rate_footing, lambda base, at, own: replace(base, rests={**base.rests, at: own}))
    add(
        "odds_by_sex",
        women_to_men,
        lambda base, band, own: replace(base, women_by_age={**base.women_by_age, band: own}),
    )
    add(
        "level_shares",
        level_shares,
        lambda base, band, own: replace(base, shares_by_age={**base.shares_by_age, band: own}),
    )
    add(
        "prevalence_replaced",
        replaced_rate,
        lambda base, at, own: replace(base, replaced={**base.replaced, at: own}),
    )
    for lesion, base in rates.items():
        for column in RATE_COLUMNS:
            if base.replaced and column not in base.replaced:
                reader.wrong(_path("prevalence_replaced"), "", f"{lesion} lacks '{column}'", "")
    add("after_operation", after_operation, lambda base, own: replace(base, after_operation=own))
    add("mended", mended, lambda base, by, own: replace(base, mended={**base.mended, by: own}))
    return rates


def _path(table: str) -> str:
    return f"{MODEL}/{table}.csv"


def _note_once(key: tuple[str, ...], seen: set[tuple[str, ...]]) -> None:
    if key in seen:
        raise ValueError(f"stands here twice: {', '.join(filter(None, key))}")
    seen.add(key)


def _aspects(rows: list[tuple[str, str, str]]) -> Mapping[str, Mapping[str, tuple[str, ...]]]:
    aspects: dict[str, dict[str, tuple[str, ...]]] = {}
    for sign, aspect, levels in rows:
        aspects.setdefault(sign, {})[aspect] = tuple(levels.split())
    return aspects
