"""One knee drawn from the model: its state, whether it guards, and the level that every sign shows."""

from __future__ import annotations

from collections.abc import Collection, Mapping
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

EXCLUSIVE = (
    ("varus_alignment", "valgus_alignment"),
    ("hindfoot_varus", "hindfoot_valgus"),
    ("flat_foot", "high_arch"),
    ("high_riding_patella", "low_riding_patella"),
    ("varus_thrust", "valgus_thrust"),
    ("passive_extension", "recurvatum"),
    ("passive_extension", "standing_recurvatum"),
    ("standing_fixed_flexion", "standing_recurvatum"),
    ("standing_fixed_flexion", "recurvatum"),
)
"""Of these only the first can be seen when both were drawn (a matter of geometry)."""

_NEEDS = (("mass_size", ("palpable_mass",)), ("mass_firm_fixed", ("palpable_mass",)))
"""What can only be judged when something else is there."""


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
    acuity, setting = circumstances.acuity, circumstances.setting
    guarding = dice.happens(float(model.guarding(acuity)[state]), side, "guarding")
    sore = circumstances.symptomatic or guarding  # nobody holds a painless knee tight
    prevented = sore and dice.happens(GUARDING_SEEN[guarding], side, "prevented")
    joint: dict[tuple[str, ...], int] = {}
    relaxed: dict[str, int] = {}
    guarded: dict[str, int] = {}
    for name in signs:
        group = model.group_of(name)
        if group not in joint:
            table = model.table(acuity, group)
            shares = table.joint[table.configuration[state]].tolist()
            joint[group] = dice.pick(shares, side, "is", group[0])
        grades = len(levels_of(protocol.sign(name))) - 1
        point = model.outcome(name, setting, grades).point
        relaxed[name] = dice.pick(point[0, joint[group]].tolist(), side, name)
        guarded[name] = dice.pick(point[1, joint[group]].tolist(), side, name)
    for levels in (relaxed, guarded):
        _settle(levels)
    return DrawnKnee(state, guarding, prevented, relaxed, guarded)


def _settle(levels: dict[str, int]) -> None:
    """Take back what cannot be together, and what needs something that is not there."""
    for first, second in EXCLUSIVE:
        if levels.get(first) and levels.get(second):
            levels[second] = 0
    for sign, needs in _NEEDS:
        if levels.get(sign) and not any(levels.get(each) for each in needs):
            levels[sign] = 0
