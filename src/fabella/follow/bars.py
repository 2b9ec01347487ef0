"""What a change of a total is held against: the published bar that fits the patient, from ``scores.toml``."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from fabella.errors import EvidenceError
from fabella.evidence import Edition, Milestone
from fabella.follow.course import ScoreBar
from fabella.packaged import packaged_table
from fabella.record import ProcedureName

_LEVELS = {"MDC90": 0.90, "MDC95": 0.95}

Choices = Sequence[tuple[str, Sequence[str]]]


def _table() -> Mapping[str, Any]:
    return packaged_table("follow/scores.toml")


def detectable_bar(score: str, *, procedure: ProcedureName | None, edition: Edition) -> ScoreBar | None:
    """Return what one patient's change must exceed to be more than error; None when nothing is published."""
    return _bar(_table().get(score, {}).get("mdc", ()), procedure=procedure, edition=edition)


def important_bar(score: str, *, procedure: ProcedureName | None, edition: Edition) -> ScoreBar | None:
    """Return from what change on patients notice it; None when nothing is published for one patient."""
    return _bar(_table().get(score, {}).get("mic", ()), procedure=procedure, edition=edition)


def _bar(choices: Choices, *, procedure: ProcedureName | None, edition: Edition) -> ScoreBar | None:
    groups: Mapping[str, Sequence[str]] = _table()["groups"]
    known = {row.item_id: row for row in edition.recovery}
    bars = []
    for items, fitting in choices:
        rows = [known[item] for item in items.split() if item in known]
        if not rows:
            continue
        fits = procedure is not None and any(procedure in groups[group] for group in fitting)
        bars.append(_of(rows, fits=fits))
    fit = next((bar for bar in bars if bar.fits), None)
    return fit or max(bars, key=lambda bar: bar.high, default=None)


def _of(rows: Sequence[Milestone], *, fits: bool) -> ScoreBar:
    numbers = sorted(_number(row) for row in rows)
    statistics = tuple(dict.fromkeys(row.statistic for row in rows))
    return ScoreBar(
        low=numbers[0],
        high=numbers[-1],
        statistic=", ".join(statistics),
        level=_LEVELS.get(statistics[0]),
        population=rows[0].procedure_or_population,
        source=rows[0].source.short,
        recalled=any(row.recalled for row in rows),
        item=" ".join(row.item_id for row in rows),
        fits=fits,
    )


def _number(row: Milestone) -> float:
    """Return the number of a row; of a range over studies its larger end, so that error is not underrated."""
    number = row.estimate.value if row.estimate.value is not None else row.estimate.high
    if number is None:
        raise EvidenceError(f"{row.item_id} holds no number for one patient")
    return number
