"""One measured figure, and how far it is from what was promised."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """Something measured.

    Parameters
    ----------
    part
        Which part of the run it belongs to.
    what
        What was measured, in words.
    measured
        The value in ``unit``; None when it could not be measured, and ``note`` says why.
    unit
        "s", "ms", "GiB", "GFLOP/s", "share" (of 1), "times" or "difference" (absolute, of probabilities).
    at_most, at_least
        What was promised, in the same unit; None for a figure that only explains another.
    note
        What a reader must know besides.
    """

    part: str
    what: str
    measured: float | None
    unit: str
    at_most: float | None = None
    at_least: float | None = None
    note: str = ""

    @property
    def limit(self) -> float | None:
        """Return what was promised, whichever way."""
        return self.at_least if self.at_most is None else self.at_most

    @property
    def ratio(self) -> float | None:
        """Return measured over promised; None without either."""
        if self.measured is None or self.limit is None:
            return None
        return self.measured / self.limit

    @property
    def met(self) -> bool | None:
        """Say whether the promise is kept; None when there is none, or nothing was measured."""
        if self.ratio is None:
            return None
        return self.ratio <= 1 if self.at_least is None else self.ratio >= 1
