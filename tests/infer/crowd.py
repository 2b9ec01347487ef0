"""Crowds of simulated knees and what is concluded about each: drawn and computed once a test run."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from fabella.grade import levels_of
from fabella.infer import ANY_LEVEL, Setting, load_model
from fabella.infer.cohort import Cohort, CohortPosterior
from fabella.infer.simulate import Simulated, simulate_knees
from fabella.protocol import load_protocol
from tests.infer.forwards import Mask, Reached, having, share

KNEES = 5000
ENRICHED = 1500
SEED = 5
WHOLE = (
    "pop_heard",
    "giving_way",
    "locking",
    "swelling_onset_hours",
    "effusion",
    "swelling_visible",
    "lachman",
    "anterior_drawer",
    "pivot_shift",
    "lachman_end_point",
    "posterior_drawer",
    "posterior_sag",
    "quadriceps_active",
    "dial_30",
    "valgus_stress_30",
    "valgus_stress_0",
    "varus_stress_30",
    "joint_line_tenderness_medial",
    "joint_line_tenderness_lateral",
    "mcmurray_medial",
    "mcmurray_lateral",
    "passive_extension",
    "passive_flexion",
    "patellar_apprehension",
    "patellar_grind",
    "crepitus",
    "tenderness_mcl",
    "straight_leg_raise",
)
"""A consultant's examination of an injured knee: history, effusion, ligaments, menisci, patella."""


def grades(sign: str) -> int:
    """How many levels above normal the protocol gives a sign."""
    return len(levels_of(load_protocol().sign(sign))) - 1


@dataclass(frozen=True, slots=True, eq=False)
class Crowd:
    """Knees of one kind of clinic: what they have, what was found, what was concluded."""

    drawn: Simulated
    concluded: NDArray[np.float32]

    def probability(self, lesion: str) -> NDArray[np.float64]:
        """Return what was concluded about a lesion at any level (knees,)."""
        return np.asarray(self.concluded[:, load_model().quantities.index((lesion, ANY_LEVEL))], dtype=float)

    def has(self, *lesions: str) -> Mask:
        """Say which knees have any of the lesions at any level."""
        states = load_model().states
        held = np.any([states.having(lesion) for lesion in lesions], axis=0)
        return np.asarray(held[self.drawn.state])


@cache
def crowd(
    setting: Setting, signs: tuple[str, ...] = WHOLE, *, all_with: str = "", knees: int = KNEES
) -> Crowd:
    """Draw knees from the prior (all with one lesion, if named), examine them, and conclude about each."""
    model = load_model()
    examined = {sign: grades(sign) for sign in signs}
    lesions = [(all_with, "")] if all_with else []
    rng = np.random.default_rng([SEED, knees])
    drawn = simulate_knees(model, setting, examined, knees, rng, lesions=lesions)
    posterior = CohortPosterior(model, Cohort(setting, drawn.reports, examined))
    return Crowd(drawn, np.concatenate([block for _, block in posterior.blocks()]))


def judged(setting: Setting, *lesions: str, prevalence: float) -> Reached:
    """Return how well calling a lesion present from even odds on tells it, after the whole examination.

    ``prevalence`` is that of the study whose examiners are compared: they knew how common the lesion was
    among their knees, so that its odds are moved by it. Of several lesions the likeliest one counts.
    """
    own = share(load_model().prior(setting).probability, having(load_model(), *lesions))
    moved = prevalence / (1 - prevalence) * (1 - own) / own
    called = []
    for seen, present in (
        *((crowd(setting, all_with=lesion, knees=ENRICHED), True) for lesion in lesions),
        (crowd(setting), False),
    ):
        p = np.max([seen.probability(lesion) for lesion in lesions], axis=0)
        these = seen.has(*lesions) == present
        called.append((p * moved >= 1 - p)[these].mean())
    *sensitivities, false_alarms = called
    shares = [share(load_model().prior(setting).probability, having(load_model(), x)) for x in lesions]
    return Reached(
        sensitivity=float(np.average(sensitivities, weights=shares)),
        specificity=float(1 - false_alarms),
        prevalence=prevalence,
    )


def found_at(setting: Setting, lesion: str, *, specificity: float) -> float:
    """Return the sensitivity of examiners who call a lesion as readily as leaves this specificity."""
    sound = crowd(setting)
    limit = np.quantile(sound.probability(lesion)[~sound.has(lesion)], specificity)
    return float((crowd(setting, all_with=lesion, knees=ENRICHED).probability(lesion) > limit).mean())
