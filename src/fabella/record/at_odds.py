"""Findings of one knee that measure the same thing and disagree: possible, but worth a second look."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from fabella.anatomy import Side
from fabella.packaged import packaged_table
from fabella.record.finding import Finding, State


@dataclass(frozen=True, slots=True, kw_only=True)
class AtOdds:
    """Two findings of one knee that disagree, by their signs, and why; the file holds both all the same."""

    side: Side
    signs: tuple[str, str]
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Half:
    """What one of the two says: that it is normal, one of these levels, or a value within these bounds."""

    sign: str
    normal: bool
    levels: frozenset[str]
    low: float
    high: float

    def said_by(self, finding: Finding) -> bool:
        """Return whether a finding of this sign says so; what was not examined says nothing."""
        if finding.state is State.NORMAL and self.normal:
            return True
        if finding.value is not None and self.low <= finding.value <= self.high:
            return True
        # Of a sign that is there or not, the level goes without saying.
        return finding.state is State.ABNORMAL and (finding.level or "yes") in self.levels


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Two statements that no knee should make at once, and why."""

    one: Half
    other: Half
    why: str


def at_odds(findings: Iterable[Finding]) -> tuple[AtOdds, ...]:
    """Return every two findings of one knee that disagree, the right knee before the left."""
    found = {(each.sign, each.side): each for each in findings}
    return tuple(
        AtOdds(side=side, signs=(pair.one.sign, pair.other.sign), why=pair.why)
        for side in Side
        for pair in pairs()
        if all(
            (finding := found.get((half.sign, side))) is not None and half.said_by(finding)
            for half in (pair.one, pair.other)
        )
    )


@cache
def pairs() -> tuple[Pair, ...]:
    """Return the pairs of ``at_odds.toml``."""
    table = packaged_table("record/at_odds.toml")
    return tuple(
        Pair(one=_half(row["one"]), other=_half(row["other"]), why=row["why"]) for row in table["pair"]
    )


def _half(row: Mapping[str, Any]) -> Half:
    bounded = "from" in row or "to" in row
    return Half(
        sign=row["sign"],
        normal=row.get("normal", False),
        levels=frozenset(row.get("levels", ())),
        low=row.get("from", -math.inf) if bounded else math.inf,
        high=row.get("to", math.inf) if bounded else -math.inf,
    )
