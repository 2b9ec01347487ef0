"""Whole workups: alarms, grades, conclusion with its intervals, ranking of the next steps."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from fabella.bench.figure import Figure
from fabella.bench.machine import Machine
from fabella.infer import Model
from fabella.protocol import Protocol
from fabella.record import Acuity, Context, Examination, Mechanism, Patient, Setting, Sex
from fabella.workup import draw_examinations, drawable, run_workup

LIMIT_MS = 100.0
YOUNGEST, OLDEST = 8, 85
_PART = "workup"


def measure_workups(
    model: Model, protocol: Protocol, machine: Machine, examinations: Sequence[Examination], *, passes: int
) -> tuple[Figure, ...]:
    """Work up every examination ``passes`` times; return percentiles in milliseconds.

    Of each examination the fastest pass counts, since another program can only make it slower. The first
    pass also compiles what no earlier examination needed and is told apart.
    """
    taken, processor = np.empty((2, passes, len(examinations)))
    failed = 0
    for seed, (row, used) in enumerate(zip(taken, processor, strict=True)):
        for i, examination in enumerate(examinations):
            start, processor_start = machine.clock(), machine.processor()
            # Other dice each time, or a knee could be remembered from the pass before.
            workup = run_workup(examination, model=lambda: model, protocol=protocol, seed=seed)
            row[i] = (machine.clock() - start) * 1000
            used[i] = (machine.processor() - processor_start) * 1000
            failed += bool(workup.failures)
    fastest = taken.min(axis=0)
    about = f"{len(examinations)} examinations of both knees, {model.draws} draws"
    if failed:
        about += f"; {failed} of {taken.size} runs failed"

    def figure(what: str, measured: float, *, at_most: float | None = None, note: str = "") -> Figure:
        return Figure(part=_PART, what=what, measured=measured, unit="ms", at_most=at_most, note=note)

    return (
        figure("19 of 20 workups take at most", _share(fastest, 0.95), at_most=LIMIT_MS, note=about),
        figure("half of them take at most", _share(fastest, 0.5)),
        figure("the slowest takes", float(fastest.max())),
        figure("19 of 20 in processor time", _share(processor.min(axis=0), 0.95)),
        figure("19 of 20 in the first pass", _share(taken[0], 0.95), note="compiles each new circumstance"),
    )


def simulated(model: Model, protocol: Protocol, n: int, rng: np.random.Generator) -> Iterator[Examination]:
    """Draw routine examinations of both knees, each in other circumstances."""
    signs = drawable(model, protocol, None, routine=True)
    for _ in range(n):
        patient = Patient(
            age_years=float(rng.integers(YOUNGEST, OLDEST)), sex=tuple(Sex)[rng.integers(len(Sex))]
        )
        context = Context(
            setting=tuple(Setting)[rng.integers(len(Setting))],
            acuity=tuple(Acuity)[rng.integers(len(Acuity))],
            mechanism=tuple(Mechanism)[rng.integers(len(Mechanism))],
        )
        (drawn,) = draw_examinations(model, signs, 1, rng, patient=patient, context=context)
        yield drawn.examination


def _share(values: np.ndarray[tuple[int], np.dtype[np.float64]], share: float) -> float:
    return float(np.quantile(values, share))
