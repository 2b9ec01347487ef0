"""People whose marks may have gone astray: no sheet at a station, two performances at one, names alike."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from fabella.assess.marks import Marks, Numbers

_AN_HOUR_S = 3600.0  # how long a sheet without a finish is taken to run; ours


def without_sheet(marks: Marks) -> tuple[str, ...]:
    """Return candidates with no sheet at all at a station that everybody else of their circuit has one at.

    One who was absent, or whose station broke down, has a sheet that says so.
    """
    shape = (marks.n_candidates, marks.n_stations)
    has = np.zeros(shape, dtype=np.bool_)
    has[marks.candidate, marks.station] = True
    circuit = np.zeros(marks.n_candidates, dtype=np.int64)
    circuit[marks.candidate] = marks.circuit
    found = []
    for c in np.unique(circuit):
        here = np.flatnonzero(circuit == c)
        usual = has[here].mean(axis=0) > 0.5
        found += here[(usual & ~has[here]).any(axis=1)].tolist()
    return tuple(marks.candidates[p] for p in sorted(found))


def marked_apart(marks: Marks) -> tuple[str, ...]:
    """Return candidates with two sheets at one station of which one was begun after the other's end.

    Two examiners of one performance write at the same time: these may be two people of one name.
    """
    end: Numbers = np.where(np.isnan(marks.finished_s), marks.started_s + _AN_HOUR_S, marks.finished_s)
    place = marks.candidate.astype(np.int64) * marks.n_stations + marks.station
    known = np.flatnonzero(~np.isnan(marks.started_s))
    order = known[np.lexsort((marks.started_s[known], place[known]))]
    first, second = order[:-1], order[1:]
    apart = (place[first] == place[second]) & (marks.started_s[second] > end[first])
    return tuple(marks.candidates[p] for p in np.unique(marks.candidate[second[apart]]))


def written_alike(names: Sequence[str]) -> Iterator[str]:
    """Yield names that differ in capitals and blanks alone, together, such as ``'Ann' and 'ann'``."""
    alike: dict[str, list[str]] = {}
    for name in names:
        alike.setdefault("".join(name.split()).casefold(), []).append(name)
    for several in alike.values():
        if len(several) > 1:
            yield " and ".join(f"'{name}'" for name in several)
