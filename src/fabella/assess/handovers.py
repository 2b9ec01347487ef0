"""Who took over from whom at a station, and what a common drift through the day makes of it.

An examiner who has marked the early candidates of a station, and whoever marked the late ones, differ by more
than their severity where marks move through the day: by the slope a candidate, times how many candidates lie
between the middles of what they marked. The slope is read within examiners (`drift`), so that a severe one
who leaves at noon does not pass for a drift; severity is read between them, so that a drift passes for it.

Source: ours.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fabella.assess.drift import Slope
from fabella.assess.marks import Marks


@dataclass(frozen=True, slots=True, kw_only=True)
class Handover:
    """One examiner who followed another at a station of a circuit, and what drift alone makes of the two.

    Parameters
    ----------
    station, circuit, earlier, later
        Codes of the station, of the circuit, and of the examiners.
    apart
        How many candidates lie between the middles of what they marked there [candidate].
    shift, se
        By how much the later one's marks would lie above those of the earlier if both were equally severe,
        and its standard error, that of the slope alone [mark].
    """

    station: str
    circuit: str
    earlier: str
    later: str
    apart: float
    shift: float
    se: float


def handovers(marks: Marks, used: NDArray[np.bool_], slope: Slope) -> tuple[Handover, ...]:
    """Return who took over from whom, by station and circuit, in order of time.

    Parameters
    ----------
    marks
        The marks.
    used
        The sheets that count here, with the time at which each was begun, shape (sheets,).
    slope
        The common drift [mark a candidate].
    """
    post = marks.station.astype(np.int64) * len(marks.circuits) + marks.circuit
    found = []
    for here in np.unique(post[used]):
        rows = np.flatnonzero(used & (post == here))
        rows = rows[np.argsort(marks.started_s[rows], kind="stable")]
        examiner = marks.examiner[rows]
        turns = {who: np.flatnonzero(examiner == who) for who in dict.fromkeys(examiner.tolist())}
        for earlier, later in pairwise(turns):
            if turns[earlier][-1] > turns[later][0]:
                continue  # they marked side by side, or took turns
            apart = float(turns[later].mean() - turns[earlier].mean())
            found.append(
                Handover(
                    station=marks.blueprint.station_codes[marks.station[rows[0]]],
                    circuit=marks.circuits[marks.circuit[rows[0]]],
                    earlier=marks.examiners[earlier],
                    later=marks.examiners[later],
                    apart=apart,
                    shift=slope.slope * apart,
                    se=slope.se * apart,
                )
            )
    return tuple(found)
