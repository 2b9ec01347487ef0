"""What the bell cut off: items never reached, stations timed out, and how long candidates took.

An item is never reached if the examiner says so, or if it is not done, or without a mark, with nothing done
after it, on a sheet that timed out. It is told apart from an item omitted; both score by their marks.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import nan

import numpy as np
from numpy.typing import NDArray

from fabella.assess.blueprint import item_table
from fabella.assess.marks import UNHELD, Marks, Numbers, State


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemReach:
    """How often an item was never reached, or omitted on its own; shares of the sheets held [-]."""

    station: str
    item: str
    never_reached: float
    omitted: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StationTiming:
    """How a station ran against the clock.

    ``timed_out`` counts sheets that the bell cut off, ``n`` those held; ``median_s`` and ``longest_s`` are of
    the sheets with both times, NaN without; ``never_reached_share`` is of the items of sheets held [-].
    """

    station: str
    n: int
    timed_out: int
    median_s: float
    longest_s: float
    never_reached_share: float
    items: tuple[ItemReach, ...]


def never_reached(marks: Marks) -> NDArray[np.bool_]:
    """Return which item marks were never reached, shape (marks,)."""
    done = (marks.state == State.MARKED) & (marks.mark > 0)
    table = item_table(marks.blueprint)
    last = np.full(marks.n_sheets, -1, dtype=np.int64)
    np.maximum.at(last, marks.sheet[done], marks.item[done].astype(np.int64))
    last = np.maximum(last, table.first[marks.station] - 1)
    open_end = np.isin(marks.state, (State.NOT_DONE, State.NOT_OBSERVED, State.NOT_OFFERED))
    trailing = marks.item > last[marks.sheet]
    inferred = trailing & open_end & marks.timed_out[marks.sheet]
    return np.asarray(inferred | (marks.state == State.NOT_REACHED))


def analyse_timing(marks: Marks) -> tuple[StationTiming, ...]:
    """Return how each station ran against the clock, in the order of the exam."""
    table, unreached = item_table(marks.blueprint), never_reached(marks)
    held = ~np.isin(marks.state, UNHELD)
    omitted = (marks.state == State.NOT_DONE) & ~unreached
    n_items = len(table.codes)
    of_item = _count(marks, held, n_items)
    with np.errstate(invalid="ignore", divide="ignore"):
        missed = _count(marks, unreached, n_items) / of_item
        left_out = _count(marks, omitted, n_items) / of_item
    held_sheet = np.bincount(marks.sheet, held, marks.n_sheets) > 0
    took = marks.finished_s - marks.started_s
    found = []
    for s, code in enumerate(marks.blueprint.station_codes):
        first, end = int(table.first[s]), int(table.first[s + 1])
        here = (marks.station == s) & held_sheet
        known = took[here & ~np.isnan(took)]
        weight = of_item[first:end].sum()
        share = (
            float((np.nan_to_num(missed[first:end]) * of_item[first:end]).sum() / weight) if weight else nan
        )
        found.append(
            StationTiming(
                station=code,
                n=int(here.sum()),
                timed_out=int((here & marks.timed_out).sum()),
                median_s=float(np.median(known)) if len(known) else nan,
                longest_s=float(known.max()) if len(known) else nan,
                never_reached_share=share,
                items=tuple(
                    ItemReach(
                        station=code,
                        item=table.codes[i],
                        never_reached=float(missed[i]),
                        omitted=float(left_out[i]),
                    )
                    for i in range(first, end)
                ),
            )
        )
    return tuple(found)


def _count(marks: Marks, which: NDArray[np.bool_], n_items: int) -> Numbers:
    return np.bincount(marks.item[which], minlength=n_items).astype(np.float64)
