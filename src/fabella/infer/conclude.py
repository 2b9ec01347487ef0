"""One knee's findings to its conclusion."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fabella.anatomy import Side
from fabella.infer.evidence_of import KneeEvidence
from fabella.infer.explain import Grounds, finding_weights, reasons
from fabella.infer.fit import fit
from fabella.infer.model import Model
from fabella.infer.posterior import Posterior, drawn_posteriors, posterior
from fabella.infer.result import ANY_LEVEL, Combination, KneeConclusion, LesionProbability

Floats = NDArray[np.float64]

COMBINATIONS = 8
INTERVAL = (0.05, 0.95)


def conclude_knee(
    model: Model, evidence: KneeEvidence, side: Side, rng: np.random.Generator
) -> tuple[KneeConclusion, Posterior]:
    """Return the conclusion about one knee, and the posterior it was read from.

    ``rng`` only serves the check of fit; the posterior itself is exact.
    """
    post = posterior(model, evidence)
    kept = post.kept()
    names, membership = quantities(model, kept)
    drawn = drawn_posteriors(model, evidence, kept) @ membership
    low, high = np.quantile(drawn, INTERVAL, axis=0)
    every, full = quantities(model)
    probability = post.states @ full
    prior = model.prior(evidence.setting).probability @ full
    weights = finding_weights(model, evidence, post, kept, membership)
    grounds = Grounds(model, evidence)
    entries = []
    for i, (lesion, level) in enumerate(names):
        speaks_for, against, grounding = reasons(grounds, evidence.observations, weights[:, i], lesion)
        entries.append(
            LesionProbability(
                lesion=lesion,
                level=level,
                prior=float(prior[i]),
                probability=float(probability[i]),
                low=float(min(low[i], probability[i])),
                high=float(max(high[i], probability[i])),
                reasons_for=speaks_for,
                reasons_against=against,
                grounding=grounding,
            )
        )
    entries.sort(key=lambda entry: (-entry.probability, entry.lesion, entry.level != ANY_LEVEL))
    best = np.argsort(-post.states)[:COMBINATIONS]
    return (
        KneeConclusion(
            side=side,
            symptomatic=evidence.setting.symptomatic,
            lesions=tuple(entries),
            combinations=tuple(
                Combination(lesions=model.states.names(state), probability=float(post.states[state]))
                for state in best
            ),
            nothing_listed=float(post.states[0]),
            guarding=post.guarding,
            fit=fit(model, evidence, post, rng),
            findings=tuple(observation.sign for observation in evidence.observations),
            unused=evidence.unused,
        ),
        post,
    )


def quantities(
    model: Model, kept: NDArray[np.intp] | None = None
) -> tuple[tuple[tuple[str, str], ...], Floats]:
    """Return what is concluded about, and which (kept) states hold it: (states, quantities) of 0 and 1.

    Every lesion at `ANY_LEVEL`, then every level of lesions that have more than one.
    """
    states = model.states
    members = states.members if kept is None else states.members[kept]
    by_slot = np.zeros((len(members), len(states.slots) + 1))
    by_slot[np.arange(len(members))[:, None], members] = 1.0
    by_lesion = np.zeros((len(members), len(states.lesions)))
    for slot, lesion in enumerate(states.lesion_of_slot):
        by_lesion[:, lesion] += by_slot[:, slot]
    graded = [i for i, slot in enumerate(states.slots) if len(model.lesions[slot[0]].levels) > 1]
    names = (*((lesion, ANY_LEVEL) for lesion in states.lesions), *(states.slots[i] for i in graded))
    return names, np.hstack([by_lesion, by_slot[:, graded]])
