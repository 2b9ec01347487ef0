"""One knee drawn from the model: its state, whether it guards, and the level that every sign shows."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fabella.anatomy import Side
from fabella.grade import levels_of
from fabella.infer import Model
from fabella.infer import Setting as Circumstances
from fabella.infer.posterior import GUARDING_SEEN
from fabella.protocol import Protocol
from fabella.teach.dice import Dice
from fabella.teach.together import settle


@dataclass(frozen=True, slots=True, repr=False)
class DrawnKnee:
    """A state by its position, and what each sign shows relaxed and guarded (0 = normal)."""

    state: int
    guarding: bool
    prevented: bool
    relaxed: Mapping[str, int]
    guarded: Mapping[str, int]

    def __repr__(self) -> str:
        return "DrawnKnee(hidden)"


def pick_state(probability: NDArray[np.float64], at: float) -> int:
    """Return the state at a fraction (0 to 1) of the summed chances, which need not add up to 1."""
    sums = np.cumsum(probability)
    return int(np.searchsorted(sums, at * sums[-1], side="right"))


def draw_knee(
    model: Model,
    circumstances: Circumstances,
    state: int,
    side: Side,
    dice: Dice,
    *,
    protocol: Protocol,
    signs: Collection[str],
) -> DrawnKnee:
    """Draw what examining one knee shows.

    Parameters
    ----------
    state
        Position among the states of the model.
    signs
        Which signs to draw; all must have a meaning in the model.
    """
    guarding = dice.happens(float(model.guarding(circumstances)[state]), side, "guarding")
    sore = circumstances.symptomatic or guarding  # nobody holds a painless knee tight
    prevented = sore and dice.happens(GUARDING_SEEN[guarding], side, "prevented")
    joint: dict[tuple[str, ...], int] = {}

    def drawn(name: str, grades: int) -> list[int]:
        group = model.group_of(name)
        if group not in joint:
            table = model.table(circumstances, group)
            shares = table.joint[table.configuration[state]].tolist()
            joint[group] = dice.pick(shares, side, "is", group[0])
        point = model.outcome(name, circumstances, grades).point
        return [dice.pick(point[tight, joint[group]].tolist(), side, name) for tight in (0, 1)]

    relaxed: dict[str, int] = {}
    guarded: dict[str, int] = {}
    for name in signs:
        levels = levels_of(protocol.sign(name))
        if aspects := model.knowledge.aspects.get(name):
            seen = {aspect: drawn(aspect, 1) for aspect in aspects}
            relaxed[name], guarded[name] = (
                _level(levels, aspects, {aspect for aspect, shown in seen.items() if shown[tight]})
                for tight in (0, 1)
            )
        else:
            relaxed[name], guarded[name] = drawn(name, len(levels) - 1)
    for shown in (relaxed, guarded):
        settle(shown)
    return DrawnKnee(state, guarding, prevented, relaxed, guarded)


def _level(levels: Sequence[str], aspects: Mapping[str, Sequence[str]], shown: set[str]) -> int:
    """Return the last level all of whose aspects show, 0 when none does."""
    said = ({aspect for aspect, yes in aspects.items() if level in yes} for level in levels)
    return max((k for k, own in enumerate(said) if own and own <= shown), default=0)
