"""The clinic's chain, step by step and quickly: the same grading, model and advice as a workup.

A workup averages over the uncertainty of the published numbers, which takes longest; between the first and
the last step the point values are told.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from fabella.advise import Advice, advise
from fabella.advise.forbidden import contraindications
from fabella.anatomy import Side
from fabella.evidence import Edition, load_edition
from fabella.flags import Alarm, cannot_wait
from fabella.grade import grade
from fabella.infer import KneeEvidence, Model, Posterior, knees, load_model, posterior
from fabella.protocol import Protocol, load_protocol
from fabella.record import Examination
from fabella.stats.threads import one_thread


@dataclass(frozen=True, slots=True, kw_only=True)
class Thought:
    """What an examination amounts to for the knee complained of."""

    examination: Examination
    side: Side
    evidence: KneeEvidence
    posterior: Posterior
    chances: Mapping[str, float]
    """Probability (0..1) of each lesion at any level."""
    nothing: float
    """Probability that no lesion of the model is there."""


class Reasoner:
    """Grades, concludes and advises on examinations of practice patients."""

    def __init__(
        self, *, model: Model | None = None, protocol: Protocol | None = None, edition: Edition | None = None
    ) -> None:
        self.model = model or load_model()
        self.protocol = protocol or load_protocol()
        self.edition = edition or load_edition()
        self._posterior = lru_cache(maxsize=64)(lambda evidence: posterior(self.model, evidence))

    def think(self, examination: Examination) -> Thought:
        """Return what an examination says about the (first) knee complained of."""
        side = examination.context.complained_of[0]
        graded = grade(examination, edition=self.edition, protocol=self.protocol)
        evidence = knees(examination, graded, protocol=self.protocol, knowledge=self.model.knowledge)[side]
        with one_thread():
            return self.weigh(examination, evidence, side)

    def weigh(self, examination: Examination, evidence: KneeEvidence, side: Side) -> Thought:
        """Return what the evidence of one knee amounts to."""
        found = self._posterior(evidence)  # what is found on the other knee often changes nothing
        lesions = self.model.states.lesions
        chances = self.model.totals(found.states)[: len(lesions)]
        return Thought(
            examination=examination,
            side=side,
            evidence=evidence,
            posterior=found,
            chances=dict(zip(lesions, np.clip(chances, 0.0, 1.0).tolist(), strict=True)),
            nothing=float(found.states[0]),
        )

    def alarms(self, examination: Examination, *, sides: Collection[Side] = tuple(Side)) -> tuple[Alarm, ...]:
        """Return what cannot wait, judged as everywhere."""
        return cannot_wait(examination, protocol=self.protocol, sides=sides)

    def advice(self, thought: Thought) -> Advice:
        """Return what to do next on the knee complained of."""
        with one_thread():
            return advise(
                self.model,
                {thought.side: thought.evidence},
                {thought.side: thought.posterior},
                examination=thought.examination,
                alarms=self.alarms(thought.examination, sides=(thought.side,)),
                protocol=self.protocol,
            )

    def forbidden(self, thought: Thought) -> frozenset[str]:
        """Return the contraindications that this examination gives reason to see."""
        examination = thought.examination
        alarms = self.alarms(examination, sides=(thought.side,))
        chances = self.model.chances(thought.posterior.states)
        return contraindications(chances, examination, alarms, thought.side)
