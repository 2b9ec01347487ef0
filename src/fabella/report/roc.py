"""Several studies of one question in ROC space: circles, their summary, and the regions around it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import sqrt
from string import ascii_lowercase

import numpy as np
from numpy.typing import NDArray

from fabella.evidence import Accuracy, Edition, Source
from fabella.evidence.pool_model import ENOUGH, pooled, studies, why_not_pooled
from fabella.report.curves import Point
from fabella.report.whiskers import Whisker, percent
from fabella.stats import Interval, Pooled

LEFT, TOP, FIELD = 15.0, 5.0, 100.0
"""The square field in units of the drawing: where it begins, and how long its sides are, 1 of each share."""
LARGEST = 6.0  # radius of the largest study; the area of the others goes with their knees
_BORDER_POINTS = 121
_TICKS = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
_LETTER, _LETTER_CLEAR = 1.6, 1.6  # half the size of a letter, and what it keeps from other things


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """One study: its circle with its letter, its counts, and why it was left out (empty when pooled)."""

    letter: str
    source: Source
    population: str
    at: Point
    radius: float
    letter_at: Point
    knees: int
    counts: tuple[int, int, int, int]
    sensitivity: float
    specificity: float
    left_out: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Roc:
    """The drawing: circles, the summary point and the closed borders of both regions, as paths."""

    title: str
    description: str
    studies: tuple[Study, ...]
    summary: Point
    confidence: str
    prediction: str
    sensitivity: Whisker
    specificity: Whisker
    warnings: tuple[str, ...]
    ticks: tuple[tuple[float, float, str], ...]


def no_roc(edition: Edition, sign: str, target: str, read: str) -> str:
    """Return why there is no such drawing; empty when there is one."""
    counted = _counted(edition, sign, target, read)
    fit = studies(edition, sign, target, read)
    if len(fit) >= ENOUGH:
        return ""
    if not counted:
        return "none of these sources prints all four counts, so that nothing can be pooled"
    left_out = [
        f"{each.source.short} is left out ({why_not_pooled(each)})" for each in counted if each not in fit
    ]
    says = "no study" if not fit else "one study" if len(fit) == 1 else f"{len(fit)} studies"
    return "; ".join(
        (
            f"{says} with all four counts can be pooled; fewer than {ENOUGH} hardly tell how places differ",
            *left_out,
        )
    )


@lru_cache(maxsize=32)
def _pool(rows: tuple[Accuracy, ...]) -> Pooled:
    return pooled(rows)


def roc(edition: Edition, sign: str, target: str, read: str) -> Roc | None:
    """Return the studies of one question in ROC space; None when there are too few to pool."""
    fit = studies(edition, sign, target, read)
    if len(fit) < ENOUGH:
        return None
    found = _pool(fit)
    drawn = tuple(_studies(_counted(edition, sign, target, read), fit))
    sensitivity, specificity = _whisker(found.sensitivity), _whisker(found.specificity)
    return Roc(
        title=f"{sign.replace('_', ' ')} for {target.replace('_', ' ')}: {len(fit)} studies in ROC space",
        description=(
            f"False alarms across, hits upwards, both from 0 to 1. Summary: sensitivity {sensitivity.words}, "
            f"specificity {specificity.words}. With 95 % confidence the inner line encloses the summary, the "
            "dashed line the true accuracy in a new clinic. The studies stand in the table below."
        ),
        studies=drawn,
        summary=place(1 - found.specificity.estimate, found.sensitivity.estimate),
        confidence=_path(found.confidence_region(points=_BORDER_POINTS)),
        prediction=_path(found.prediction_region(points=_BORDER_POINTS)),
        sensitivity=sensitivity,
        specificity=specificity,
        warnings=found.warnings,
        ticks=tuple((*place(each, each), f"{each:g}") for each in _TICKS),
    )


def place(false_alarm: float, hit: float) -> Point:
    """Return where a false positive rate and a sensitivity (0 to 1) lie on the drawing."""
    return round(LEFT + FIELD * false_alarm, 3), round(TOP + FIELD * (1 - hit), 3)


def shares(at: Point) -> tuple[float, float]:
    """Return false positive rate and sensitivity of a place on the drawing: `place` turned round."""
    return (at[0] - LEFT) / FIELD, 1 - (at[1] - TOP) / FIELD


def _counted(edition: Edition, sign: str, target: str, read: str) -> tuple[Accuracy, ...]:
    rows = edition.accuracy_for(sign, target, finding_level=read)
    return tuple(row for row in rows if row.poolable)


def _studies(rows: Sequence[Accuracy], fit: Sequence[Accuracy]) -> Iterator[Study]:
    """Yield the pooled studies, then those left out, the largest first; letters where there is room."""
    cells = {id(row): _cells(row) for row in rows}
    ordered = sorted(rows, key=lambda row: (row not in fit, -sum(cells[id(row)])))
    most = max(map(sum, cells.values()))
    circles = [
        (place(fp / (fp + tn), tp / (tp + fn)), LARGEST * sqrt((tp + fp + fn + tn) / most))
        for tp, fp, fn, tn in (cells[id(row)] for row in ordered)
    ]
    letters: list[tuple[Point, float]] = []
    for letter, row, own in zip(ascii_lowercase, ordered, circles, strict=False):
        tp, fp, fn, tn = cells[id(row)]
        letter_at = _letter_place(*own, [*(each for each in circles if each is not own), *letters])
        letters.append((letter_at, _LETTER))
        yield Study(
            letter=letter,
            source=row.source,
            population=row.population,
            at=own[0],
            radius=round(own[1], 3),
            letter_at=letter_at,
            knees=tp + fp + fn + tn,
            counts=(tp, fp, fn, tn),
            sensitivity=tp / (tp + fn),
            specificity=tn / (tn + fp),
            left_out="" if row in fit else why_not_pooled(row),
        )


def _cells(row: Accuracy) -> tuple[int, int, int, int]:
    tp, fp, fn, tn = (cell or 0 for cell in (row.counts.cells if row.counts else (0, 0, 0, 0)))
    return tp, fp, fn, tn


def _letter_place(at: Point, radius: float, in_the_way: Sequence[tuple[Point, float]]) -> Point:
    """Return where the letter of a circle stands: beside it, where nothing else is."""
    off = radius + 2.4
    askew = off * sqrt(0.5)
    beside = [
        (at[0] + x, at[1] + y)
        for x, y in (
            *((off, 0), (-off, 0), (0, -off), (0, off)),
            *((askew, -askew), (-askew, -askew), (askew, askew), (-askew, askew)),
        )
    ]
    inside = [
        each for each in beside if LEFT + 1 < each[0] < LEFT + FIELD + 4 and TOP < each[1] < TOP + FIELD
    ]

    def room(spot: Point) -> float:
        away = (sqrt((x - spot[0]) ** 2 + (y - spot[1]) ** 2) - r for (x, y), r in in_the_way)
        return min(away, default=FIELD)

    free = next(
        (each for each in inside if room(each) > _LETTER + _LETTER_CLEAR), max(inside or beside, key=room)
    )
    return round(free[0], 2), round(free[1], 2)


def _path(border: NDArray[np.float64]) -> str:
    points = [place(float(x), float(y)) for x, y in border[:-1]]
    return f"M{'L'.join(f'{x:g} {y:g}' for x, y in points)}Z"


def _whisker(interval: Interval) -> Whisker:
    value, low, high = (round(each, 3) for each in (interval.estimate, interval.low, interval.high))
    words = f"{value:g} ({low:g} to {high:g})"
    return Whisker(at=percent(value), low=percent(low), high=percent(high), words=words, ends="")
