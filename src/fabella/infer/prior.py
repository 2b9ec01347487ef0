"""How probable each state of a knee is before anything is examined.

``log p(x) = sum of theta over the lesion levels of x + sum of w over its pairs + theta0 [x empty] - log Z``

theta is fitted so that every lesion level has its prevalence, theta0 so that a knee complained of seldom has
nothing to show, w once, in the population where the company of two lesions was published (`company`).
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fabella.anatomy import Lesions
from fabella.errors import FabellaError
from fabella.evidence.facts import Knowledge
from fabella.infer.company import OLD, kept, weights_of_company
from fabella.infer.context import INFECTED_AS_A_PROSTHESIS, UNHURT, Setting, rate_of, split_of
from fabella.infer.healing import healing_alone
from fabella.infer.scaling import Scaler
from fabella.infer.states import States
from fabella.infer.timing import shown_today

Floats = NDArray[np.float64]

UNEXPLAINED = 0.08
"""Share of knees complained of in which no listed lesion is found (judgement: common practice)."""
UNEXPLAINED_PROSTHESIS = 0.16
"""The same of a total prosthesis.

23 of 122 that hurt a year after the operation without infection or fracture (Lim 2017 Clin Orthop Surg
9:50-56), and 85 in a hundred have no infection (judgement).
"""
MISTOLD, MISTOLD_LATER = 0.2, 0.4
"""Share of mechanisms told or coded wrongly, or beside the point: of a fresh complaint and of an older one
(judgement)."""
UNHURT_MISTOLD = 0.5
"""That there was no injury is told wrongly half as often as which injury it was (judgement)."""
STRANGERS = -3.0
"""Weight of two injuries, overuse or growth lesions, or faults of a prosthesis, that share no company
(judgement).

They seldom explain one complaint together; everything else comes as it comes.
"""
_ONE_STORY = ("injury", "overuse", "growth", "prosthesis")
SPARE = 0.1
"""Lesions expected beyond one a knee complained of (judgement)."""
_RAISES = 8
_LEAST_ROOM = 0.02
_EASED, _EASINGS = 0.95, 9
"""More lesions may be expected than states hold together: then all are a little rarer, step by step.

No few of them tell so beforehand: those that exclude each other leave room in every such knee (six of 3,000
operated ones drawn, all with a partial prosthesis and another operation besides).
"""


@dataclass(frozen=True, slots=True, eq=False)
class Prior:
    """Probability of each state (states,), and the marginals it was fitted to (slots,)."""

    probability: Floats
    target: Floats


class PriorFitter:
    """Fits priors over one set of states; the weights of company are fitted once, when it is made."""

    def __init__(self, states: States, lesions: Lesions, knowledge: Knowledge) -> None:
        self._states = states
        self._lesions = lesions
        self._knowledge = knowledge
        self._scaler = Scaler(states)
        names = states.lesions
        self._excluded = [
            np.array([*map(names.index, lesions[name].excludes)], dtype=np.intp) for name in names
        ]
        strangers = self._strangers()
        company = weights_of_company(knowledge.company, states, strangers, self.target, UNEXPLAINED)
        self._interaction = {acuity: strangers + weight for acuity, weight in company.items()}

    def prior(self, setting: Setting) -> Prior:
        """Return the prior for one knee's circumstances."""
        target = self.target(setting)
        interaction = self._interaction_in(setting.acuity)
        alone = healing_alone(setting)
        empty = alone + (1 - alone) * _unexplained(setting) if setting.symptomatic else None
        for _ in range(_EASINGS):
            with suppress(FabellaError):
                return Prior(self._scaler.scale(interaction, target, empty)[0], target)
            target = target * _EASED
        return Prior(self._scaler.scale(interaction, target, empty)[0], target)

    def target(self, setting: Setting) -> Floats:
        """Return the prevalence of every slot here (0 where the age or a prosthesis forbids it)."""
        lesions = self._states.lesions
        rates = [self._knowledge.base_rates[lesion] for lesion in lesions]
        rate = np.array([rate_of(row, setting) for row in rates])
        if setting.operated_lately:  # what is commoner after an operation comes in the place of the rest
            usual = replace(setting, operated_lately=False)
            rate = _scale_odds(rate, sum(rate_of(row, usual) for row in rates))
        split = np.concatenate([split_of(row, setting) for row in rates])
        if setting.mechanism is not None and setting.symptomatic:
            told = told_of(self._states, self._knowledge, setting, setting.mechanism)
            share = np.bincount(self._states.lesion_of_slot, split * told)
            split = split * told / share[self._states.lesion_of_slot]
            rate = np.minimum(rate * share * rate.sum() / (rate @ share), 0.95)
        if setting.age_years is not None:
            ages = [self._lesions[lesion].ages_years for lesion in lesions]
            rate = np.where([low <= setting.age_years <= high for low, high in ages], rate, 0.0)
        if setting.replaced:
            rate = np.where([self._lesions[lesion].native for lesion in lesions], 0.0, rate)
        if setting.partly_replaced:
            rate = np.where([lesion in INFECTED_AS_A_PROSTHESIS for lesion in lesions], 0.0, rate)
        if setting.symptomatic:
            rate = self._explained(self._with_company(rate, setting.acuity), _unexplained(setting))
        of_slot = rate[self._states.lesion_of_slot] * (1 - healing_alone(setting))
        return np.where(of_slot > 0, of_slot * split, 0.0)

    def _interaction_in(self, acuity: str | None) -> Floats:
        """Return the fixed part of log p (states,): of an unknown acuity the mean of fresh and old."""
        if acuity is None:
            return (self._interaction[""] + self._interaction[OLD]) / 2
        return self._interaction[OLD if acuity == OLD else ""]

    def _with_company(self, rate: Floats, acuity: str | None) -> Floats:
        """Make every lesion at least as common as it is found with others."""
        index = self._states.lesions.index
        brought = np.zeros(len(rate))
        for pair in kept(self._knowledge.company, acuity):
            if pair.measure == "probability":
                brought[index(pair.also)] += rate[index(pair.given)] * pair.value
        return np.where(rate > 0, np.maximum(rate, brought), 0.0)

    def _explained(self, rate: Floats, unexplained: float) -> Floats:
        """Raise all odds together until a knee complained of has a lesion, as exclusion leaves room."""
        for _ in range(_RAISES):
            before, rate = rate, self._leave_room(_raise_odds(rate, 1 - unexplained + SPARE), unexplained)
            if np.array_equal(before, rate):
                break
        return rate

    def _leave_room(self, rate: Floats, unexplained: float) -> Floats:
        """Hold every lesion that excludes others down to what those and the unexplained knees leave over.

        It keeps `_LEAST_ROOM` even when that is nothing, and all else keeps as much: those have to give.
        """
        rate = rate.copy()
        for i, excluded in enumerate(self._excluded):
            taken = 1 - float(np.prod(1 - rate[excluded])) if len(excluded) else 0.0
            rate[i] = min(rate[i], max(1 - unexplained - taken, _LEAST_ROOM))
            rate[excluded] = np.minimum(rate[excluded], 1 - unexplained - rate[i] - _LEAST_ROOM)
        return rate

    def _strangers(self) -> Floats:
        """Return the weight of every state that is a pair of lesions with nothing in common."""
        lesions = [self._lesions[name] for name in self._states.lesions]
        apart = np.array(
            [
                [
                    not set(a.company) & set(b.company) and a.kind in _ONE_STORY and b.kind in _ONE_STORY
                    for b in lesions
                ]
                for a in lesions
            ]
        )
        absent = len(self._states.slots)
        first, second, third, *_ = self._states.members.T
        pair = (second < absent) & (third == absent)
        lesion = self._states.lesion_of_slot
        total = np.zeros(len(self._states))
        total[pair] = STRANGERS * apart[lesion[first[pair]], lesion[second[pair]]]
        return total


def _unexplained(setting: Setting) -> float:
    return UNEXPLAINED_PROSTHESIS if setting.replaced else UNEXPLAINED


def told_of(states: States, knowledge: Knowledge, setting: Setting, mechanism: str) -> Floats:
    """Return how often a mechanism is told of each slot, (slots,): of its level where that is known."""
    rows = [knowledge.mechanisms_of(lesion, level, setting.age_years) for lesion, level in states.slots]
    told = np.array([row[mechanism] for row in rows])
    if setting.hurt_today:
        told = told * shown_today(states)
    wrong = MISTOLD if setting.acuity == "acute" else MISTOLD_LATER
    if mechanism in UNHURT:
        wrong *= UNHURT_MISTOLD
    prosthesis = setting.replaced or setting.partly_replaced
    elsewhere = frozenset[str]() if prosthesis else knowledge.of_prostheses
    here = [lesion not in elsewhere for lesion, _ in states.slots]
    return np.asarray((1 - wrong) * told + wrong * told[here].mean())


def _raise_odds(rate: Floats, least: float) -> Floats:
    """Multiply all odds by one factor so that the rates add up to at least ``least``."""
    return rate if rate.sum() >= least else _scale_odds(rate, least)


def _scale_odds(rate: Floats, least: float) -> Floats:
    """Multiply all odds by one factor, found by bisection, so that the rates add up to ``least``."""
    odds = rate / (1 - rate)
    low, high = -40.0, 40.0
    for _ in range(60):
        middle = (low + high) / 2
        total = (odds * np.exp(middle) / (1 + odds * np.exp(middle))).sum()
        low, high = (middle, high) if total < least else (low, middle)
    raised = odds * np.exp(high)
    return np.asarray(raised / (1 + raised))
