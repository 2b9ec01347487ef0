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
    membership = model.membership[kept]
    probability = post.states @ model.membership
    prior = model.prior(evidence.setting).probability @ model.membership
    drawn = membership.T.astype(np.float32) @ drawn_posteriors(model, evidence, kept)
    low, high = np.quantile(drawn, INTERVAL, axis=1)
    weights = finding_weights(model, evidence, post)
    grounds = Grounds(model, evidence)
    entries = []
    for i, (lesion, level) in enumerate(model.quantities):
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
