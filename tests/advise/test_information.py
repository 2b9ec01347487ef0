"""How much a sign would tell: mutual information, worked out again over everything that can happen."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import product
from math import log2

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from fabella.advise.expect import Outlooker, binary_information
from fabella.infer import KneeEvidence, Model, Posterior, Setting, posterior
from fabella.infer.evidence_of import plain
from tests.infer.small import small_knowledge, small_lesions

SETTING = Setting(setting="specialist_clinic", acuity="acute", age_years=26)
FOUND = (plain("lachman", 1, 3), plain("effusion", 0, 3), plain("mcmurray", 1))
NEXT = (("anterior_drawer", 3), ("pivot_shift", 3), ("joint_line_tenderness_medial", 1), ("patellar_tap", 1))
Floats = NDArray[np.float64]


@cache
def small() -> Model:
    """A knee of eight lesions."""
    return Model(small_lesions(), small_knowledge(), draws=2)


class Everything(Posterior):
    """A posterior that leaves no state out, so that the sums are exact."""

    def kept(self, mass: float = 1.0, most: int = 0) -> NDArray[np.intp]:
        """Every state."""
        del mass, most
        return np.arange(self.joint.shape[1])


def evidence(count: int) -> KneeEvidence:
    """The first so many findings."""
    return KneeEvidence(setting=SETTING, observations=FOUND[:count])


def predicted(count: int, sign: str, grades: int) -> Floats:
    """P(state, guarding, report | findings) by multiplying prior, manifestations and signs one by one."""
    model = small()
    group = model.group_of(sign)
    network = model.network(SETTING.acuity)
    shares = {
        name: network.manifestations[name].distribution()[network.manifestations[name].configuration]
        for name in model.knowledge.manifestations
    }
    guards = shares["guarding"][:, 1]
    chance = np.stack([1 - guards, guards], axis=1) * model.prior(SETTING).probability[:, None]
    found = evidence(count).observations
    for observation in found:
        if model.group_of(observation.sign) != group:
            chance *= likelihood(model, shares, observation.sign, observation.grades)[
                :, :, int(np.argmax(observation.weights))
            ]
    result = np.zeros((*chance.shape, grades + 1))
    for joint in product(*(range(model.knowledge.manifestations[name] + 1) for name in group)):
        here = np.prod([shares[name][:, level] for name, level in zip(group, joint, strict=True)], axis=0)
        index = int(np.ravel_multi_index(joint, [model.knowledge.manifestations[name] + 1 for name in group]))
        own = np.ones(2)
        for observation in found:
            if model.group_of(observation.sign) == group:
                table = model.outcome(observation.sign, SETTING, observation.grades).point
                own *= table[:, index, int(np.argmax(observation.weights))]
        report = model.outcome(sign, SETTING, grades).point[:, index]
        result += here[:, None, None] * own[:, None] * report
    result *= chance[:, :, None]
    return np.asarray(result / result.sum())


def likelihood(model: Model, shares: dict[str, Floats], sign: str, grades: int) -> Floats:
    """P(report | state, guarding) of a sign by itself (states, 2, grades + 1)."""
    group = model.group_of(sign)
    spread = np.ones((len(model.states), 1))
    for name in group:
        spread = (spread[:, :, None] * shares[name][:, None, :]).reshape(len(spread), -1)
    table = model.outcome(sign, SETTING, grades).point
    return np.stack([spread @ table[0], spread @ table[1]], axis=1)


def information(joint: Floats) -> float:
    """Mutual information in bits between the rows and the columns of a table of probabilities."""
    rows, columns = joint.sum(axis=1, keepdims=True), joint.sum(axis=0, keepdims=True)
    expected = rows * columns
    held = joint > 0
    return float((joint[held] * np.log2(joint[held] / expected[held])).sum())


@pytest.mark.parametrize("count", [0, 2, 3])
@pytest.mark.parametrize(("sign", "grades"), NEXT)
def test_bits_are_the_mutual_information(sign: str, grades: int, count: int) -> None:
    """A step's bits are the mutual information between its report and the lesions, to 1e-9.

    Shannon's definition over all reports, states being told apart as far as the manifestations that the sign
    shows tell them apart, whether the knee guards or not.
    """
    post = posterior(small(), evidence(count))
    outlooker = Outlooker(small(), evidence(count), Everything(post.joint, post.log_evidence))
    by_state = predicted(count, sign, grades).sum(axis=1)
    configuration = small().table(SETTING, small().group_of(sign)).configuration
    table = np.zeros((configuration.max() + 1, grades + 1))
    np.add.at(table, configuration, by_state)
    found = outlooker.prospects({sign: grades})[sign]
    assert found.bits == pytest.approx(information(table), abs=1e-9)
    assert found.chance == pytest.approx(by_state.sum(axis=0), abs=1e-9)


@pytest.mark.parametrize("count", [0, 2, 3])
@pytest.mark.parametrize(("sign", "grades"), NEXT)
def test_bits_are_about_the_lesions_only(sign: str, grades: int, count: int) -> None:
    """A step's bits are about which lesions are present, not about whether the knee guards.

    States that the sign's manifestations do not tell apart may guard unlike, so that a report tells a little
    of which it is: this, at most 0.005 bits, is left out.
    """
    post = posterior(small(), evidence(count))
    outlooker = Outlooker(small(), evidence(count), Everything(post.joint, post.log_evidence))
    exact = information(predicted(count, sign, grades).sum(axis=1))
    assert exact - 0.005 < outlooker.prospects({sign: grades})[sign].bits < exact + 1e-9


@pytest.mark.parametrize(("sign", "grades"), NEXT)
def test_an_outlook_is_what_would_be_concluded(sign: str, grades: int) -> None:
    """The probability of each lesion after each report is the posterior with that report entered."""
    model = small()
    post = posterior(model, evidence(2))
    outlooker = Outlooker(model, evidence(2), Everything(post.joint, post.log_evidence))
    (then,) = outlooker.lesions_then([outlooker.prospects({sign: grades})[sign]])
    for level in range(grades + 1):
        after = replace(evidence(2), observations=(*FOUND[:2], plain(sign, level, grades)))
        concluded = posterior(model, after).states @ model.membership
        assert then[level] == pytest.approx(concluded[: len(model.states.lesions)], abs=1e-9)


@given(st.floats(0.001, 0.999), st.floats(0.01, 0.99), st.floats(0.01, 0.99))
def test_an_image_tells_the_information_of_a_binary_test(
    prior: float, sensitivity: float, specificity: float
) -> None:
    """Information and chance of a positive image are those of a yes-or-no test (Shannon), never below 0.

    A useless image, as often positive with as without the lesion, tells nothing.
    """
    bits, positive = binary_information(prior, sensitivity, specificity)
    cells = [
        prior * sensitivity,
        prior * (1 - sensitivity),
        (1 - prior) * (1 - specificity),
        (1 - prior) * specificity,
    ]
    assert positive == pytest.approx(cells[0] + cells[2])
    expected = 0.0
    for cell, lesion, image in zip(
        cells,
        (prior, prior, 1 - prior, 1 - prior),
        (positive, 1 - positive, positive, 1 - positive),
        strict=True,
    ):
        expected += cell * log2(cell / (lesion * image))
    assert bits == pytest.approx(expected, abs=1e-9)
    assert binary_information(prior, sensitivity, 1 - sensitivity)[0] == pytest.approx(0, abs=1e-9)
