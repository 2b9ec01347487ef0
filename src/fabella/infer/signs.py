"""One sign as the model uses it, and the chances of each report of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from fabella.evidence.facts import AccuracyUsed, Indicator
from fabella.infer.indicators import Response, outcome_table
from fabella.infer.sound import called_seldom

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Sign:
    """One sign as the model uses it: its indicator, the fitted response, and what that rests on.

    ``draw`` makes the drawn responses: of the signs that are looked for only, and those are few.
    """

    indicator: Indicator
    response: Response
    draw: Callable[[], Response]
    used: AccuracyUsed | None
    reached: tuple[float, float] | None

    @cached_property
    def drawn(self) -> Response:
        """The response under every draw."""
        return self.draw()

    def without_complaint(self) -> Sign:
        """Return the sign as it is called in a knee that nobody complains of."""
        return replace(self, response=called_seldom(self.response), draw=lambda: called_seldom(self.drawn))

    @property
    def provenance(self) -> str:
        """Return "published" when fitted to a published accuracy, else what the indicator rests on."""
        return (self.used or self.indicator).provenance.value

    @property
    def source(self) -> str:
        """Return the source of the sign's accuracy."""
        return (self.used or self.indicator).source


@dataclass(frozen=True, eq=False)
class Outcome:
    """Chances of each report of a sign.

    ``point`` (2, joint levels, grades + 1) without and with guarding; ``guards`` says whether guarding
    matters to it; ``draw`` makes the drawn ones, of what was found only.
    """

    point: Floats
    guards: bool
    draw: Callable[[], Floats]

    @cached_property
    def drawn(self) -> NDArray[np.float32]:
        """The chances under every draw, (2, grades + 1, joint levels, draws)."""
        return np.ascontiguousarray(self.draw().transpose(0, 3, 2, 1), dtype=np.float32)


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
        guards=sign.indicator.guard_loss > 0,
        draw=lambda: tables(sign.drawn),
    )
