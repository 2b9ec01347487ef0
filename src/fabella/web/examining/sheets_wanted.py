"""Mark sheets of paper for a day: of one station or all, of one circuit or all, in order of time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from fabella.exam import Station
from fabella.papers.printed import Leaf, Sitting, mark_sheets
from fabella.store.exams.duties import Planned


def wanted_sheets(
    stations: Mapping[str, Station],
    planned: Sequence[Planned],
    *,
    exam: str,
    station: str = "",
    circuit: str = "",
) -> tuple[Leaf, ...]:
    """Return a sheet for everybody whom an examiner is to mark, sorted as a hall hands them out.

    Parameters
    ----------
    stations
        By id.
    planned
        What the timetable wants.
    station, circuit
        Of one alone; empty for all.
    """
    chosen = [
        each
        for each in planned
        if station in ("", each.key.station)
        and circuit in ("", each.stop.circuit)
        and each.key.station in stations
    ]
    order = {name: place for place, name in enumerate(stations)}
    chosen.sort(key=lambda each: (each.stop.circuit, order[each.key.station], each.stop.begins_min))
    return tuple(
        leaf
        for each in chosen
        for leaf in mark_sheets(stations[each.key.station], [_sitting(each)], exam=exam)
    )


def _sitting(planned: Planned) -> Sitting:
    return Sitting(
        candidate=planned.key.candidate,
        examiner=planned.key.examiner,
        circuit=planned.stop.circuit,
        begins_min=planned.stop.begins_min,
    )
