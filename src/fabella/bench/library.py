"""One posterior, ours against a general Bayesian-network library on the same network."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from importlib import import_module
from importlib.util import find_spec
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fabella.bench.figure import Figure
from fabella.bench.machine import Clock
from fabella.bench.written_out import ALLOWED, STATE, Node, by_lesions, by_states, few_lesions, label
from fabella.infer import KneeEvidence, Model, Setting, posterior
from fabella.infer.evidence_of import Observation, plain
from fabella.stats.threads import one_thread

Floats = NDArray[np.float64]

LIBRARY = "pyagrum"
LEAST_TIMES = 100.0
AGREE = 1e-9
ENGINES = ("VariableElimination", "LazyPropagation", "ShaferShenoyInference")
FEW = (
    "acl_tear",
    "pcl_tear",
    "mcl_tear",
    "lcl_tear",
    "plc_injury",
    "medial_meniscus_tear",
    "lateral_meniscus_tear",
    "patellar_instability",
    "patellofemoral_pain",
    "osteoarthritis",
    "tibial_plateau_fracture",
    "soft_tissue_injury",
)
CIRCUMSTANCES = Setting(setting="sports_clinic", acuity="acute", age_years=24, sex="male", mechanism="twist")
FOUND = (
    plain("lachman", 2, 3),
    plain("pivot_shift", 0, 3),
    plain("anterior_drawer", 1, 3),
    plain("effusion", 2, 3),
    plain("swelling_visible", 1, 3),
    plain("valgus_stress_30", 1, 3),
    plain("valgus_stress_0", 0, 3),
    plain("joint_line_tenderness_medial", 1),
    plain("mcmurray", 1),
    plain("mcmurray_lateral", 0),
    plain("range_of_motion_limited", 1, 2),
    plain("patellar_apprehension", 0, 2),
    plain("pop_heard", 1),
    Observation(sign="passive_flexion", weights=(0.1, 0.7, 0.2)),
    Observation(sign="posterior_drawer", weights=(1.0, 0.3, 0.0, 0.0)),
)
_PART = "general library"
_TIMES = "times faster on the same network"
_OURS_A_ROUND = 30


def measure_library(
    model: Model, *, rounds: int, clock: Clock, lesions: Sequence[str] = FEW
) -> tuple[Figure, ...]:
    """Return how many times faster we are, and how far the answers are apart.

    Every round runs each engine of the library once (making it, entering the findings, asking for every
    lesion) and our posterior many times; the fastest counts on both sides, and the fastest engine. Writing
    the tables down counts on neither side. The second network spares the library the work of finding out
    which combinations are possible.
    """
    if find_spec(LIBRARY) is None:
        note = f"not measured: {LIBRARY} is not installed; `make setup` or `pip install {LIBRARY}` does it"
        return (
            Figure(part=_PART, what=_TIMES, measured=None, unit="times", at_least=LEAST_TIMES, note=note),
        )
    few = Model(*few_lesions(model.lesions, model.knowledge, lesions), draws=1)
    evidence = KneeEvidence(setting=CIRCUMSTANCES, observations=FOUND)
    with one_thread():
        same = _compare(few, evidence, by_lesions(few, evidence), rounds=rounds, clock=clock)
        given = _compare(model, evidence, by_states(model, evidence), rounds=rounds, clock=clock)
    return (
        Figure(
            part=_PART,
            what=_TIMES,
            measured=same.times,
            unit="times",
            at_least=LEAST_TIMES,
            note=f"{len(lesions)} lesions, {len(FOUND)} signs: {same}",
        ),
        Figure(
            part=_PART,
            what="furthest from its answer",
            measured=max(same.apart, given.apart),
            unit="difference",
            at_most=AGREE,
        ),
        Figure(
            part=_PART,
            what="times faster when given our states",
            measured=given.times,
            unit="times",
            note=f"all lesions, {len(model.states):,} states: {given}",
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Compared:
    """Our time, that of the library's fastest engine [s], and how far apart the answers were."""

    ours: float
    theirs: float
    engine: str
    apart: float

    @property
    def times(self) -> float:
        return self.theirs / self.ours

    def __str__(self) -> str:
        return f"{self.ours * 1e3:.2f} ms against {self.theirs * 1e3:.1f} ms ({self.engine})"


def _compare(
    model: Model, evidence: KneeEvidence, nodes: Sequence[Node], *, rounds: int, clock: Clock
) -> _Compared:
    library = import_module(LIBRARY)
    network = _network(library, nodes)
    findings = {label(each.sign): list(each.weights) for each in evidence.observations}
    by_state = nodes[0].name == STATE
    if not by_state:
        findings[ALLOWED] = [0.0, 1.0]

    def theirs(engine: str) -> Floats:
        inference = getattr(library, engine)(network)
        inference.setEvidence(findings)
        if by_state:
            return np.asarray(inference.posterior(STATE).toarray())
        told = [inference.posterior(lesion).toarray() for lesion in model.states.lesions]
        return np.concatenate([each[1:] for each in told])

    def ours() -> Floats:
        states = posterior(model, evidence).states
        return states if by_state else model.states.sum_by_slot(states)

    fastest = dict.fromkeys(ENGINES, np.inf)
    own, apart = np.inf, 0.0
    for engine in ENGINES * rounds:
        seconds, told = _timed(partial(theirs, engine), clock)
        fastest[engine] = min(fastest[engine], seconds)
        own = min(own, *(_timed(ours, clock)[0] for _ in range(_OURS_A_ROUND)))
        apart = max(apart, float(np.abs(told - ours()).max()))
    best = min(fastest, key=fastest.__getitem__)
    return _Compared(ours=own, theirs=fastest[best], engine=best, apart=apart)


def _timed(compute: Callable[[], Floats], clock: Clock) -> tuple[float, Floats]:
    start = clock()
    answer = compute()
    return clock() - start, answer


def _network(library: Any, nodes: Sequence[Node]) -> Any:
    """Hand the tables over; the library stores the axes of a table the other way round."""
    network = library.BayesNet()
    for node in nodes:
        network.add(library.LabelizedVariable(node.name, node.name, node.table.shape[-1]))
        for parent in node.parents:
            network.addArc(parent, node.name)
        axes = (*node.parents, node.name)
        stored = [axes.index(name) for name in reversed(network.cpt(node.name).names)]
        network.cpt(node.name)[:] = np.ascontiguousarray(node.table.transpose(stored))
    return network
