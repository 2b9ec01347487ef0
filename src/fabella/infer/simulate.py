"""Forwards: from the prior, or given lesions, to what an examiner would report."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fabella.errors import InputError, Problem, suggestion
from fabella.infer.context import Setting
from fabella.infer.model import Model
from fabella.infer.posterior import GUARDING_SEEN

UNTESTABLE = -1

Slots = Sequence[tuple[str, str]]


@dataclass(frozen=True, slots=True, eq=False)
class Simulated:
    """``n`` drawn knees.

    ``state`` (n,) position among the states; ``guarding`` (n,) whether the knee guards; ``reports`` one (n,)
    array of reported levels a sign, 0 = normal, `UNTESTABLE` where guarding prevented a stress test.
    """

    state: NDArray[np.intp]
    guarding: NDArray[np.bool_]
    reports: Mapping[str, NDArray[np.intp]]


def simulate_knees(
    model: Model,
    setting: Setting,
    signs: Mapping[str, int],
    n: int,
    rng: np.random.Generator,
    *,
    lesions: Slots = (),
    stress_tests: frozenset[str] = frozenset(),
) -> Simulated:
    """Draw knees and what an examiner reports of them.

    Parameters
    ----------
    signs
        Signs to examine and the number of levels above normal of each.
    lesions
        (lesion, level or "" for any) pairs that every knee must have; none draws from the prior. The rest of
        the knee is drawn from the prior given these.
    stress_tests
        Signs that a guarding knee may prevent (all of one knee's together).

    Raises
    ------
    InputError
        When no state of a knee in these circumstances holds the lesions.
    """
    probability = model.prior(setting).probability.copy()
    for lesion, level in lesions:
        probability[~model.states.having(lesion, level)] = 0.0
    if probability.sum() <= 0:
        raise InputError([_impossible(model, lesions)])
    state = rng.choice(len(probability), size=n, p=probability / probability.sum())
    guarding = rng.random(n) < model.guarding(setting)[state]
    reports: dict[str, NDArray[np.intp]] = {}
    names = tuple(signs)
    for group, own in model.by_group(names).items():
        table = model.table(setting, group)
        joint = draw_a_row(table.joint[table.configuration[state]], rng)
        for sign in (names[i] for i in own):
            outcome = model.outcome(sign, setting, signs[sign]).point
            reports[sign] = draw_a_row(outcome[guarding.astype(int), joint], rng)
    prevented = rng.random(n) < np.where(guarding, GUARDING_SEEN[1], GUARDING_SEEN[0])
    for sign in stress_tests & reports.keys():
        reports[sign] = np.where(prevented, UNTESTABLE, reports[sign])
    return Simulated(state, guarding, {sign: reports[sign] for sign in signs})


def draw_a_row(
    chances: NDArray[np.float64], rng: np.random.Generator, *, rows: NDArray[np.intp] | slice = slice(None)
) -> NDArray[np.intp]:
    """Return one of the columns of every row, or of ``rows``, drawn by the chances (rows, columns) in it."""
    edges = np.cumsum(chances, axis=1)[rows, :-1]
    return np.asarray((rng.random((len(edges), 1)) > edges).sum(axis=1), dtype=np.intp)


def _impossible(model: Model, lesions: Slots) -> Problem:
    wanted = " + ".join(f"{lesion}:{level}" if level else lesion for lesion, level in lesions)
    unknown = next((lesion for lesion, _ in lesions if lesion not in model.lesions), None)
    if unknown is not None:
        return Problem(
            place="lesion", value=unknown, says="is unknown", remedy=suggestion(unknown, model.lesions)
        )
    return Problem(
        place="lesion",
        value=wanted,
        says="cannot be in one knee at this age, or not together",
        remedy="leave one out, or check the level names and the age",
    )
