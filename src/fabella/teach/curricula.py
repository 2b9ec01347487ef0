"""The sets of lesions to practise on (``curricula.toml``), and how they weight the states of a knee."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fabella.infer import Model
from fabella.packaged import packaged_table

AS_THEY_COME: Final = "as_they_come"


@dataclass(frozen=True, slots=True, kw_only=True)
class Curriculum:
    """A set of lesions to draw from.

    ``lesions`` are ids, or ``id:level`` for one level only, empty for all; a knee complained of has
    ``fewest`` to ``most`` of them; ``evenness`` is the power to which the chances are raised.
    """

    id: str
    name: str
    about: str
    evenness: float
    fewest: int
    most: int
    lesions: tuple[str, ...]


@cache
def load_curricula() -> Mapping[str, Curriculum]:
    """Return every curriculum by id, in the order of the data file."""
    return MappingProxyType(
        {
            row["id"]: Curriculum(
                id=row["id"],
                name=row["name"],
                about=row["about"],
                evenness=row["evenness"],
                fewest=row.get("fewest_lesions", 0 if not row["lesions"] else 1),
                most=row.get("most_lesions", 4),
                lesions=tuple(row["lesions"]),
            )
            for row in packaged_table("teach/data/curricula.toml")["curriculum"]
        }
    )


def weigh_states(
    model: Model, probability: NDArray[np.float64], curriculum: Curriculum
) -> NDArray[np.float64]:
    """Return the chance of each state under a curriculum (states,), all 0 when none of it can occur."""
    if curriculum.id == AS_THEY_COME:
        return probability
    allowed = _allowed(model, curriculum)
    weights = np.where(allowed, probability, 0.0) ** curriculum.evenness
    weights[~allowed | (probability <= 0)] = 0.0
    total = weights.sum()
    return np.asarray(weights / total if total > 0 else weights)


def _allowed(model: Model, curriculum: Curriculum) -> NDArray[np.bool_]:
    states = model.states
    inside = [
        not curriculum.lesions or lesion in curriculum.lesions or f"{lesion}:{level}" in curriculum.lesions
        for lesion, level in states.slots
    ]
    members = states.members
    present = (members < len(states.slots)).sum(axis=1)
    within = np.array([*inside, True])[members].all(axis=1)
    return np.asarray(within & (present >= curriculum.fewest) & (present <= curriculum.most))
