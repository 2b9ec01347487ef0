"""How difficult the patients of a set are, as a small chart: one dot each, from hard to easy."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from fabella.teach import Difficulty

WIDTH, STEP, DOT = 320.0, 14.0, 5.0
"""Of the chart in its own units: 100 % sure stands at the right; dots of one column stand on each other."""
_COLUMNS = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """The chart: dots as (x, y, words), y counting upwards from the axis; and the same as one sentence."""

    dots: tuple[tuple[float, float, str], ...]
    height: float
    text: str


def spread_of(found: Iterable[tuple[str, Difficulty]]) -> Spread:
    """Return the chart of patients, each with its name and difficulty."""
    patients = sorted(found, key=lambda each: each[1].sureness)
    columns: Counter[int] = Counter()
    dots = []
    for name, each in patients:
        column = min(int(each.sureness * _COLUMNS), _COLUMNS - 1)
        x = (column + 0.5) / _COLUMNS * WIDTH
        dots.append((x, DOT + 2 + columns[column] * STEP, f"{name}: {each.word}, {each.sureness:.0%}"))
        columns[column] += 1
    words = Counter(each.word for _, each in patients)
    told = ", ".join(f"{words[word]} {word}" for word in ("hard", "fair", "easy") if words[word])
    return Spread(
        dots=tuple(dots),
        height=max(columns.values(), default=0) * STEP + DOT,
        text=f"{len(patients)} patients: {told}" if len(patients) > 1 else f"One patient: {told}",
    )
