"""What the model says examiners would find, exactly: sums over states, no dice."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from fabella.infer import Model, Setting

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
Called: TypeAlias = Mapping[str, bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reached:
    """How well a rule told the target in one population [-]."""

    sensitivity: float
    specificity: float
    prevalence: float

    @property
    def positive(self) -> float:
        """Return LR+."""
        return self.sensitivity / (1 - self.specificity)

    @property
    def negative(self) -> float:
        """Return LR-."""
        return (1 - self.sensitivity) / self.specificity

    def __str__(self) -> str:
        return (
            f"sensitivity {self.sensitivity:.3f}, specificity {self.specificity:.3f}, "
            f"LR+ {self.positive:.2f}, LR- {self.negative:.2f}, prevalence {self.prevalence:.3f}"
        )


def chance(
    model: Model,
    setting: Setting,
    signs: Sequence[str],
    rule: Callable[[Called], bool] | None = None,
    *,
    guarding: bool | None = None,
) -> Floats:
    """Return in each state the chance (states,) that a rule over abnormal signs is fulfilled.

    Without a rule all signs must be abnormal. ``guarding`` forces the knee to guard or not; None leaves it to
    the state.
    """
    rule = rule or (lambda called: all(called.values()))
    groups: dict[tuple[str, ...], list[str]] = {}
    for sign in signs:
        groups.setdefault(model.group_of(sign), []).append(sign)
    tables = [_patterns(model, setting, group, own) for group, own in groups.items()]
    total = np.zeros((2, len(model.states)))
    for choice in product(*(table.items() for table in tables)):
        called = {sign: value for pattern, _ in choice for sign, value in pattern}
        if rule(called):
            part = np.ones_like(total)
            for _, likely in choice:
                part *= likely
            total += part
    return _over_guarding(model, setting, total, guarding)


def _patterns(
    model: Model, setting: Setting, group: tuple[str, ...], signs: Sequence[str]
) -> dict[tuple[tuple[str, bool], ...], Floats]:
    table = model.table(setting, group)
    normal = {sign: model.outcome(sign, setting, 1).point[..., 0] for sign in signs}
    found = {}
    for pattern in product((False, True), repeat=len(signs)):
        likelihood = np.ones((2, table.joint.shape[1]))
        for sign, abnormal in zip(signs, pattern, strict=True):
            likelihood = likelihood * (1 - normal[sign] if abnormal else normal[sign])
        by_configuration = likelihood @ table.joint.T
        found[tuple(zip(signs, pattern, strict=True))] = by_configuration[:, table.configuration]
    return found


def _over_guarding(model: Model, setting: Setting, chances: Floats, guarding: bool | None) -> Floats:
    if guarding is not None:
        return np.asarray(chances[int(guarding)])
    guards = model.guarding(setting)
    return np.asarray(chances[0] * (1 - guards) + chances[1] * guards)


def having(model: Model, *lesions: str) -> Mask:
    """Return the states that hold any of the lesions, each "lesion" or "lesion:level"."""
    held = [model.states.having(*text.partition(":")[::2]) for text in lesions]
    return np.asarray(np.any(held, axis=0))


def share(weights: Floats, of: Mask | Floats) -> float:
    """Return the weighted share of a mask, or the weighted mean of a chance."""
    return float(weights @ of / weights.sum())


def accuracy(
    model: Model, setting: Setting, positive: Floats, target: Mask, among: Mask | Floats | None = None
) -> Reached:
    """Return how well a chance of being positive (states,) tells the target, among some of the knees.

    ``among``: which states take part, or the chance with which each does.
    """
    weights = model.prior(setting).probability * (1.0 if among is None else among)
    return Reached(
        sensitivity=share(weights[target], positive[target]),
        specificity=1 - share(weights[~target], positive[~target]),
        prevalence=share(weights, target),
    )


def state_of(model: Model, *slots: tuple[str, str]) -> int:
    """Return the position of the state that holds exactly these lesions at these levels."""
    wanted = frozenset(slots)
    return next(i for i in range(len(model.states)) if frozenset(model.states.names(i)) == wanted)


def show(rows: Sequence[str]) -> str:
    """Print a table (pytest shows it with -s or when the test fails) and return it."""
    table = "\n".join(["", *rows])
    print(table)  # noqa: T201 - a test has no other way to show what it compared
    return table
