"""How unsure the prevalences are: drawn shifts of the log odds of every lesion."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from fabella.evidence.facts import Knowledge
from fabella.evidence.source import Provenance
from fabella.infer.states import States

RATE_SD = {Provenance.PUBLISHED: 0.2, Provenance.DERIVED: 0.3, Provenance.JUDGEMENT: 0.8}
"""Standard deviation of the log odds of a prevalence, by what it rests on.

A judged one is no surer than published ones agree: the log odds that different sources in the tables give one
lesion in one setting scatter with 0.8 (a test works it out). The others are judgement."""


def drawn_shifts(states: States, knowledge: Knowledge, *, draws: int, seed: int) -> NDArray[np.float32]:
    """Return drawn shifts of the log odds of every lesion, (slots + 1, draws), the last for no lesion.

    The mean of the odds stays what it is: uncertainty alone makes no lesion commoner. Each lesion has one
    draw from every equal part of its distribution, in an order of its own, which no other lesion changes; all
    its levels move together.
    """
    normal = np.array([*map(NormalDist().inv_cdf, (np.arange(draws) + 0.5) / draws)])
    shift = np.empty((len(states.lesions), draws))
    for own, lesion in zip(shift, states.lesions, strict=True):
        order = np.random.default_rng([seed, *lesion.encode()]).permutation(draws)
        drawn = normal[order] * RATE_SD[knowledge.base_rates[lesion].provenance]
        own[:] = drawn - np.log(np.exp(drawn).mean())
    return np.vstack([shift[states.lesion_of_slot], np.zeros(draws)]).astype(np.float32)
