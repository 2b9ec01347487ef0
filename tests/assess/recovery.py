"""Do intervals hold the truth as often as they say? Exams simulated from known truth and analysed again.

`python -m tests.assess.recovery EXAMS` prints the table that stands in `docs/exam_reliability.md`.
"""

import sys
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fabella.assess.facets_rasch import rasch
from fabella.assess.facets_ratings import cumulated, log_probabilities
from fabella.assess.gstudy_design import Codes
from fabella.assess.severity import severity
from fabella.stats.intervals import normal_quantile

LEVEL = 0.90
Z = normal_quantile(LEVEL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """How large a simulated exam is; examiners are those of each station."""

    candidates: int
    stations: int
    examiners: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Recovered:
    """Shares of intervals that held the truth [-], and mean errors and correlations with it."""

    severity: float
    ability: float
    bias: float
    exams: int


def _layout(size: Size) -> tuple[Codes, Codes, Codes]:
    """Return candidate, station and examiner; every examiner meets a part of the candidates, by turns."""
    p, s = (code.ravel() for code in np.indices((size.candidates, size.stations)))
    return p, s, s * size.examiners + (p + p // size.examiners * s) % size.examiners


Held = NDArray[np.bool_]


def mixed(size: Size, dice: np.random.Generator) -> tuple[Held, Held, float]:
    """Return for one exam which severities and which abilities lay in their intervals of the mixed model."""
    p, s, r = _layout(size)
    ability, severe = dice.normal(0, 5, size.candidates), dice.normal(0, 3, size.stations * size.examiners)
    y = 60 + ability[p] + dice.normal(0, 4, size.stations)[s] - severe[r] + dice.normal(0, 6, len(p))
    found = severity(y, candidate=p, station=s, examiner=r)
    effects = found.model.of("candidate")
    low, high = found.limits(LEVEL)
    held = (low <= severe) & (severe <= high)
    able = np.abs(effects.estimate - ability) <= Z * effects.se
    return held, able, float((found.severity - severe).mean())


def facets(size: Size, dice: np.random.Generator) -> tuple[Held, Held, float]:
    """Return the same for the many-facet Rasch model with examiners who all meet each other's stations."""
    p, s, _ = _layout(size)
    n = size.stations * size.examiners
    r = (s + p) % n
    ability, severe = dice.normal(0.3, 1, size.candidates), dice.normal(0, 0.5, n)
    hard = dice.normal(0, 0.5, size.stations)
    sums = cumulated(np.array([[-1.5, -0.5, 0.5, 1.5]]), np.array([4])).T
    chance = np.exp(log_probabilities(ability[p] - hard[s] - severe[r], sums)).cumsum(axis=0)
    mark = (dice.random(len(p)) > chance).sum(axis=0)
    found = rasch(mark, candidate=p, facets={"station": s, "examiner": r})
    of = found.of("examiner")
    held = np.abs(of.estimate - (severe - severe.mean())) <= Z * of.se
    away = found.candidates.estimate - (ability - hard.mean() - severe.mean())
    able = np.abs(away) <= Z * found.candidates.se
    return held, able, float(((of.estimate - severe + severe.mean()) * severe).mean())


def recover(
    one: Callable[[Size, np.random.Generator], tuple[Held, Held, float]],
    size: Size,
    *,
    exams: int,
    seed: int,
) -> Recovered:
    """Return how often intervals held the truth over many exams."""
    dice = np.random.default_rng(seed)
    results = [one(size, dice) for _ in range(exams)]
    return Recovered(
        severity=float(np.mean([np.mean(r[0]) for r in results])),
        ability=float(np.mean([np.mean(r[1]) for r in results])),
        bias=float(np.mean([r[2] for r in results])),
        exams=exams,
    )


SIZES = (
    Size(candidates=30, stations=6, examiners=2),
    Size(candidates=60, stations=8, examiners=3),
    Size(candidates=120, stations=12, examiners=3),
)


def main(exams: int) -> None:
    """Print the table."""
    sys.stdout.write("| model | candidates | stations | examiners | severity held | ability held |\n")
    sys.stdout.write("|---|---|---|---|---|---|\n")
    for name, one in (("mixed model", mixed), ("many-facet Rasch, marginal", facets)):
        for size in SIZES:
            found = recover(one, size, exams=exams, seed=20)
            row = (name, size.candidates, size.stations, size.stations * size.examiners)
            shares = f"{100 * found.severity:.1f} % | {100 * found.ability:.1f} %"
            sys.stdout.write(f"| {' | '.join(map(str, row))} | {shares} |\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 500)
