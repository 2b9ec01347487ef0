"""Walks from tables (CSV): contacts of the feet, angles of the knees, or places of markers against time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from fabella.errors import InputError, Problem, Problems
from fabella.measure.walking_cells import Fault, Row, numbers_in, rows_of, summed
from fabella.measure.walking_contacts import Contact, Foot
from fabella.measure.walking_knees import Series
from fabella.measure.walking_markers import Markers, Places
from fabella.measure.walking_roles import KNEE_ANGLES, MARKERS, NEEDED_MARKERS, chosen

MARKER_UNITS: Mapping[str, float] = {"mm": 0.001, "cm": 0.01, "m": 1.0}
_FEET = {"right": Foot.RIGHT, "r": Foot.RIGHT, "left": Foot.LEFT, "l": Foot.LEFT}
_MEETS, _LEAVES = ("contact", ""), ("toe_off",)
_LEAST_ROWS = 20
_UNEVEN = 0.5  # of the usual time between frames


@dataclass(frozen=True, slots=True, kw_only=True)
class Events:
    """Contacts and leavings of the feet, and the time between two readings of the clock (0 = unknown)."""

    contacts: tuple[Contact, ...]
    leavings: tuple[Contact, ...]
    resolution_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Angles:
    """Flexion of the knees in degrees against time, bent positive."""

    times_s: Series
    angles: Mapping[Foot, Series]


def read_table(
    text: str,
    *,
    names: Mapping[str, str],
    frames_per_s: float | None = None,
    unit: str = "mm",
    up: int = 2,
) -> Events | Angles | Markers:
    """Return the walk of a table with a header row, columns parted by comma, semicolon or tab.

    Decimals stand behind a point, or all behind a comma.

    Parameters
    ----------
    names
        The column (of a marker: what stands before ``_x``, ``_y``, ``_z``) by role; a role that is not named
        bears its own name. A column ``foot`` makes a table of contacts, of which each row has ``time_s`` or
        ``frame`` and may say in ``event`` that it is a ``contact`` or a ``toe_off``.
    frames_per_s
        For tables that count frames, above 0.
    unit
        Of markers: mm, cm or m.
    up
        The axis of markers that points upwards: 0, 1 or 2.

    Raises
    ------
    InputError
        Listing everything wrong with it.
    """
    header, rows = rows_of(text)
    table = _Table(header=header, rows=rows, names=names, frames_per_s=frames_per_s)
    if "foot" in names or "foot" in {each.casefold() for each in header}:
        return _events(table)
    points = [name[:-2] for name in header if name.endswith("_x")]
    if points and not any(role in names for role in KNEE_ANGLES):
        return _markers(table, points, metres=MARKER_UNITS[unit], up=up)
    return _angles(table)


def check_seen(places: Mapping[str, Places], names: Mapping[str, str]) -> None:
    """Raise `InputError` listing every marker that is missing in more than half of the frames."""
    problems = Problems()
    for role, place in places.items():
        if not np.isfinite(place).all(axis=1).mean() >= 0.5:
            problems.add(
                role,
                names[role],
                "is missing in more than half of the frames",
                "name another marker, or fill its gaps where it was recorded",
            )
    problems.raise_any()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Table:
    """A header and rows, the names of columns by role, and how many frames the clock counts a second."""

    header: Sequence[str]
    rows: Sequence[Row]
    names: Mapping[str, str]
    frames_per_s: float | None

    @property
    def clock(self) -> str:
        """The role of the column that tells the time."""
        return "time_s" if self.frames_per_s is None else "frame"

    def chosen(self, *roles: str, needed: Sequence[str] = ()) -> Mapping[str, str]:
        """Return the columns of the clock and of these roles, as far as they are there."""
        return chosen(
            self.names,
            allowed=(self.clock, *roles),
            needed=(self.clock, *needed),
            there=self.header,
            what="column",
        )

    def numbers(self, clock: str, *columns: str) -> tuple[Series, Mapping[str, Series]]:
        """Return the seconds of every row, and columns of numbers by name."""
        found = numbers_in(self.header, self.rows, [clock, *columns], needed=clock)
        return found[clock] / (self.frames_per_s or 1.0), found

    def frames(self, clock: str, *columns: str) -> tuple[Series, Mapping[str, Series]]:
        """Return the same of rows that are frames: evenly spaced, from 0 seconds on."""
        times_s, found = self.numbers(clock, *columns)
        steps = np.diff(times_s)
        says = ""
        if len(times_s) < _LEAST_ROWS:
            says = f"has {len(times_s)} rows, too few for a walk"
        elif steps.min() <= 0:
            says = f"does not run on at line {self.rows[int(steps.argmin()) + 1][0]}"
        elif np.ptp(steps) > _UNEVEN * float(np.median(steps)):
            most = int(np.abs(steps - np.median(steps)).argmax())
            says = f"jumps at line {self.rows[most + 1][0]}"
        if says:
            remedy = "give one row for each frame, evenly spaced, in seconds"
            raise InputError.of(place="time", says=says, remedy=remedy)
        return times_s - times_s[0], found


def _markers(table: _Table, points: Sequence[str], *, metres: float, up: int) -> Markers:
    found = chosen(table.names, allowed=MARKERS, needed=NEEDED_MARKERS, there=points, what="marker")
    clock = table.chosen()[table.clock]
    wanted = [f"{name}_{axis}" for name in found.values() for axis in "xyz"]
    if missing := [each for each in wanted if each not in table.header]:
        says = "is no column of this file"
        raise InputError([Problem(place=each, says=says, remedy="") for each in missing])
    times_s, columns = table.frames(clock, *wanted)
    places = {
        role: metres * np.column_stack([columns[f"{name}_{axis}"] for axis in "xyz"])
        for role, name in found.items()
    }
    check_seen(places, found)
    return Markers(times_s=times_s, places=places, up=up)


def _angles(table: _Table) -> Angles:
    found = table.chosen(*KNEE_ANGLES)
    knees = {foot: found[f"{foot}_knee_deg"] for foot in Foot if f"{foot}_knee_deg" in found}
    if not knees:
        table.chosen(*KNEE_ANGLES, needed=KNEE_ANGLES)
    times_s, columns = table.frames(found[table.clock], *knees.values())
    return Angles(times_s=times_s, angles={foot: columns[name] for foot, name in knees.items()})


def _events(table: _Table) -> Events:
    found = table.chosen("foot", "event", needed=("foot",))
    problems = Problems()
    times_s: Series = np.zeros(0)
    try:
        times_s, _ = table.numbers(found[table.clock])
    except InputError as error:
        problems += error.problems
    places = {role: table.header.index(found[role]) for role in ("foot", "event") if role in found}
    told = [(line, {role: row[at].casefold() for role, at in places.items()}) for line, row in table.rows]
    problems += summed(fault for line, words in told for fault in _wrong_words(line, **words))
    problems.raise_any()
    meets: list[Contact] = []
    leaves: list[Contact] = []
    for (_, words), at_s in zip(told, times_s.tolist(), strict=True):
        one = Contact(foot=_FEET[words["foot"]], at_s=at_s)
        (leaves if words.get("event") in _LEAVES else meets).append(one)
    resolution_s = 1 / table.frames_per_s if table.frames_per_s else 0.0
    return Events(contacts=tuple(meets), leavings=tuple(leaves), resolution_s=resolution_s)


def _wrong_words(line: int, *, foot: str, event: str = "") -> Iterator[Fault]:
    if foot not in _FEET:
        yield Fault(line=line, column="foot", value=foot, says="is no foot", remedy="use right or left")
    if event not in (*_MEETS, *_LEAVES):
        remedy = "use contact (of the heel) or toe_off"
        yield Fault(line=line, column="event", value=event, says="is not known here", remedy=remedy)
