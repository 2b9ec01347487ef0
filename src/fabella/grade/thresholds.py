"""How a measurement is read as an ordered level: the rules of ``thresholds.toml``, as frozen values."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Any

from fabella.errors import InputError, Problem, Problems, suggestion

_KEYS = frozenset(
    "signs levels worse is_difference side alone norm scales errors method sem sems stands_for".split()  # noqa: SIM905
)


class Worse(StrEnum):
    """Which way a reading becomes worse."""

    LOWER = "lower"
    HIGHER = "higher"
    AWAY = "away"

    def badness(self, value: float) -> float:
        """Return the value counted so that more is worse; distances for `AWAY` are taken as they are."""
        return -value if self is Worse.LOWER else value


@dataclass(frozen=True, slots=True)
class Start:
    """Where a level begins, counted so that more is worse; ``strict`` when the bound itself lies below it."""

    at: float
    strict: bool

    def reached_by(self, badness: float) -> bool:
        """Say whether a reading lies at or beyond this bound."""
        return badness > self.at or (badness == self.at and not self.strict)


@dataclass(frozen=True, slots=True, kw_only=True)
class DifferenceRule:
    """How a difference to the other side is read.

    Differences up to ``healthy`` occur in healthy people, provided this side itself reads ``healthy_from`` or
    more. A value above ``beyond`` has gone too far the other way and is no yardstick. None: nothing is known.
    """

    starts: tuple[Start, ...]
    source: str
    norms: tuple[str, ...]
    healthy: float | None
    healthy_from: float | None
    healthy_source: str
    beyond: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AloneRule:
    """How a value is read by itself; with a ``spread`` it only stands in for an unknown other side."""

    starts: tuple[Start, ...]
    source: str
    spread: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class NormRule:
    """Which norms a value is set against and, in SD from their mean, where levels begin (empty: 2 SD)."""

    measures: tuple[str, ...]
    first: tuple[str, ...]
    factor: float
    starts_sd: tuple[float, ...]
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnSem:
    """A standard error of one reading that stands in where no table has one."""

    value: float
    method: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """Everything needed to read the measurement of one sign as a level."""

    sign: str
    levels: tuple[str, ...]
    worse: Worse
    is_difference: bool
    side: DifferenceRule | None
    alone: AloneRule | None
    norm: NormRule | None
    scale: str
    errors: tuple[str, ...]
    method: str
    sem: OwnSem | None
    sems: tuple[OwnSem, ...]
    stands_for: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Thresholds:
    """All readings by sign, the words for methods, and the signs that are compared with the other side."""

    readings: Mapping[str, Reading]
    methods: Mapping[str, tuple[str, ...]]
    alike: frozenset[str]


@cache
def load_thresholds() -> Thresholds:
    """Read and check ``thresholds.toml``; raise `InputError` listing every defect."""
    return read_thresholds(files("fabella.grade").joinpath("thresholds.toml").read_text("utf-8"))


def read_thresholds(text: str) -> Thresholds:
    """Return the thresholds written in ``text``; raise `InputError` listing every defect."""
    raw = tomllib.loads(text)
    rows = [(sign, row) for row in raw["reading"] for sign in row["signs"]]
    problems = Problems()
    readings: dict[str, Reading] = {}
    for sign, row in rows:
        for key in sorted(set(row) - _KEYS):
            problems.add(sign, key, "is no key of a reading", suggestion(key, _KEYS))
        if sign in readings:
            problems.add(sign, "", "is read twice", "keep one")
        readings[sign] = _reading(sign, row)
        problems.extend(_faults(readings[sign]))
    problems.raise_any()
    methods = {word: tuple(names) for word, names in raw["methods"].items()}
    return Thresholds(readings=readings, methods=methods, alike=frozenset(raw["alike"]["signs"]))


def _faults(reading: Reading) -> list[Problem]:
    sets = [rule.starts for rule in (reading.side, reading.alone) if rule is not None]
    faults = Problems()
    for starts in sets:
        if list(starts) != sorted(starts, key=lambda start: start.at):
            faults.add(reading.sign, "", "starts must rise", "put the mildest level first")
    counts = {len(starts) for starts in sets}
    if reading.levels and counts - {len(reading.levels) - 1}:
        faults.add(reading.sign, "", "starts and levels differ", f"give {len(reading.levels) - 1} starts")
    if not sets and reading.norm is None:
        faults.add(reading.sign, "", "has no rule", "give one")
    if reading.sem is None and not reading.errors:
        faults.add(reading.sign, "", "has no error", "give errors or sem")
    return faults


def _reading(sign: str, row: Mapping[str, Any]) -> Reading:
    worse = Worse(row["worse"])
    side, alone, norm = row.get("side"), row.get("alone"), row.get("norm")
    return Reading(
        sign=sign,
        levels=tuple(row.get("levels", ())),
        worse=worse,
        is_difference=row.get("is_difference", False),
        side=None if side is None else _side(side),
        alone=None
        if alone is None
        else AloneRule(
            starts=tuple(_start(text, worse) for text in alone["starts"]),
            source=alone["source"],
            spread=alone.get("spread"),
        ),
        norm=None
        if norm is None
        else NormRule(
            measures=tuple(norm["measures"]),
            first=tuple(norm.get("first", ())),
            factor=norm.get("factor", 1.0),
            starts_sd=tuple(norm.get("starts_sd", ())),
            source=norm.get("source", ""),
        ),
        scale=row.get("scales", {}).get(sign, ""),
        errors=tuple(row.get("errors", ())),
        method=row.get("method", ""),
        sem=OwnSem(**row["sem"]) if "sem" in row else None,
        sems=tuple(OwnSem(**each) for each in row.get("sems", ())),
        stands_for=dict(row.get("stands_for", {})),
    )


def _side(row: Mapping[str, Any]) -> DifferenceRule:
    return DifferenceRule(
        starts=tuple(_start(text, Worse.HIGHER) for text in row["starts"]),
        source=row["source"],
        norms=tuple(row.get("norms", ())),
        healthy=row.get("healthy"),
        healthy_from=row.get("healthy_from"),
        healthy_source=row.get("healthy_source", ""),
        beyond=row.get("beyond"),
    )


def _start(text: str, worse: Worse) -> Start:
    """Return the start written as ``>=3``, ``>10``, ``<=-5`` or ``<90``; the sign must fit the worse way."""
    sign = "<" if worse is Worse.LOWER else ">"
    body = text.removeprefix(sign)
    number = body.removeprefix("=")
    if body == text or not math.isfinite(float(number)):
        raise InputError.of(place="starts", value=text, says="runs the wrong way", remedy=f"use {sign}")
    return Start(at=worse.badness(float(number)), strict=body == number)
