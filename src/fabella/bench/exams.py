"""A whole exam: read, analysed, and told to every candidate; the Rasch part beside a general library."""

from __future__ import annotations

import os
import shutil
import subprocess
from datetime import date
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from numpy.typing import NDArray

from fabella.assess import Blueprint, Item, Marks, Rules, Station, analyse, decide, read_marks
from fabella.assess.facets_rasch import rasch
from fabella.bench.figure import Figure
from fabella.bench.machine import Machine, cores
from fabella.exam import plain_stations
from fabella.papers import Cohort, feedback_files

LIMIT_S, PAGES_LIMIT_S, LEAST_TIMES = 5.0, 60.0, 10.0
PAGES = 2000
STATIONS, EXAMINERS, ITEMS = 12, 3, 20  # examiners at each station
_PART, _TIMES = "exam", "Rasch part, times faster than lme4"
_DAY = date(2031, 5, 6)

# The same model by a general library: ability random, items and examiners crossed with it; its own defaults.
_R = """
suppressPackageStartupMessages(library(lme4))
d <- read.csv(commandArgs(TRUE)[1]); for (n in c("p", "i", "r")) d[[n]] <- factor(d[[n]])
t <- proc.time(); m <- glmer(x ~ 1 + (1 | p) + (1 | i) + (1 | r), data = d, family = binomial)
cat(sum((proc.time() - t)[1:2]), ranef(m)$r[order(as.integer(rownames(ranef(m)$r))), 1], sep = "\\n")
"""


def measure_exam(
    machine: Machine, *, candidates: int, passes: int, pages: int, rng: np.random.Generator
) -> tuple[Figure, ...]:
    """Read and analyse an exam ``passes`` times, the fastest counts; make feedback for some candidates.

    ``pages`` are made for as many candidates, and the time for 2,000 follows from them.
    """
    blueprint = blueprint_of_size()
    text = exam_text(blueprint, candidates=candidates, rng=rng)
    read, analysed, used = [], [], []
    for _ in range(passes):
        start = machine.clock()
        marks = read_marks(text, blueprint=blueprint)
        read.append(machine.clock() - start)
        start, start_used = machine.clock(), machine.processor()
        found = analyse(marks, Rules(), at_random=True)
        analysed.append(machine.clock() - start)
        used.append(machine.processor() - start_used)
    refused = [part for part in (found.facets, found.dependability, found.study.severity) if part.refusal]
    size = (
        f"{candidates:,} candidates, {STATIONS * EXAMINERS} examiners, {STATIONS} stations of {ITEMS} items"
    )
    about = f"{size}; {len(refused)} parts refused" if refused else size
    return (
        _seconds("analysed completely", min(analysed), at_most=LIMIT_S, note=about),
        _seconds("in processor time", min(used)),
        _seconds("read from CSV", min(read), note=f"{len(marks.mark):,} marks"),
        *_beside(marks, machine, passes),
        *_pages(machine, candidates=pages, rng=rng),
    )


def exam_text(blueprint: Blueprint, *, candidates: int, rng: np.random.Generator) -> bytes:
    """Return the marks of an invented exam as CSV, circuits with an examiner of their own at each station."""
    ability = rng.normal(0.8, 1.0, candidates)
    circuit = np.arange(candidates) % EXAMINERS
    rows = ["candidate,circuit,station,examiner,item,mark,global,started"]
    for s, station in enumerate(blueprint.stations):
        here = ability + rng.normal(0, 0.7, candidates) - rng.normal(0, 0.4)
        here = here - rng.normal(0, 0.3, EXAMINERS)[circuit]
        chance = 1 / (1 + np.exp(-(here[:, None] + rng.normal(0, 0.5, len(station.items)))))
        mark = rng.binomial(2, chance)
        grade = np.clip(np.round(1.5 + 0.8 * here + rng.normal(0, 0.4, candidates)), 0, 4).astype(int)
        for p, c in enumerate(circuit.tolist()):
            minute = 7 * (p // EXAMINERS)
            began = f"2031-05-{6 + minute // 600:02}T{8 + minute % 600 // 60:02}:{minute % 60:02}"
            who = f"C{p:05},{c},{station.code},E{s * EXAMINERS + c:03}"
            rows += (
                f"{who},{item.code},{got},{grade[p]},{began}"
                for item, got in zip(station.items, mark[p].tolist(), strict=True)
            )
    return "\n".join([*rows, ""]).encode()


def blueprint_of_size() -> Blueprint:
    """Return the stations that are measured: items of two marks, in three domains."""
    domains = ("communication", "safety", "technique")
    return Blueprint(
        stations=tuple(
            Station(
                code=f"S{s:02}",
                items=tuple(
                    Item(code=f"I{i:02}", max_mark=2, domain=domains[i % 3], critical=i == 0)
                    for i in range(ITEMS)
                ),
            )
            for s in range(STATIONS)
        )
    )


def _beside(marks: Marks, machine: Machine, passes: int) -> tuple[Figure, ...]:
    """Fit full marks or not (0 or 1) here and by libraries; processor time of one thread on each side."""
    x = (marks.mark == 2).astype(np.float64)  # noqa: PLR2004  the full mark
    person, examiner = marks.candidate[marks.sheet], marks.examiner[marks.sheet]
    station, item = marks.station[marks.sheet], marks.item
    ours = []
    for _ in range(passes):
        start = machine.processor()
        fit = rasch(
            x,
            candidate=person,
            facets={"station": station, "item": item, "examiner": examiner},
            centred={"item": station, "examiner": station},
            alike=True,
        )
        ours.append(machine.processor() - start)
    own = _seconds("Rasch part, full marks or not", min(ours), note=f"{len(x):,} marks, with standard errors")
    told = _by_lme4(np.stack([x.astype(np.int64), person, item, examiner], axis=1))
    if isinstance(told, str):
        none = Figure(part=_PART, what=_TIMES, measured=None, unit="times", at_least=LEAST_TIMES, note=told)
        return (own, none, *_by_logistic(x, person, item, examiner, machine))
    took, severe = told
    return (
        own,
        Figure(
            part=_PART,
            what=_TIMES,
            measured=took / min(ours),
            unit="times",
            at_least=LEAST_TIMES,
            note=f"glmer of R, the same random ability, by Laplace: {took:.0f} s of one processor",
        ),
        Figure(
            part=_PART,
            what="severities, furthest from its own, logit",
            measured=float(np.abs(_centred(severe, marks) - fit.of("examiner").estimate).max()),
            unit="logit",
            note="ours are not drawn to 0",
        ),
        *_by_logistic(x, person, item, examiner, machine),
    )


def _by_lme4(table: NDArray[np.int64]) -> tuple[float, NDArray[np.float64]] | str:
    """Return the processor time of lme4 and its severities, or why it was not asked."""
    script = shutil.which("Rscript")
    if script is None:
        return "not measured: R with lme4 is not installed; sh tools/system_packages.sh does it"
    with TemporaryDirectory() as folder:
        file = Path(folder) / "marks.csv"
        np.savetxt(file, table, fmt="%d", delimiter=",", header="x,p,i,r", comments="")
        command = [script, "--vanilla", "-e", _R, str(file)]
        done = subprocess.run(command, capture_output=True, text=True, check=False)  # noqa: S603  our own words
    if done.returncode:
        return "not measured: lme4 is not installed, or refused; sh tools/system_packages.sh installs it"
    took, *effects = map(float, done.stdout.split())
    return took, -np.array(effects)


def _by_logistic(
    x: NDArray[np.float64],
    person: NDArray[np.int32],
    item: NDArray[np.int32],
    examiner: NDArray[np.int32],
    machine: Machine,
) -> tuple[Figure, ...]:
    """Time a plain logistic regression with a column for everybody, which answers less."""
    if find_spec("sklearn") is None:
        return ()
    linear, prepare = import_module("sklearn.linear_model"), import_module("sklearn.preprocessing")
    start = machine.processor()
    columns = prepare.OneHotEncoder().fit_transform(np.stack([person, item, examiner], axis=1))
    linear.LogisticRegression(C=1e4, solver="newton-cg", max_iter=200).fit(columns, x)
    took = machine.processor() - start
    note = "scikit-learn, a column for everybody: no standard errors, no fit, biased as joint estimates are"
    return (_seconds("a plain logistic regression takes", took, note=note),)


def _centred(severe: NDArray[np.float64], marks: Marks) -> NDArray[np.float64]:
    """Return severities about the mean of their station."""
    home = np.zeros(len(severe), dtype=np.int64)
    home[marks.examiner] = marks.station
    mean = np.bincount(home, severe) / np.bincount(home)
    return np.asarray(severe - mean[home], dtype=np.float64)


def _pages(machine: Machine, *, candidates: int, rng: np.random.Generator) -> tuple[Figure, ...]:
    blueprint = blueprint_of_size()
    marks = read_marks(exam_text(blueprint, candidates=candidates, rng=rng), blueprint=blueprint)
    cohort = Cohort(
        exam="An invented exam",
        held_on=_DAY,
        marks=marks,
        results=decide(marks, Rules()),
        stations=plain_stations(blueprint),
    )
    start, before = machine.clock(), sum(os.times()[:4])
    made = sum(1 for _ in feedback_files(cohort, written_on=_DAY))
    took, used = machine.clock() - start, sum(os.times()[:4]) - before  # of this process and those it started
    what, note = f"feedback for {PAGES:,} candidates", f"from {made:,} pages, one PDF each, a process a core"
    return (
        _seconds(what, took * PAGES / made, at_most=PAGES_LIMIT_S, note=note),
        _seconds("in processor time, a core", used * PAGES / made / cores()),
    )


def _seconds(what: str, measured: float, *, at_most: float | None = None, note: str = "") -> Figure:
    return Figure(part=_PART, what=what, measured=measured, unit="s", at_most=at_most, note=note)
