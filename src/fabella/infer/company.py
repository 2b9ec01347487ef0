"""The company that lesions keep: one weight for each published pair, fitted where it was published.

A pair may keep another company in old complaints than in fresh ones: menisci tear in knees that have long
been without an anterior cruciate ligament. For old complaints what was published of those is fitted anew.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from fabella.evidence.facts import Company
from fabella.infer.context import REFERENCES, Setting
from fabella.infer.scaling import Scaler
from fabella.infer.states import States

Floats = NDArray[np.float64]

OLD = "chronic"
_SWEEPS = 3


def kept(company: Sequence[Company], acuity: str | None) -> list[Company]:
    """Return the rows that hold in an acuity: in old complaints some take the place of others."""
    if acuity != OLD:
        return [pair for pair in company if not pair.acuity]
    own = {(pair.given, pair.also) for pair in company if pair.acuity}
    return [pair for pair in company if pair.acuity or (pair.given, pair.also) not in own]


def weights_of_company(
    company: Sequence[Company],
    states: States,
    offset: Floats,
    target: Callable[[Setting], Floats],
    unexplained: float,
) -> Mapping[str, Floats]:
    """Return the sum of the weights over the pairs of each state (states,): of fresh complaints, "", and old.

    Parameters
    ----------
    offset
        (states,) the part of log p that is fixed.
    target
        What the prevalence of every slot is in a population, (slots,).
    unexplained
        Share of knees complained of in which nothing is found.
    """
    fitter = _Fitter(states, target, unexplained)
    fresh, old = kept(company, None), kept(company, OLD)
    weight = fitter.fit(fresh, offset, {})
    later = [pair for pair in old if REFERENCES[pair.reference].acuity == OLD]
    staying = {pair: own for pair, own in weight.items() if pair in old and pair not in later}
    weight_later = {**staying, **fitter.fit(later, offset, staying)}
    return {"": fitter.total(weight), OLD: fitter.total(weight_later)}


class _Fitter:
    """Fits the weights of pairs, each reference population in turn."""

    def __init__(self, states: States, target: Callable[[Setting], Floats], unexplained: float) -> None:
        self._states = states
        self._target = target
        self._unexplained = unexplained

    def total(self, weight: Mapping[Company, float]) -> Floats:
        """Return the sum of weights over the pairs of each state (states,)."""
        total = np.zeros(len(self._states))
        for pair, own in weight.items():
            total += own * self._both(pair)
        return total

    def fit(
        self, pairs: Sequence[Company], offset: Floats, others: Mapping[Company, float]
    ) -> dict[Company, float]:
        """Return a weight for each pair, beside those of ``others`` that stay."""
        populations = [self._population(name, pairs) for name in dict.fromkeys(p.reference for p in pairs)]
        weight = {**others, **dict.fromkeys(pairs, 0.0)}
        start: dict[str, Floats] = {}
        for _ in range(_SWEEPS):
            for name, own, scaler, target, wanted in populations:
                rest = self.total({pair: each for pair, each in weight.items() if pair not in own})
                _, found = scaler.scale(
                    offset + rest, target, self._unexplained, wanted, start=start.get(name)
                )
                start[name] = found
                weight.update(zip(own, found[scaler.size :].tolist(), strict=True))
        return {pair: weight[pair] for pair in pairs}

    def _population(
        self, name: str, pairs: Sequence[Company]
    ) -> tuple[str, list[Company], Scaler, Floats, list[float]]:
        """Return a reference population: its pairs, marginals (slots,) and the wanted probabilities."""
        own = [pair for pair in pairs if pair.reference == name]
        target = self._target(REFERENCES[name])
        rate = dict(zip(self._states.lesions, np.bincount(self._states.lesion_of_slot, target), strict=True))
        both = np.array([self._both(pair) for pair in own], dtype=float)
        wanted = [_together(pair, rate[pair.given], rate[pair.also]) for pair in own]
        return name, own, Scaler(self._states, both), target, wanted

    def _both(self, pair: Company) -> NDArray[np.bool_]:
        return self._states.having(pair.given) & self._states.having(pair.also)


def _together(pair: Company, given: float, also: float) -> float:
    """Return the probability of both lesions from their rates and their published company.

    From an odds ratio r by the root of Plackett: p = (s - sqrt(s^2 - 4 r (r - 1) a b)) / (2 (r - 1)), where
    s = 1 + (a + b)(r - 1).
    """
    if pair.measure == "probability":
        return given * pair.value
    spread = 1 + (given + also) * (pair.value - 1)
    root = math.sqrt(spread**2 - 4 * pair.value * (pair.value - 1) * given * also)
    return (spread - root) / (2 * (pair.value - 1))
