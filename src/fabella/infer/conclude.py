"""One knee's findings to its conclusion.

What is told is the posterior averaged over the draws of the parameters, each of them exact: not knowing how
common a lesion is or how good a test makes one less sure, and the average says by how much.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fabella.anatomy import Side
from fabella.infer.evidence_of import KneeEvidence
from fabella.infer.explain import finding_weights
from fabella.infer.fit import fit
from fabella.infer.model import Model
from fabella.infer.posterior import Posterior, drawn_posteriors, likeliest, posterior
from fabella.infer.reasons import Reasons, weighed
from fabella.infer.result import ANY_LEVEL, Combination, KneeConclusion, LesionProbability

Floats = NDArray[np.float64]

COMBINATIONS = 8
INTERVAL = (0.05, 0.95)
DIGITS = 6
"""Of a probability that is told: draws are in single precision, and where it is worked out must not show."""


def conclude_knee(
    model: Model, evidence: KneeEvidence, side: Side, rng: np.random.Generator
) -> tuple[KneeConclusion, Posterior]:
    """Return the conclusion about one knee, and the posterior it tells.

    ``rng`` only serves the check of fit. Reasons, guarding and fit are those of the point values.
    """
    post = posterior(model, evidence)
    kept = post.kept()
    drawn, left_out = _beside_left_out(post, kept, drawn_posteriors(model, evidence, kept))
    states = post.states
    if evidence.observations or evidence.images or evidence.guarded:
        states[kept] = drawn.mean(axis=1, dtype=np.float64)
    before = model.prior(evidence.setting).probability
    *totals, remote = model.totals(np.stack([states, before, left_out]))
    probability, prior = ([told(chance) for chance in each.tolist()] for each in totals)
    low, high = np.quantile(model.membership[kept].T.astype(np.float32) @ drawn, INTERVAL, axis=1) + remote
    why = weighed(model, evidence, finding_weights(model, evidence, post))
    entries = []
    for i, ((lesion, level), grounding) in enumerate(zip(model.quantities, why.grounding(), strict=True)):
        entries.append(
            LesionProbability(
                lesion=lesion,
                level=level,
                prior=prior[i],
                probability=probability[i],
                low=min(told(low[i]), probability[i]),
                high=max(told(high[i]), probability[i]),
                reasons_for=Reasons(why, i, speaking_for=True),
                reasons_against=Reasons(why, i, speaking_for=False),
                grounding=grounding,
            )
        )
    entries.sort(key=lambda entry: (-entry.probability, entry.lesion, entry.level != ANY_LEVEL))
    best = likeliest(states, COMBINATIONS)
    return (
        KneeConclusion(
            side=side,
            symptomatic=evidence.setting.symptomatic,
            lesions=tuple(entries),
            combinations=tuple(
                Combination(lesions=model.states.names(state), probability=told(float(states[state])))
                for state in best
            ),
            nothing_listed=told(float(states[0])),
            guarding=told(post.guarding),
            fit=fit(model, evidence, post, rng),
            findings=tuple(dict.fromkeys(observation.recorded for observation in evidence.observations)),
            images=tuple(read.image for read in evidence.images if model.images.shown_by(read.image)),
            unused=evidence.unused,
        ),
        post.reweighted(states),
    )


def told(chance: float) -> float:
    """Return a probability (0..1) as it is told."""
    return float(f"{chance:.{DIGITS}g}")


def _beside_left_out(
    post: Posterior, kept: NDArray[np.intp], drawn: NDArray[np.float32]
) -> tuple[NDArray[np.float32], Floats]:
    """Make room among the drawn posteriors for the states left out, which keep their point value.

    Return the drawn posteriors of the kept states, and the posterior of every state left out, 0 for the kept.
    """
    left_out = post.states
    left_out[kept] = 0.0
    return drawn * np.float32(1 - left_out.sum()), left_out
