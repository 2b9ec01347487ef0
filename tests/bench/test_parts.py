"""Each measurement runs on tiny sizes and divides what it should; no test depends on how fast anything is."""

from __future__ import annotations

import sys
from datetime import date
from time import perf_counter

import numpy as np
import pytest

from fabella.bench import Figure, Machine, library
from fabella.bench.cohorts import CIRCUMSTANCES, measure_cohort, routine_signs
from fabella.bench.library import FEW, FOUND, measure_library
from fabella.bench.load import measure_load
from fabella.bench.machine import peak_memory_gib
from fabella.bench.workups import OLDEST, YOUNGEST, measure_workups, simulated
from fabella.bench.written_out import by_lesions, few_lesions
from fabella.infer import KneeEvidence, Model, load_model
from fabella.infer.cohort import Cohort, CohortPosterior
from fabella.infer.simulate import simulate_knees
from fabella.protocol import load_protocol
from fabella.record import Examination, check_examination
from tests.bench.ticking import ticking

FEWER = ("acl_tear", "medial_meniscus_tear", "osteoarthritis", "soft_tissue_injury")


def measured(figures: tuple[Figure, ...], what: str) -> float:
    """The value of the figure whose words begin like this."""
    (value,) = (each.measured for each in figures if each.what.startswith(what))
    assert value is not None
    return value


def test_the_rate_of_the_machine_is_operations_over_the_best_time() -> None:
    """A product of two n by n matrices is 2 n^3 operations (common practice: one multiply, one add)."""
    machine = Machine(ticking(0.5), ticking(), size=10)
    assert machine.rate() == pytest.approx(2 * 10**3 / 0.5)
    machine.rates.append(1000.0)
    single, double = machine.figures()
    assert single.measured == pytest.approx(4e-6)
    assert double.measured == pytest.approx(4e-6)
    assert "not quiet" in single.note


def test_load_counts_the_whole_start_and_tells_the_shares_apart() -> None:
    """The whole is never shorter than its shares, all of them being medians of one run here."""
    figures = measure_load(runs=1, clock=perf_counter)
    shares = [
        measured(figures, f"of it, {name}") for name in ("importing numpy", "importing all", "compiling")
    ]
    assert measured(figures, "interpreter to model") > sum(shares)
    assert min(shares) > 0
    assert figures[0].limit == 0.5


def test_the_fastest_pass_of_each_workup_counts() -> None:
    """With a clock that ticks a second a reading every workup takes one, whichever share is asked for."""
    model, protocol = load_model(), load_protocol()
    examinations = [Examination(id="empty", origin="simulated"), *simulated(model, protocol, 1, dice())]  # type: ignore[arg-type]
    machine = Machine(ticking(), ticking(0.25), size=10)
    figures = measure_workups(model, protocol, machine, examinations, passes=2)
    assert [each.measured for each in figures] == [1000.0, 1000.0, 1000.0, 250.0, 1000.0]
    assert "2 examinations of both knees, 400 draws" in figures[0].note
    assert "failed" not in figures[0].note


def test_simulated_examinations_are_valid_and_each_in_its_own_circumstances() -> None:
    """What is worked up would pass as a file, has both knees examined, and differs in age and context."""
    drawn = tuple(simulated(load_model(), load_protocol(), 6, dice()))
    for each in drawn:
        check_examination(each, protocol=load_protocol(), today=date(2026, 1, 2))
        assert len(each.sides) == 2
        assert each.patient.age_years is not None
        assert YOUNGEST <= each.patient.age_years < OLDEST
    assert len({(each.patient, each.context) for each in drawn}) == len(drawn)


def test_the_share_of_a_cohort_is_its_products_over_time_and_rate() -> None:
    """Operations over seconds over the machine's own rate; the clock here makes both times one second."""
    model, protocol = load_model(), load_protocol()
    machine = Machine(ticking(), ticking(), size=100, rounds=1)
    figures = measure_cohort(model, protocol, machine, knees=30, chunk=20, compared=5, rng=dice())
    operations = [operations_of(model, size) for size in (20, 10)]
    assert measured(figures, "share of") == pytest.approx(np.mean(operations) / 2e6)
    assert measured(figures, "a million examinations take") == pytest.approx(2 / 30 * 1e6)
    assert measured(figures, "furthest from the single posterior") < 1e-5
    assert figures[0].note == f"30 examinations of {len(routine_signs(model, protocol))} signs in 2 chunks"


def operations_of(model: Model, size: int) -> float:
    """The operations of the chunk of this size in a cohort of 20 and 10 knees."""
    rng, signs = dice(), routine_signs(model, load_protocol())
    for n in (10, 20, 10)[: 2 if size == 20 else 3]:
        drawn = simulate_knees(model, CIRCUMSTANCES, signs, n, rng)
    return CohortPosterior(model, Cohort(CIRCUMSTANCES, drawn.reports, signs)).operations


def dice() -> np.random.Generator:
    """The same dice for every caller."""
    return np.random.default_rng(5)


def test_operations_are_those_of_the_two_products() -> None:
    """Two operations for each entry of the tables and each knee.

    The second table has a column for each quantity and one for their total.
    """
    model = load_model()
    signs = {"lachman": 3, "effusion": 3}
    drawn = simulate_knees(model, CIRCUMSTANCES, signs, 50, dice())
    compiled = CohortPosterior(model, Cohort(CIRCUMSTANCES, drawn.reports, signs))
    patterns = sum(len(np.unique(drawn.reports[sign])) for sign in signs)
    states = 2 * int((model.prior(CIRCUMSTANCES).probability > 0).sum())
    columns = len(model.quantities) + 1
    assert compiled.operations == 2 * 50 * states * (1 + patterns + columns)


@pytest.mark.skipif(sys.platform == "win32", reason="Windows does not tell how much memory a process held")
def test_memory_is_what_the_process_held_at_most() -> None:
    """Holding 64 MiB more than ever before raises the figure by as much, within a tenth."""
    before = peak_memory_gib()
    held = np.ones(int(((before or 0) + 1 / 16) * 2**27))
    after = peak_memory_gib()
    assert before is not None
    assert after is not None
    assert held.nbytes / 2**30 * 0.9 < after < 2 * before + 1


def test_the_general_library_agrees() -> None:
    """On the network written out it gives our answer to 1e-9, and so it does on our list of states."""
    figures = measure_library(load_model(), rounds=1, clock=perf_counter, lesions=FEWER)
    assert measured(figures, "furthest from its answer") < 1e-9
    assert measured(figures, "times faster on the same network") > 0
    assert f"4 lesions, {len(FOUND)} signs" in figures[0].note


def test_times_faster_is_their_time_over_ours() -> None:
    """With a clock that ticks a second a reading both take one second."""
    figures = measure_library(load_model(), rounds=1, clock=ticking(), lesions=FEWER)
    assert measured(figures, "times faster on the same network") == 1
    assert measured(figures, "times faster when given our states") == 1


def test_without_the_general_library_nothing_is_claimed(monkeypatch: pytest.MonkeyPatch) -> None:
    """The line then says that it was not measured and how to install what is missing."""
    monkeypatch.setattr(library, "LIBRARY", "no_such_library")
    (only,) = measure_library(load_model(), rounds=1, clock=ticking())
    assert (only.measured, only.met) == (None, None)
    assert "not measured: no_such_library is not installed; `make setup`" in only.note


def test_the_network_written_out_is_one() -> None:
    """Every node's chances add up to 1, and every parent stands before its children."""
    every = load_model()
    model = Model(*few_lesions(every.lesions, every.knowledge, FEW), draws=1)
    nodes = by_lesions(model, KneeEvidence(setting=library.CIRCUMSTANCES, observations=FOUND))
    known: set[str] = set()
    for node in nodes:
        assert set(node.parents) <= known
        assert node.name not in known
        assert np.abs(node.table.sum(axis=-1) - 1).max() < 1e-12
        assert node.table.min() >= 0
        known.add(node.name)
