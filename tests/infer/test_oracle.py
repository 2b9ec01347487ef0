"""The exact posterior against an independent exact Bayesian-network library (pyAgrum) on the same network."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from math import prod

import numpy as np
import pyagrum as gum
import pytest

from fabella.evidence.facts import Cause
from fabella.infer import KneeEvidence, Model, Setting, load_model, posterior
from fabella.infer.evidence_of import ImageRead, Observation, plain
from tests.infer.small import SOME, small_knowledge, small_lesions

SETTING = Setting(setting="sports_clinic", acuity="acute", age_years=24, sex="male", mechanism="twist")

TISSUES = {"osteotomy": ("bone",), "acl_reconstruction": ("ligament", "anterior_cruciate")}
IMAGES = (
    ImageRead(image="mri", shows=frozenset({"acl_tear", "lateral_meniscus_tear"})),
    ImageRead(image="radiograph", shows=frozenset()),
)
FINDINGS = (
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
    plain("quadriceps_wasting", 1, 2),
)


def label(sign: str) -> str:
    """Return the node name of a sign, apart from manifestations of the same name."""
    return f"sign {sign}"


class PlainNetwork:
    """The network of design section 8 as conditional tables, worked out cell by cell from the model's tables.

    Nothing of the inference code is used: chances come from the knowledge tables and the fitted responses,
    the formulas are written out again here.
    """

    def __init__(self, model: Model, setting: Setting) -> None:
        self.model = model
        self.setting = setting
        self.net = gum.BayesNet()
        self.levels = {name: [level.id for level in model.lesions[name].levels] for name in model.lesions}
        for name, levels in self.levels.items():
            self.net.add(gum.LabelizedVariable(name, name, len(levels) + 1))
            self.net.cpt(name).fillWith(1 / (len(levels) + 1))
        self._prior()
        self._manifestation("guarding")

    def _prior(self) -> None:
        """Put the prior in as one node "allowed", observed true: its chance is p(x) up to a factor."""
        probability = self.model.prior(self.setting).probability
        names = {frozenset(self.model.states.names(i)): p for i, p in enumerate(probability)}
        self.net.add(gum.LabelizedVariable("allowed", "allowed", 2))
        for name in self.levels:
            self.net.addArc(name, "allowed")
        table = self.net.cpt("allowed")
        most = max(probability)
        for values in product(*(range(len(levels) + 1) for levels in self.levels.values())):
            present = frozenset(
                (name, self.levels[name][value - 1])
                for name, value in zip(self.levels, values, strict=True)
                if value
            )
            chance = names.get(present, 0.0) / most
            table[dict(zip(self.levels, values, strict=True))] = [1 - chance, chance]

    def _manifestation(self, name: str) -> None:
        """Add one noisy-MAX node with its conjunctions and leak."""
        if name in self.net.names():
            return
        knowledge = self.model.knowledge
        count = knowledge.manifestations[name]
        causes = [
            self._while_healing(self._at_this_age(cause))
            for cause in knowledge.causes
            if cause.manifestation == name and cause.acuity in ("", self.setting.acuity)
        ]
        parents = [lesion for lesion in self.levels if any(lesion in cause.lesions for cause in causes)]
        self.net.add(gum.LabelizedVariable(name, name, count + 1))
        for parent in parents:
            self.net.addArc(parent, name)
        table = self.net.cpt(name)
        for values in product(*(range(len(self.levels[parent]) + 1) for parent in parents)):
            state = {p: (self.levels[p][v - 1] if v else None) for p, v in zip(parents, values, strict=True)}
            active = [
                cause
                for cause in causes
                if all(
                    state[lesion] is not None and level in ("", state[lesion])
                    for lesion, level in cause.parts
                )
                and not any(state.get(lesion) for lesion in cause.without)
            ]
            at_least = [1.0]
            at_least += [1 - prod(1 - cause.at_least[k] for cause in active) for k in range(count)]
            row = [at_least[k] - (at_least[k + 1] if k < count else 0.0) for k in range(count + 1)]
            if parents:
                table[dict(zip(parents, values, strict=True))] = row
            else:
                table.fillWith(row)

    def _at_this_age(self, cause: Cause) -> Cause:
        """Return a cause as it acts at this age: of the rows that hold, that of the narrowest age."""
        years = self.setting.age_years
        own = [
            row
            for row in self.model.knowledge.at_ages
            if (row.manifestation, row.acuity, row.parts) == (cause.manifestation, cause.acuity, cause.parts)
            and years is not None
            and row.below_years is not None
            and years < row.below_years
        ]
        return min(own, key=lambda row: row.below_years or 0.0, default=cause)

    def _while_healing(self, cause: Cause) -> Cause:
        """Return a cause in a knee that heals: what it shows of itself takes the place of the leak."""
        for row in self.model.knowledge.healing:
            if row.tissue not in ("", *TISSUES.get(self.setting.operation, ())):
                continue
            if not cause.parts and (row.manifestation, row.within_weeks) == (
                cause.manifestation,
                self.setting.healing,
            ):
                cause = replace(cause, at_least=row.at_least)  # the narrower, the further behind
        return cause

    def add_sign(self, observation: Observation) -> None:
        """Add one sign as a child of its manifestations and of guarding, and enter what was found."""
        sign = self.model.signs(self.setting.setting)[observation.sign]
        indicator = sign.indicator
        parents = [name for name, _ in indicator.manifestations]
        for parent in parents:
            self._manifestation(parent)
        node = label(observation.sign)
        self.net.add(gum.LabelizedVariable(node, node, observation.grades + 1))
        for parent in (*parents, "guarding"):
            self.net.addArc(parent, node)
        counts = [self.model.knowledge.manifestations[parent] for parent in parents]
        table = self.net.cpt(node)
        for values in product(*(range(count + 1) for count in counts), range(2)):
            *found, guarded = values
            silent = 1.0
            for value, (_, weight) in zip(found, indicator.manifestations, strict=True):
                seen = 1.0 if value >= indicator.from_level else (indicator.partial if value else 0.0)
                silent *= 1 - weight * seen
            hit = float(sign.response.hit) * (1 - silent) * (1 - indicator.guard_loss * guarded)
            falsely = float(sign.response.false_alarm) * (1 - hit)
            centre = max(
                self._centre(v, c, indicator.from_level, observation.grades)
                for v, c in zip(found, counts, strict=True)
            )
            slip = [0.35 ** (grade - centre) ** 2 for grade in range(1, observation.grades + 1)]
            slight = [0.1**further for further in range(observation.grades)]
            row = [1 - hit - falsely]
            row += [
                hit * seen / sum(slip) + falsely * unseen / sum(slight)
                for seen, unseen in zip(slip, slight, strict=True)
            ]
            table[dict(zip((*parents, "guarding"), values, strict=True))] = row

    @staticmethod
    def _centre(value: int, count: int, from_level: int, grades: int) -> float:
        if value < from_level:
            return 0.5
        if count == from_level:
            return (1 + grades) / 2
        return 1 + (value - from_level) * (grades - 1) / (count - from_level)


@pytest.fixture(scope="module")
def small() -> Model:
    """Return the model of eight lesions."""
    return Model(small_lesions(), small_knowledge(), draws=2)


@pytest.mark.parametrize(
    ("healing", "operation"),
    [
        (None, ""),
        (12, "arthroscopy"),
        (12, "osteotomy"),
        (12, "acl_reconstruction"),
        (104, "acl_reconstruction"),
    ],
)
@pytest.mark.parametrize("count", [0, 1, 4, len(FINDINGS)])
def test_posterior_equals_general_library(
    small: Model, count: int, healing: int | None, operation: str
) -> None:
    """Every lesion level's posterior equals pyAgrum's variable elimination on the written-out network to

    1e-9.
    """
    findings = FINDINGS[:count]
    setting = replace(SETTING, healing=healing, operation=operation)
    network = PlainNetwork(small, setting)
    for observation in findings:
        network.add_sign(observation)
    engine = gum.VariableElimination(network.net)
    engine.setEvidence({"allowed": 1, **{label(o.sign): list(o.weights) for o in findings}})
    ours = small.states.sum_by_slot(
        posterior(small, KneeEvidence(setting=setting, observations=findings)).states
    )
    for lesion in SOME:
        theirs = engine.posterior(lesion).toarray()
        for k, level in enumerate(network.levels[lesion], start=1):
            assert ours[small.states.slots.index((lesion, level))] == pytest.approx(theirs[k], abs=1e-9)


@pytest.mark.parametrize("age_years", [9, 24, None])
def test_posterior_equals_general_library_at_every_age(age_years: float | None) -> None:
    """The same where a lesion brings about otherwise at some ages, by two invented rows."""
    knowledge = small_knowledge()
    usual = next(
        c for c in knowledge.causes if (c.manifestation, c.parts) == ("effusion", (("acl_tear", ""),))
    )
    own = tuple(
        replace(usual, at_least=tuple(chance * each for each in usual.at_least), below_years=below)
        for below, chance in ((12.0, 0.3), (30.0, 0.7))
    )
    model = Model(small_lesions(), replace(knowledge, at_ages=own), draws=2)
    setting = replace(SETTING, age_years=age_years)
    network = PlainNetwork(model, setting)
    for observation in FINDINGS[:6]:
        network.add_sign(observation)
    engine = gum.VariableElimination(network.net)
    engine.setEvidence({"allowed": 1, **{label(o.sign): list(o.weights) for o in FINDINGS[:6]}})
    found = posterior(model, KneeEvidence(setting=setting, observations=FINDINGS[:6])).states
    ours = model.states.sum_by_slot(found)
    for lesion in SOME:
        theirs = engine.posterior(lesion).toarray()
        for k, level in enumerate(network.levels[lesion], start=1):
            assert ours[model.states.slots.index((lesion, level))] == pytest.approx(theirs[k], abs=1e-9)


def test_whole_model_equals_general_library() -> None:
    """With all lesions, the posterior over whole states equals pyAgrum's on a star of state.

    Manifestations, signs, and what images show.
    """
    model = load_model()
    net = gum.BayesNet()
    prior = model.prior(SETTING).probability
    net.add(gum.LabelizedVariable("state", "state", len(prior)))
    net.cpt("state").fillWith(prior.tolist())
    evidence: dict[str, list[float]] = {}

    def add_manifestation(name: str) -> None:
        if name in net.names():
            return
        compiled = model.manifestation(SETTING, name)
        net.add(gum.LabelizedVariable(name, name, compiled.levels + 1))
        net.addArc("state", name)
        net.cpt(name)[:] = compiled.distribution()[compiled.configuration]

    add_manifestation("guarding")
    for observation in FINDINGS:
        indicator = model.knowledge.indicators[observation.sign]
        parents = [name for name, _ in indicator.manifestations]
        for name in parents:
            add_manifestation(name)
        group = model.group_of(observation.sign)
        outcome = model.outcome(observation.sign, SETTING, observation.grades).point
        shape = [model.knowledge.manifestations[name] + 1 for name in group]
        node = label(observation.sign)
        net.add(gum.LabelizedVariable(node, node, observation.grades + 1))
        for name in (*parents, "guarding"):
            net.addArc(name, node)
        table = outcome.reshape(2, *shape, -1)
        for values in product(
            *(range(model.knowledge.manifestations[name] + 1) for name in parents), range(2)
        ):
            where = dict(zip(parents, values[:-1], strict=True))
            index = (values[-1], *(where.get(name, 0) for name in group))
            net.cpt(node)[dict(zip((*parents, "guarding"), values, strict=True))] = table[index].tolist()
        evidence[node] = list(observation.weights)
    for image in IMAGES:
        for row in model.knowledge.images:
            if row.image == image.image:
                node = f"{row.image} {row.lesion}"
                net.add(gum.LabelizedVariable(node, node, 2))
                net.addArc("state", node)
                shown = np.where(model.states.having(row.lesion), row.sensitivity, 1 - row.specificity)
                net.cpt(node)[:] = np.stack([1 - shown, shown], axis=1)
                evidence[node] = [0, 1] if row.lesion in image.shows else [1, 0]
    engine = gum.LazyPropagation(net)
    engine.setEvidence(evidence)
    theirs = engine.posterior("state").toarray()
    ours = posterior(model, KneeEvidence(setting=SETTING, observations=FINDINGS, images=IMAGES)).states
    assert np.abs(ours - theirs).max() < 1e-9
