"""Very many examinations: how much of the machine's matrix-multiply rate their conclusions reach."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from statistics import median

import numpy as np

from fabella.bench.figure import Figure
from fabella.bench.machine import Machine, cores, peak_memory_gib
from fabella.grade import levels_of
from fabella.infer import KneeEvidence, Model, Setting, posterior
from fabella.infer.cohort import Cohort, CohortPosterior
from fabella.infer.evidence_of import plain
from fabella.infer.simulate import simulate_knees
from fabella.protocol import Protocol

LEAST_SHARE = 0.5
MOST_GIB = 2.0
SINGLE_PRECISION = 1e-5
CIRCUMSTANCES = Setting(setting="sports_clinic", acuity="acute", age_years=25, mechanism="twist")
_PART = "cohort"


def measure_cohort(
    model: Model,
    protocol: Protocol,
    machine: Machine,
    *,
    knees: int,
    chunk: int,
    compared: int,
    rng: np.random.Generator,
) -> tuple[Figure, ...]:
    """Simulate and conclude ``knees`` examinations in chunks, so that memory does not grow with them.

    Every chunk is set against the machine's rate just before and just after it (the better of the two); the
    share is the median over the chunks. The time is that of compiling and concluding, without simulating;
    the operations are those of the two matrix products and nothing else. ``compared`` knees are concluded
    again, one by one and in double precision.
    """
    signs = routine_signs(model, protocol)
    _conclude_chunk(model, machine, signs, 10, rng)  # what the first one compiles is no part of the rate
    shares, seconds, furthest = [], 0.0, 0.0
    for size in _sizes(knees, chunk):
        before = machine.rate()
        operations, took, apart = _conclude_chunk(model, machine, signs, size, rng, compared=compared)
        shares.append(operations / took / max(before, machine.rate()))
        seconds += took
        furthest, compared = max(furthest, apart), 0
    memory = peak_memory_gib()
    return (
        Figure(
            part=_PART,
            what="share of the matrix-multiply rate",
            measured=median(shares),
            unit="share",
            at_least=LEAST_SHARE,
            note=f"{knees:,} examinations of {len(signs)} signs in {len(shares)} chunks",
        ),
        Figure(part=_PART, what="a million examinations take", measured=seconds / knees * 1e6, unit="s"),
        Figure(
            part=_PART,
            what="most memory held",
            measured=memory,
            unit="GiB",
            at_most=MOST_GIB,
            note="the whole run up to here" if memory is not None else "this system does not tell",
        ),
        Figure(
            part=_PART,
            what="furthest from the single posterior",
            measured=furthest,
            unit="difference",
            at_most=SINGLE_PRECISION,
            note="single against double precision",
        ),
    )


def routine_signs(model: Model, protocol: Protocol) -> dict[str, int]:
    """Return the routine signs that the model knows, and the number of levels above normal of each."""
    known = (sign for sign in protocol.sequence(routine_only=True) if sign.id in model.knowledge.indicators)
    return {sign.id: len(levels_of(sign)) - 1 for sign in known}


def _conclude_chunk(
    model: Model,
    machine: Machine,
    signs: Mapping[str, int],
    size: int,
    rng: np.random.Generator,
    *,
    compared: int = 0,
) -> tuple[float, float, float]:
    """Return operations, seconds, and the furthest from the single posterior."""
    reports = simulate_knees(model, CIRCUMSTANCES, signs, size, rng).reports
    start = machine.clock()
    compiled = CohortPosterior(model, Cohort(CIRCUMSTANCES, reports, signs))
    first = np.empty((0, len(model.quantities)), dtype=np.float32)
    for rows, block in compiled.blocks(workers=cores()):
        if rows.start < compared:
            first = np.concatenate([first, block])
    took = machine.clock() - start
    apart = 0.0
    for knee in range(min(compared, size)):
        found = tuple(plain(sign, int(reports[sign][knee]), grades) for sign, grades in signs.items())
        alone = posterior(model, KneeEvidence(setting=CIRCUMSTANCES, observations=found))
        apart = max(apart, float(np.abs(alone.states @ model.membership - first[knee]).max()))
    return compiled.operations, took, apart


def _sizes(knees: int, chunk: int) -> Iterator[int]:
    for start in range(0, knees, chunk):
        yield min(chunk, knees - start)
