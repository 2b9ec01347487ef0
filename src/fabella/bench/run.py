"""All measurements in one run."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

import numpy as np

from fabella.bench.cohorts import measure_cohort
from fabella.bench.exams import measure_exam
from fabella.bench.figure import Figure
from fabella.bench.library import measure_library
from fabella.bench.load import measure_load
from fabella.bench.machine import Machine, cores, software
from fabella.bench.workups import measure_workups, simulated
from fabella.infer import load_model
from fabella.protocol import load_protocol
from fabella.record import Examination


class Part(StrEnum):
    """What can be measured."""

    LOAD = "load"
    WORKUP = "workup"
    COHORT = "cohort"
    LIBRARY = "library"
    EXAM = "exam"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizes:
    """How much is measured; the values given are those of an ordinary run.

    Parameters
    ----------
    loads
        Fresh interpreters.
    examinations, passes
        Simulated examinations worked up, and how often each.
    knees, chunk, compared
        Examinations of the cohort, how many at once, and how many are concluded again one by one.
    rounds
        Of the comparison with the general library.
    candidates, exams, pages
        Candidates of the exam, how often it is analysed, and pages of feedback made.
    """

    loads: int = 9
    examinations: int = 100
    passes: int = 5
    knees: int = 100_000
    chunk: int = 10_000
    compared: int = 100
    rounds: int = 5
    candidates: int = 1000
    exams: int = 3
    pages: int = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """What came of a run, where and when."""

    measured_on: date
    cores: int
    software: dict[str, str]
    figures: tuple[Figure, ...]


def run(
    machine: Machine,
    *,
    measured_on: date,
    sizes: Sizes,
    rng: np.random.Generator,
    parts: Container[Part] = tuple(Part),
    examples: Iterable[Examination] = (),
    begin: Callable[[Part], None] = lambda _: None,
) -> Report:
    """Measure the parts asked for, with the machine's own rate before and after each.

    Parameters
    ----------
    machine
        With the clocks to measure by.
    rng
        The dice of everything simulated.
    examples
        Examinations worked up besides the simulated ones.
    begin
        Told the name of each part as it begins.
    """
    figures: list[Figure] = []
    machine.rate()
    for part in (each for each in Part if each in parts):
        begin(part)
        figures += _measure(part, machine, sizes, rng, examples)
        machine.rate()
    return Report(
        measured_on=measured_on,
        cores=cores(),
        software=software(),
        figures=(*machine.figures(), *figures),
    )


def _measure(
    part: Part, machine: Machine, sizes: Sizes, rng: np.random.Generator, examples: Iterable[Examination]
) -> tuple[Figure, ...]:
    if part is Part.LOAD:
        return measure_load(runs=sizes.loads, clock=machine.clock)
    if part is Part.EXAM:
        return measure_exam(
            machine, candidates=sizes.candidates, passes=sizes.exams, pages=sizes.pages, rng=rng
        )
    model, protocol = load_model(), load_protocol()
    if part is Part.WORKUP:
        drawn = (*examples, *simulated(model, protocol, sizes.examinations, rng))
        return measure_workups(model, protocol, machine, drawn, passes=sizes.passes)
    if part is Part.COHORT:
        return measure_cohort(
            model,
            protocol,
            machine,
            knees=sizes.knees,
            chunk=sizes.chunk,
            compared=sizes.compared,
            rng=rng,
        )
    return measure_library(model, rounds=sizes.rounds, clock=machine.clock)
