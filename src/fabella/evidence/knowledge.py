"""Reading the tables that the model of the knee is built from; what they hold stands in `facts`.

The tables stand in ``editions/<edition>/model``. A published or derived row names its sources by their keys
in ``sources.csv``, joined by ``+``, and says whether the number was ``seen`` or is from ``memory`` and how it
was worked out. Nothing here computes.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import cache
from importlib.resources.abc import Traversable
from io import StringIO
from types import MappingProxyType
from typing import Any, TypeVar

from fabella.errors import EvidenceError, suggestion
from fabella.evidence.cells import Cells
from fabella.evidence.facts import (
    AccuracyUsed,
    AfterOperation,
    BaseRate,
    Cause,
    Company,
    FirstImage,
    Footing,
    Healing,
    Image,
    Indicator,
    Knowledge,
    LevelShares,
    ReplacedRate,
)
from fabella.evidence.links import (
    LEAK,
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
)
from fabella.evidence.rows import make_source
from fabella.evidence.source import RECALLED, Provenance, Source

__all__ = [
    "LEAK",
    "RATE_COLUMNS",
    "AccuracyUsed",
    "AfterOperation",
    "BaseRate",
    "Cause",
    "Company",
    "FirstImage",
    "Footing",
    "Healing",
    "Image",
    "Indicator",
    "Knowledge",
    "LevelShares",
    "ReplacedRate",
    "load_knowledge",
    "read_knowledge",
]

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
        "level_shares": ("lesion", "age_band"),
        "after_operation": ("lesion",),
        "mended": ("lesion", "procedure"),
        "mechanisms": ("lesion",),
        "pairs": ("given", "also", "acuity"),
        "images": ("image", "lesion"),
        "first_images": ("lesion", "level", "image"),
        "healing": ("within_weeks", "tissue", "manifestation"),
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
        company=tuple(read("pairs", company)),
        images=images,
        first_images=tuple(read("first_images", first_image(rates, {each.image for each in images}))),
        healing=tuple(read("healing", healing)),
        aspects=_aspects(read("aspects", lambda row, _: (row["sign"], row["aspect"], row["levels"]))),
    )
    if reader.problems:
        raise EvidenceError("; ".join(reader.problems))
    return knowledge


class _Reader:
    """Reads table after table of one edition and gathers what is wrong with any of them."""

    def __init__(self, edition: Traversable) -> None:
        self._edition = edition
        self.problems: list[str] = []
        self._sources: dict[str, Source] = {}
        for _, header, cells in _lines(edition / "sources.csv"):  # `read_edition` tells what is wrong there
            row = Cells(dict(zip(header, cells, strict=False)), place="sources.csv", sources={})
            self._sources[row.text("key")] = make_source(row)

    def read(self, name: str, make: Callable[[Row, dict[str, Any]], _T]) -> list[_T]:
        """Return what the good rows of a table state; ``make`` takes a row and what it rests on."""
        made: list[_T] = []
        seen: set[tuple[str, ...]] = set()
        for line, header, cells in _lines(self._edition / "model" / f"{name}.csv"):
            try:
                row = _row(header, cells)
                _note_once(tuple(row[column] for column in _ONCE[name]), seen)
                made.append(make(row, self._footing(row)))
            except (KeyError, ValueError) as error:
                self.problems.append(f"model/{name}.csv line {line}: {error}")
        return made

    def knows(self, lesion: str, rates: Mapping[str, BaseRate], table: str) -> bool:
        """Say whether a lesion has rates; if not, note it against the table that names it."""
        if lesion not in rates:
            self.problems.append(f"model/{table}.csv: no lesion '{lesion}'; {suggestion(lesion, rates)}")
        return lesion in rates

    def _footing(self, row: Row) -> dict[str, Any]:
        if "provenance" not in row:
            return {}
        provenance, text = Provenance(row["provenance"]), row["source"]
        keys = () if provenance is Provenance.JUDGEMENT else tuple(text.split("+"))
        for key in keys:
            if key not in self._sources:
                raise ValueError(f"no source '{key}'; {suggestion(key, self._sources)}")
        if keys:
            text = "; ".join(self._sources[key].short for key in keys)
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
        "level_shares",
        level_shares,
        lambda base, band, own: replace(base, shares_by_age={**base.shares_by_age, band: own}),
    )
    add(
        "prevalence_replaced",
        replaced_rate,
        lambda base, at, own: replace(base, replaced={**base.replaced, at: own}),
    )
    reader.problems += [
        f"model/prevalence_replaced.csv: {lesion} lacks '{column}'"
        for lesion, base in rates.items()
        for column in RATE_COLUMNS
        if base.replaced and column not in base.replaced
    ]
    add("after_operation", after_operation, lambda base, own: replace(base, after_operation=own))
    add("mended", mended, lambda base, by, own: replace(base, mended={**base.mended, by: own}))
    return rates


def _lines(table: Traversable) -> Iterator[tuple[int, list[str], list[str]]]:
    """Yield the number of each line with the header and its cells."""
    rows = csv.reader(StringIO(table.read_text("utf-8"), newline=""))
    header = next(rows, [])
    return ((rows.line_num, header, cells) for cells in rows if cells)


def _row(header: list[str], cells: list[str]) -> Row:
    if len(cells) != len(header):
        raise ValueError(f"{len(cells)} cells where the header has {len(header)}; check the commas")
    return dict(zip(header, cells, strict=True))


def _note_once(key: tuple[str, ...], seen: set[tuple[str, ...]]) -> None:
    if key in seen:
        raise ValueError(f"stands here twice: {', '.join(filter(None, key))}")
    seen.add(key)


def _aspects(rows: list[tuple[str, str, str]]) -> Mapping[str, Mapping[str, tuple[str, ...]]]:
    aspects: dict[str, dict[str, tuple[str, ...]]] = {}
    for sign, aspect, levels in rows:
        aspects.setdefault(sign, {})[aspect] = tuple(levels.split())
    return aspects
