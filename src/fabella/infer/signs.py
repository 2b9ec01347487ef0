"""One sign as the model uses it, and the chances of each report of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fabella.evidence.knowledge import AccuracyUsed, Indicator
from fabella.infer.indicators import Response, outcome_table

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Sign:
    """One sign as the model uses it: its indicator, the fitted response, and what that rests on."""

    indicator: Indicator
    response: Response
    drawn: Response
    used: AccuracyUsed | None
    reached: tuple[float, float] | None

    @property
    def provenance(self) -> str:
        """Return "published" when fitted to a published accuracy, else what the indicator rests on."""
        return (self.used or self.indicator).provenance.value

    @property
    def source(self) -> str:
        """Return the source of the sign's accuracy."""
        return (self.used or self.indicator).source


@dataclass(frozen=True, slots=True, eq=False)
class Outcome:
    """Chances of each report of a sign.

    ``point`` (2, joint levels, grades + 1) without and with guarding; ``drawn`` (2, grades + 1, joint levels,
    draws); ``guards`` says whether guarding matters to it.
    """

    point: Floats
    drawn: NDArray[np.float32]
    guards: bool


def outcome_of(sign: Sign, group: Sequence[str], levels: Sequence[int], grades: int) -> Outcome:
    """Return the chances of each report of a sign that has ``grades`` levels above normal.

    ``group`` and ``levels``: the manifestations considered together with those that it shows, and the number
    of levels above nothing of each.
    """

    def tables(response: Response) -> Floats:
        return np.stack(
            [
                outcome_table(sign.indicator, group, levels, grades, response, guarded=guarded)
                for guarded in (False, True)
            ]
        )

    return Outcome(
        point=tables(sign.response),
        drawn=np.ascontiguousarray(tables(sign.drawn).transpose(0, 3, 2, 1), dtype=np.float32),
        guards=sign.indicator.guard_loss > 0,
    )
