"""From lesions to manifestations: the noisy-MAX formula, its conjunctions and its order."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise, product
from math import prod

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from fabella.evidence.facts import Cause, Knowledge
from fabella.evidence.source import Provenance
from fabella.infer import load_model
from fabella.infer.network import Network
from fabella.infer.states import States, enumerate_states
from tests.infer.forwards import state_of
from tests.infer.small import small_knowledge, small_lesions

ACUITIES = ("acute", "chronic", None)
LEVELS = 3
STATES = enumerate_states(small_lesions())

chances = st.lists(st.floats(0, 0.999), min_size=LEVELS, max_size=LEVELS).map(
    lambda values: tuple(sorted(values, reverse=True))
)
parts = st.lists(
    st.sampled_from([*STATES.slots, *((lesion, "") for lesion in STATES.lesions)]),
    min_size=1,
    max_size=2,
    unique_by=lambda part: part[0],
).map(tuple)


absent = st.lists(st.sampled_from(STATES.lesions), max_size=2, unique=True).map(tuple)


def cause(
    parts: tuple[tuple[str, str], ...],
    at_least: tuple[float, ...],
    acuity: str = "",
    without: tuple[str, ...] = (),
) -> Cause:
    """A made-up cause of a made-up manifestation."""
    return Cause(
        manifestation="made_up",
        acuity=acuity,
        parts=parts,
        without=without,
        at_least=at_least,
        strength=20,
        provenance=Provenance.JUDGEMENT,
        source="made up",
    )


causes = st.lists(st.builds(cause, parts, chances, without=absent), max_size=3)


def network(states: States, made: list[Cause], acuity: str | None = "acute") -> Network:
    """A network with the made-up manifestation besides guarding."""
    knowledge: Knowledge = replace(
        small_knowledge(),
        manifestations={"made_up": LEVELS},
        causes=tuple(made),
    )
    return Network(states, knowledge, acuity)


def active(states: States, state: int, one: Cause) -> bool:
    """Whether every part of a cause is in a state and what silences it is not; the leak is always active."""
    held = states.names(state)
    silenced = any(h in one.without for h, _ in held)
    return not silenced and all(
        any(lesion == h and level in ("", g) for h, g in held) for lesion, level in one.parts
    )


def by_brute_force(states: States, state: int, made: list[Cause]) -> list[float]:
    """P(M = 0..3) by letting every active cause bring about its own level and taking the highest."""
    share = [0.0] * (LEVELS + 1)
    acting = [one for one in made if active(states, state, one)]
    for levels in product(range(LEVELS + 1), repeat=len(acting)):
        bounds = [(1.0, *one.at_least, 0.0) for one in acting]
        chance = prod(bound[k] - bound[k + 1] for bound, k in zip(bounds, levels, strict=True))
        share[max(levels, default=0)] += chance
    return share


@given(chances, causes, st.data())
def test_the_highest_of_independent_causes(
    leak: tuple[float, ...], made: list[Cause], data: st.DataObject
) -> None:
    """A manifestation is the highest level that any active cause, acting alone, brings about.

    Definition of noisy-MAX (Henrion 1989, Díez 1993; from memory), worked out level by level.
    """
    every = [cause((), leak), *made]
    compiled = network(STATES, every).manifestations["made_up"]
    state = data.draw(st.integers(0, len(STATES) - 1))
    found = compiled.distribution()[compiled.configuration[state]]
    assert found == pytest.approx(by_brute_force(STATES, state, every), abs=1e-6)


def test_states_alike_for_a_manifestation_are_told_apart_from_all_others() -> None:
    """Two states share a configuration exactly when they switch on the same causes."""
    model = load_model()
    every = np.ones(len(model.states), dtype=bool)
    for name in ("anterior_laxity", "valgus_laxity", "effusion", "guarding", "load_bearing", "medial_line"):
        compiled = model.network("acute").manifestations[name]
        switched = np.stack(
            [
                np.all(
                    [
                        every,
                        *(model.states.having(*part) for part in one.parts),
                        *(~model.states.having(lesion) for lesion in one.without),
                    ],
                    axis=0,
                )
                for one in compiled.causes
            ],
            axis=1,
        )
        assert (compiled.active[compiled.configuration] == switched).all()


@pytest.mark.parametrize("acuity", ["acute", "chronic"])
def test_a_cause_of_the_other_acuity_is_silent(acuity: str) -> None:
    """A cause tabled for acute knees does nothing in a chronic one, and the reverse."""
    made = [
        cause((), (0.1, 0.0, 0.0)),
        cause((("acl_tear", "complete"),), (0.8, 0.5, 0.2), "acute"),
        cause((("acl_tear", "complete"),), (0.3, 0.1, 0.0), "chronic"),
    ]
    own = [one for one in made if one.acuity in ("", acuity)]
    mixed, alone = (network(STATES, each, acuity).manifestations["made_up"] for each in (made, own))
    difference = mixed.distribution()[mixed.configuration] - alone.distribution()[alone.configuration]
    assert np.abs(difference).max() < 1e-12


def test_unknown_acuity_is_the_mean_of_both() -> None:
    """When nobody knows how long ago, every manifestation lies midway between acute and chronic.

    As the network's description says.
    """
    model = load_model()
    for name in model.knowledge.manifestations:
        acute, chronic, unknown = (shares(name, acuity) for acuity in ACUITIES)
        assert np.abs(unknown - (acute + chronic) / 2).max() < 1e-12, name


def shares(name: str, acuity: str | None) -> NDArray[np.float64]:
    """P(M = 0..levels) in every state of the packaged model."""
    compiled = load_model().network(acuity).manifestations[name]
    return np.asarray(compiled.distribution()[compiled.configuration])


def at_least(name: str, state: int, acuity: str | None) -> NDArray[np.float64]:
    """P(M >= 1..levels) in one state of the packaged model."""
    return np.asarray(1 - np.cumsum(shares(name, acuity)[state])[:-1])


GRADED = (
    "acl_tear",
    "pcl_tear",
    "mcl_tear",
    "lcl_tear",
    "plc_injury",
    "medial_meniscus_tear",
    "lateral_meniscus_tear",
    "osteoarthritis",
    "patellar_fracture",
    "quadriceps_tendon_rupture",
    "patellar_tendon_rupture",
)
"""Lesions whose levels are degrees of one thing; those of the others differ in kind."""
OTHER_KINDS = frozenset({("patellar_fracture", "sleeve")})
"""Levels of those that are no degree: a sleeve comes off the lower pole and bleeds less into the joint."""


@pytest.mark.parametrize("acuity", ACUITIES)
@pytest.mark.parametrize("lesion", GRADED)
def test_a_worse_lesion_never_shows_less(lesion: str, acuity: str | None) -> None:
    """Every manifestation is at least as likely, at each level, in the next worse level of a lesion."""
    model = load_model()
    slots = [(lesion, level.id) for level in model.lesions[lesion].levels]
    states = [state_of(model, slot) for slot in slots if slot not in OTHER_KINDS]
    for name in model.network(acuity).manifestations:
        for milder, worse in pairwise(states):
            assert (at_least(name, worse, acuity) >= at_least(name, milder, acuity) - 1e-9).all(), name


def test_a_further_lesion_never_shows_less() -> None:
    """No lesion hides another: adding one never lowers the chance of any manifestation at any level.

    Beside a torn anterior cruciate a torn meniscus hurts less often at the joint line: there the
    tables say so.
    """
    model = load_model()
    hides = {(cause.manifestation, lesion) for cause in model.knowledge.causes for lesion in cause.without}
    assert hides == {
        (f"{side}_{what}", "acl_tear") for side in ("medial", "lateral") for what in ("line", "pain")
    }
    position = {frozenset(model.states.names(i)): i for i in range(len(model.states))}
    rng = np.random.default_rng(11)
    some = rng.choice(len(model.states), 400, replace=False)
    pairs = [
        (position[names - {one}], state, one[0])
        for state in some.tolist()
        for names in [frozenset(model.states.names(state))]
        for one in names
        if names - {one} in position
    ]
    for name in model.knowledge.manifestations:
        told = [(fewer, more) for fewer, more, added in pairs if (name, added) not in hides]
        fewer, more = np.array(told).T
        reached = 1 - np.cumsum(shares(name, "acute"), axis=1)[:, :-1]
        assert (reached[more] >= reached[fewer] - 1e-9).all(), name


@pytest.mark.parametrize("cruciate", ["acl_tear", "pcl_tear"])
@pytest.mark.parametrize(
    ("collateral", "laxity"), [("mcl_tear", "valgus_laxity"), ("lcl_tear", "varus_laxity")]
)
def test_wide_opening_needs_a_cruciate_too(collateral: str, laxity: str, cruciate: str) -> None:
    """A third-degree collateral tear alone seldom opens widely; with a cruciate torn too it mostly does.

    Opening in full extension means more than the collateral ligament (common practice; design of the model);
    Hughston 1988 Am J Sports Med 16:39-43: 21 of 24 torn PCLs with medial instability opened so.
    """
    model = load_model()
    alone = state_of(model, (collateral, "grade_3"))
    both = state_of(model, (collateral, "grade_3"), (cruciate, "complete"))
    assert at_least(laxity, alone, "acute")[2] < 0.4
    assert at_least(laxity, both, "acute")[2] > 0.65
    assert at_least(laxity, alone, "acute")[0] > 0.9
