"""Turn columns of text into marks, or say everything that is wrong with them at once.

Every distinct text is understood once and the rest is arithmetic on arrays, so that a quarter of a million
marks take about a second.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fabella.assess.blueprint import Blueprint, item_table
from fabella.assess.cell_texts import CLOCK, MOMENT, Column, read_flag, read_grade, read_mark, read_time
from fabella.assess.complaints import Complaints
from fabella.assess.marks import WHOLE_STATION, Codes, Marks, State
from fabella.assess.sheets import Filled, bind_sheets
from fabella.errors import InputError, suggestion

REQUIRED = ("candidate", "station", "examiner", "item", "mark", "global")
OPTIONAL = ("circuit", "started", "finished", "timed_out")
ONE_CIRCUIT = "1"  # the circuit of an exam that names none


@dataclass(frozen=True, slots=True, kw_only=True)
class Roster:
    """Who may stand in the marks; None where any name will do.

    Every candidate of a roster must be in the marks, as ``absent`` if need be; examiners may be in reserve.
    """

    candidates: tuple[str, ...] | None = None
    examiners: tuple[str, ...] | None = None


ANYBODY = Roster()


def gather(
    columns: Mapping[str, Sequence[str]],
    *,
    lines: Sequence[int],
    blueprint: Blueprint,
    roster: Roster = ANYBODY,
    counted: str = "line",
) -> Marks:
    """Return the marks that columns of text hold.

    Parameters
    ----------
    columns
        Text by name of column, all of one length; the names of `REQUIRED`, and any of `OPTIONAL`. A mark is a
        number or the word of a `State`. A row without an item, marked ``absent``, ``not_offered`` or
        ``station_void``, stands for all items of its station. The global grade is a value or a name of the
        scale, written on at least one row of each sheet, or the word of a `State` when there is none.
        Times are ISO 8601 clock times or date-times, all of one kind; ``timed_out`` is yes, no or empty.
    lines
        Where each row stands in its file, for messages.
    counted
        What ``lines`` count, for messages.
    blueprint, roster
        What may stand in the marks.

    Raises
    ------
    InputError
        Lists everything that is wrong, each with its lines.
    """
    complaints = Complaints(np.asarray(lines, dtype=np.int64), counted=counted)
    n = len(columns["candidate"])
    empty = ("",) * n
    understood = {
        "mark": Column(columns["mark"], read_mark),
        "global": Column(columns["global"], read_grade(blueprint.grades)),
        "started": Column(columns.get("started", empty), read_time),
        "finished": Column(columns.get("finished", empty), read_time),
        "timed_out": Column(columns.get("timed_out", empty), read_flag),
    }
    for place, column in understood.items():
        complaints.about_texts(place, column)
    _check_times(complaints, understood["started"], understood["finished"])
    candidates, candidate = _names(complaints, "candidate", columns["candidate"], roster.candidates)
    circuits, circuit = _names(complaints, "circuit", columns.get("circuit", (ONE_CIRCUIT,) * n), None)
    examiners, examiner = _names(complaints, "examiner", columns["examiner"], roster.examiners)
    codes = blueprint.station_codes
    station = _places(complaints, "station", columns["station"], codes)
    whole = np.isin(understood["mark"].codes, WHOLE_STATION)
    item = _items(complaints, columns["station"], columns["item"], whole, blueprint)
    for name in sorted(set(roster.candidates or ()) - set(columns["candidate"])):
        complaints.add_to_all("candidate", name, "has no rows", "write 'absent' for one who did not come")
    _check_scale(complaints, understood["mark"], item, blueprint)

    placed = (candidate >= 0) & (circuit >= 0) & (station >= 0) & (examiner >= 0)
    placed &= (item >= 0) | whole
    filled = Filled(
        rows=np.flatnonzero(placed),
        disturbed=_disturbed(complaints, candidate, station, (len(candidates), len(codes))),
        candidates=candidates,
        circuits=circuits,
        examiners=examiners,
        candidate=candidate[placed],
        circuit=circuit[placed],
        station=station[placed],
        examiner=examiner[placed],
        item=item[placed],
        columns={name: column.at(placed) for name, column in understood.items()},
    )
    marks = bind_sheets(filled, blueprint, complaints)
    if complaints.problems:
        raise InputError(complaints.problems)
    return marks


def _check_times(complaints: Complaints, *columns: Column) -> None:
    """Complain of clock times among moments, or the other way round, whichever are fewer."""
    of_kind = [sum(int((column.codes == kind).sum()) for column in columns) for kind in (CLOCK, MOMENT)]
    if not all(of_kind):
        return
    fewer = CLOCK if of_kind[CLOCK] < of_kind[MOMENT] else MOMENT
    says = (
        "is a time without its day where others have theirs"
        if fewer == CLOCK
        else "has its day where other times have none"
    )
    remedy = "write the day before all of them, or before none"
    for place, column in zip(("started", "finished"), columns, strict=True):
        rows = np.flatnonzero(column.codes == fewer)
        if len(rows):
            complaints.add(rows, place, column.texts[column.text_of[rows[0]]], says, remedy)


def _names(
    complaints: Complaints, place: str, column: Sequence[str], allowed: Sequence[str] | None
) -> tuple[tuple[str, ...], Codes]:
    names = tuple(sorted(set(column) - {""} if allowed is None else set(allowed)))
    return names, _places(complaints, place, column, names)


def _places(complaints: Complaints, place: str, column: Sequence[str], names: Sequence[str]) -> Codes:
    where = {name: position for position, name in enumerate(names)}
    found = np.array([where.get(text, -1) for text in column], dtype=np.int32)
    unknown: dict[str, list[int]] = {}
    for row in np.flatnonzero(found < 0).tolist():
        unknown.setdefault(column[row], []).append(row)
    for text, rows in unknown.items():
        says = f"is not a known {place}" if text else "is missing"
        complaints.add(rows, place, text, says, suggestion(text, names) if text else "write a name")
    return found


def _items(
    complaints: Complaints,
    stations: Sequence[str],
    items: Sequence[str],
    whole: NDArray[np.bool_],
    blueprint: Blueprint,
) -> Codes:
    known = {station.code: [item.code for item in station.items] for station in blueprint.stations}
    keys = [(station, code) for station, codes in known.items() for code in codes]
    where = {key: position for position, key in enumerate(keys)}  # the order of `item_table`
    found = np.array([where.get(pair, -1) for pair in zip(stations, items, strict=True)], dtype=np.int32)
    wrong: dict[tuple[str, str], list[int]] = {}
    for row in np.flatnonzero(found < 0).tolist():
        if stations[row] in known and not (items[row] == "" and whole[row]):
            wrong.setdefault((stations[row], items[row]), []).append(row)
        elif items[row]:  # an unknown station: a complaint of its own
            whole[row] = False
    for (station, text), at in wrong.items():
        says = f"is not an item of station '{station}'" if text else "is missing"
        words = ", ".join(state.word for state in WHOLE_STATION)
        remedy = suggestion(text, known[station]) if text else f"only {words} may stand for a whole station"
        complaints.add(at, "item", text, says, remedy)
        whole[at] = False
    return found


def _check_scale(complaints: Complaints, column: Column, item: Codes, blueprint: Blueprint) -> None:
    table = item_table(blueprint)
    highest = np.where(item >= 0, table.max_mark[item], np.inf)
    outside = (column.codes == State.MARKED) & ((column.numbers < 0) | (column.numbers > highest))
    wrong: dict[tuple[int, int], list[int]] = {}
    for row in np.flatnonzero(outside).tolist():
        wrong.setdefault((int(item[row]), int(column.text_of[row])), []).append(row)
    for (position, text), rows in wrong.items():
        takes = "marks begin at 0"
        if position >= 0:
            takes = f"item '{table.codes[position]}' takes 0 to {table.max_mark[position]:g}"
        complaints.add(rows, "mark", column.texts[text], "is outside the scale", takes)


def _disturbed(
    complaints: Complaints, candidate: Codes, station: Codes, shape: tuple[int, int]
) -> NDArray[np.bool_]:
    """Return where a row was already complained of: there, what looks like a gap may be that row."""
    disturbed = np.zeros(shape, dtype=np.bool_)
    rows = complaints.rows
    rows = rows[(candidate[rows] >= 0) & (station[rows] >= 0)]
    disturbed[candidate[rows], station[rows]] = True
    return disturbed
