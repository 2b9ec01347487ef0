"""What a sign says by itself in the compiled model: how often a lesion brings it, and how far it tells."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from math import log2

import numpy as np
from numpy.typing import NDArray

from fabella.infer.context import Setting
from fabella.infer.model import Model, load_model
from fabella.stats.threads import one_thread

NOTHING = ""
"""Stands in the place of a lesion where nothing listed is present."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Alone:
    """How often a sign is called abnormal in a knee with one lesion at one level and nothing else.

    ``lesion`` is `NOTHING`, with no level, for a knee with nothing listed; ``chance`` 0 to 1, guarding
    averaged out.
    """

    lesion: str
    level: str
    chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Telling:
    """How far one sign tells one lesion from none, before anything else is known of a painful knee.

    Or of a painful prosthesis, where only that can have the lesion. ``present`` and ``absent`` are the
    chances (0 to 1) that it is called abnormal with the lesion, at any level and in its usual company, and
    without it.
    """

    sign: str
    lesion: str
    present: float
    absent: float

    @property
    def bits_for(self) -> float:
        """Change of the log2 odds of the lesion when the sign is abnormal."""
        return log2(self.present / self.absent)

    @property
    def bits_against(self) -> float:
        """Change of the log2 odds of the lesion when the sign is normal; negative when it speaks against."""
        return log2((1 - self.present) / (1 - self.absent))


@cache
def alone(sign: str) -> tuple[Alone, ...]:
    """Return how often one lesion alone brings a sign, acuity and setting unknown: nothing listed first.

    Empty for a sign of which the model knows no meaning.
    """
    model = load_model()
    if sign not in model.knowledge.indicators:
        return ()
    with one_thread():
        states, called = model.states, model.called(sign, Setting())
    nothing = Alone(lesion=NOTHING, level="", chance=float(called[0]))
    single = called[states.alone()].tolist()
    return nothing, *(
        Alone(lesion=lesion, level=level, chance=chance)
        for (lesion, level), chance in zip(states.slots, single, strict=True)
    )


@cache
def tellings() -> tuple[Telling, ...]:
    """Return how far every sign of the model tells every lesion, setting, acuity and age unknown."""
    model = load_model()
    with one_thread():
        return tuple(_tellings(model))


def _tellings(model: Model) -> Iterator[Telling]:
    of_prostheses = np.isin(model.states.lesions, list(model.knowledge.of_prostheses))
    yield from _tellings_of(model, Setting(), np.flatnonzero(~of_prostheses))
    yield from _tellings_of(model, Setting(replaced=True), np.flatnonzero(of_prostheses))


def _tellings_of(model: Model, setting: Setting, own: NDArray[np.intp]) -> Iterator[Telling]:
    lesions = [model.states.lesions[i] for i in own]
    membership = model.membership[:, own]
    prior = model.prior(setting).probability
    share = prior @ membership
    for sign in model.knowledge.signs:
        if sign in setting.silent:
            continue
        called = model.called(sign, setting)
        both = (prior * called) @ membership
        present, absent = both / share, (prior @ called - both) / (1 - share)
        for lesion, yes, no in zip(lesions, present, absent, strict=True):
            yield Telling(sign=sign, lesion=lesion, present=float(yes), absent=float(no))
