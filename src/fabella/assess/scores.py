"""Scores of sheets, stations, domains and the exam, by stated rules for what is missing.

Nothing missing ever counts as 0: a mark is a mark, ``not_done`` is 0, and the rest is prorated within stated
limits or makes the score missing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fabella.assess.blueprint import item_table
from fabella.assess.marks import UNHELD, Marks, Numbers, State, candidate_circuit

MOST_PRORATED = 0.10  # share of a station's marks; our default
ITEMS_PRORATED = 1  # so many missing marks are filled in whatever their share; our default
LARGEST_SHARE = 0.25  # but never more than this share of what a sheet is worth; ours


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Scores:
    """Scores of an exam in percent of what could be had; NaN where there is none.

    Parameters
    ----------
    of_sheet
        Score of each sheet [%], shape (sheets,).
    station
        Score of each candidate at each station [%], shape (candidates, stations): the mean of its sheets.
    domain
        Score in each domain over all stations [%], shape (candidates, domains), as named in `domains`.
    domain_station
        The same by station [%], shape (candidates, stations, domains).
    domains
        Names, as in `item_table`.
    critical_failed
        How many critical items the candidate was seen to earn nothing on, shape (candidates, stations).
    void
        True where the station was void for the candidate's whole circuit, shape (candidates, stations).
    total
        Mean of the stations taken, weighted by station [%], shape (candidates,).
    share_taken
        Stations scored over stations not void [-], shape (candidates,).
    lowest, highest
        The total if every missing station were 0 or 100 % [%], shape (candidates,): how far what is missing
        could move it.
    prorated
        Share of the sheet's marks that was missing [-], shape (sheets,).
    """

    of_sheet: Numbers
    station: Numbers
    domain: Numbers
    domain_station: Numbers
    domains: tuple[str, ...]
    critical_failed: NDArray[np.int64]
    void: NDArray[np.bool_]
    total: Numbers
    share_taken: Numbers
    lowest: Numbers
    highest: Numbers
    prorated: Numbers


def score(
    marks: Marks,
    *,
    most_prorated: float = MOST_PRORATED,
    items_prorated: int = ITEMS_PRORATED,
    largest_prorated: float = LARGEST_SHARE,
    unreached_is_zero: bool = False,
) -> Scores:
    """Return all scores of an exam.

    A sheet scores sum(w x) over its items; a mark that is missing is prorated within its domain (within the
    station when the whole domain is missing), provided no more than `most_prorated` of the sheet's marks are
    missing, or no more than `items_prorated` items and `largest_prorated` of its marks: beyond that the sheet
    has no score.

    Parameters
    ----------
    marks
        As read.
    most_prorated
        Share of a station's marks that may be prorated [-], 0 to 1.
    items_prorated
        How many items may be prorated on a sheet, also if their share is larger [-], from 0.
    largest_prorated
        Share of a sheet's marks that those items may be worth at most [-], 0 to 1.
    unreached_is_zero
        True to count what was not reached as not done; a critical item fails only if it was seen.
    """
    table, n_domains = item_table(marks.blueprint), len(item_table(marks.blueprint).domains)
    worth = (table.max_mark * table.weight)[marks.item]
    seen = marks.state <= State.NOT_DONE
    counted = seen | (marks.state == State.NOT_REACHED) if unreached_is_zero else seen
    earned = np.where(seen, marks.mark, 0.0) * table.weight[marks.item]
    cell = marks.sheet.astype(np.int64) * n_domains + table.domain[marks.item]
    shape, size = (marks.n_sheets, n_domains), marks.n_sheets * n_domains
    had = _sum_by(cell, earned, size).reshape(shape)
    could = _sum_by(cell, worth * counted, size).reshape(shape)
    full = _sum_by(cell, worth, size).reshape(shape)
    lost = 1 - _row_sum(could) / _row_sum(full)
    of_domain = _ratio(had, could)  # NaN where nothing of the domain was seen
    of_seen = _ratio(_row_sum(had), _row_sum(could))
    filled = np.where(np.isnan(of_domain), of_seen[:, None], of_domain)
    of_sheet = 100 * _ratio(_row_sum(np.where(full > 0, filled, 0.0) * full), _row_sum(full))
    few = np.bincount(marks.sheet, ~counted, marks.n_sheets) <= items_prorated
    kept = (lost <= most_prorated + 1e-12) | (few & (lost <= largest_prorated + 1e-12))
    of_sheet = np.where(kept, of_sheet, np.nan)
    of_domain = np.where(kept[:, None], 100 * of_domain, np.nan)
    station = _by_candidate(marks, of_sheet[:, None])[..., 0]
    domain_station = _by_candidate(marks, of_domain)
    weights = np.array([each.weight for each in marks.blueprint.stations])
    void = void_stations(marks)
    total, taken = weighted_mean(station, weights)
    short = np.where(np.isnan(station) & ~void, 1.0, 0.0) * weights
    whole = _row_sum(np.where(void, 0.0, weights))
    lowest = _ratio(np.nan_to_num(total) * taken, whole)
    return Scores(
        of_sheet=of_sheet,
        station=station,
        domain=_domain_totals(marks, had, could, kept),
        domain_station=domain_station,
        domains=table.domains,
        critical_failed=_critical_failed(marks, seen),
        void=void,
        total=total,
        share_taken=_ratio((~np.isnan(station)).sum(axis=1).astype(float), (~void).sum(axis=1).astype(float)),
        lowest=lowest,
        highest=lowest + 100 * _ratio(_row_sum(short), whole),
        prorated=lost,
    )


def weighted_mean(values: Numbers, weights: Numbers) -> tuple[Numbers, Numbers]:
    """Return the mean over stations that have a value, and the weight they had; both shape (candidates,).

    Summed station after station, so that every machine gets the same bits.
    """
    total, taken = np.zeros(len(values)), np.zeros(len(values))
    for s, weight in enumerate(weights):
        there = ~np.isnan(values[:, s])
        total += np.where(there, weight * values[:, s], 0.0)
        taken += np.where(there, weight, 0.0)
    return _ratio(total, taken), taken


def void_stations(marks: Marks) -> NDArray[np.bool_]:
    """Return where a station was void for everybody who was there in the circuit, (candidates, stations)."""
    broken = np.bincount(marks.sheet, marks.state == State.STATION_VOID, marks.n_sheets) > 0
    alive = np.bincount(marks.sheet, ~np.isin(marks.state, UNHELD), marks.n_sheets) > 0
    shape = (len(marks.circuits), marks.n_stations)
    place = np.ravel_multi_index((marks.circuit, marks.station), shape)
    breaks = np.bincount(place, broken, shape[0] * shape[1]).reshape(shape)
    living = np.bincount(place, alive, shape[0] * shape[1]).reshape(shape)
    circuit = candidate_circuit(marks)
    return np.asarray(((breaks > 0) & (living == 0))[circuit] & (circuit >= 0)[:, None])


def _by_candidate(marks: Marks, values: Numbers) -> Numbers:
    """Return the mean over a candidate's sheets at each station, (candidates, stations, columns)."""
    size = marks.n_candidates * marks.n_stations
    place = marks.candidate.astype(np.int64) * marks.n_stations + marks.station
    means = [
        _ratio(_sum_by(place, np.nan_to_num(column), size), _sum_by(place, ~np.isnan(column), size)).reshape(
            marks.n_candidates, marks.n_stations
        )
        for column in values.T
    ]
    return np.stack(means, axis=-1)


def _domain_totals(marks: Marks, had: Numbers, could: Numbers, kept: NDArray[np.bool_]) -> Numbers:
    columns = [
        100
        * _ratio(
            _sum_by(marks.candidate, had[:, d] * kept, marks.n_candidates),
            _sum_by(marks.candidate, could[:, d] * kept, marks.n_candidates),
        )
        for d in range(had.shape[1])
    ]
    return np.stack(columns, axis=1)


def _critical_failed(marks: Marks, seen: NDArray[np.bool_]) -> NDArray[np.int64]:
    table = item_table(marks.blueprint)
    failed = table.critical[marks.item] & seen & (marks.mark == 0)
    place = marks.candidate.astype(np.int64)[marks.sheet] * marks.n_stations + marks.station[marks.sheet]
    counted = np.bincount(place[failed], minlength=marks.n_candidates * marks.n_stations)
    return counted.reshape(marks.n_candidates, marks.n_stations)


def _sum_by(place: NDArray[np.integer], values: ArrayLike, size: int) -> Numbers:
    weights = np.asarray(values, dtype=np.float64)
    return np.asarray(np.bincount(place, weights, size), dtype=np.float64)


def _row_sum(values: Numbers) -> Numbers:
    total = np.zeros(len(values))
    for column in values.T:  # one after the other: the same bits on every machine
        total = total + column
    return total


def _ratio(above: Numbers, below: Numbers) -> Numbers:
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(below > 0, above / below, np.nan)
