"""Walks from tables (CSV): contacts of the feet, angles of the knees, or places of markers against time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from fabella.errors import InputError, Problem
from fabella.measure.walking_cells import Row, few, numbers_in, rows_of
from fabella.measure.walking_contacts import Contact, Foot
from fabella.measure.walking_knees import Series
from fabella.measure.walking_markers import Markers, Places
from fabella.measure.walking_roles import KNEE_ANGLES, MARKERS, NEEDED_MARKERS, chosen

MARKER_UNITS: Mapping[str, float] = {"mm": 0.001, "cm": 0.01, "m": 1.0}
_FEET = {"right": Foot.RIGHT, "r": Foot.RIGHT, "left": Foot.LEFT, "l": Foot.LEFT}
_MEETS, _LEAVES = ("contact", ""), ("toe_off",)
_LEAST_ROWS = 20
_UNEVEN = 0.02


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
    points = [name[:-2] for name in header if name.endswith("_x")]
    if "foot" in names or "foot" in {each.casefold() for each in header}:
        return _events(header, rows, names, frames_per_s)
    clock = "frame" if frames_per_s is not None else "time_s"
    named = {role: name for role, name in names.items() if role not in MARKERS}
    if points and not any(role in names for role in KNEE_ANGLES):
        found = chosen(names, allowed=MARKERS, needed=NEEDED_MARKERS, there=points, what="marker")
        time = chosen(named, allowed=(clock,), needed=(clock,), there=header, what="column")
        wanted = [f"{name}_{axis}" for name in found.values() for axis in "xyz"]
        if missing := [each for each in wanted if each not in header]:
            raise InputError(
                [
                    Problem(place=each, value="", says="is no column of this file", remedy="")
                    for each in missing
                ]
            )
        columns = numbers_in(header, rows, [time[clock], *wanted], needed=time[clock])
        scale = MARKER_UNITS[unit]
        places = {
            role: scale * np.column_stack([columns[f"{name}_{axis}"] for axis in "xyz"])
            for role, name in found.items()
        }
        check_seen(places, found)
        return Markers(times_s=_times(columns[time[clock]], frames_per_s), places=places, up=up)
    found = chosen(names, allowed=(clock, *KNEE_ANGLES), needed=(clock,), there=header, what="column")
    knees = {foot: found[f"{foot}_knee_deg"] for foot in Foot if f"{foot}_knee_deg" in found}
    if not knees:
        chosen(names, allowed=(clock, *KNEE_ANGLES), needed=KNEE_ANGLES, there=header, what="column")
    columns = numbers_in(header, rows, [found[clock], *knees.values()], needed=found[clock])
    times = _times(columns[found[clock]], frames_per_s)
    return Angles(times_s=times, angles={foot: columns[name] for foot, name in knees.items()})


def check_seen(places: Mapping[str, Places], names: Mapping[str, str]) -> None:
    """Raise `InputError` listing every marker that is missing in more than half of the frames."""
    problems = [
        Problem(
            place=role,
            value=names[role],
            says="is missing in more than half of the frames",
            remedy="name another marker, or fill its gaps where it was recorded",
        )
        for role, place in places.items()
        if not np.isfinite(place).all(axis=1).mean() >= 0.5
    ]
    if problems:
        raise InputError(problems)


def _times(clock: Series, frames_per_s: float | None) -> Series:
    times = clock / frames_per_s if frames_per_s is not None else clock
    steps = np.diff(times)
    says = ""
    if len(times) < _LEAST_ROWS:
        says = f"has {len(times)} rows, too few for a walk"
    elif steps.min() <= 0:
        says = f"does not run on at row {int(np.argmin(steps)) + 2}"
    elif steps.max() - steps.min() > max(_UNEVEN, 0.5) * float(np.median(steps)):
        says = f"jumps at row {int(np.argmax(np.abs(steps - np.median(steps)))) + 2}"
    if says:
        remedy = "give one row for each frame, evenly spaced, in seconds"
        raise InputError([Problem(place="time", value="", says=says, remedy=remedy)])
    return np.asarray(times - times[0])


def _events(
    header: Sequence[str],
    rows: Sequence[Row],
    names: Mapping[str, str],
    frames_per_s: float | None,
) -> Events:
    clock = "time_s" if frames_per_s is None else "frame"
    found = chosen(
        names,
        allowed=("foot", clock, "event"),
        needed=("foot", clock),
        there=header,
        what="column",
    )
    at = numbers_in(header, rows, [found[clock]], needed=found[clock])[found[clock]]
    problems: list[Problem] = []
    meets: list[Contact] = []
    leaves: list[Contact] = []
    for (number, row), time in zip(rows, at, strict=True):
        foot, event = (
            row[header.index(found[r])].casefold() if r in found else "" for r in ("foot", "event")
        )
        problems += _wrong_words(number, foot, event)
        if foot in _FEET:
            one = Contact(foot=_FEET[foot], at_s=float(time) / (frames_per_s or 1.0))
            (leaves if event in _LEAVES else meets).append(one)
    if problems:
        raise InputError(few(problems))
    return Events(
        contacts=tuple(meets), leavings=tuple(leaves), resolution_s=1 / frames_per_s if frames_per_s else 0.0
    )


def _wrong_words(number: int, foot: str, event: str) -> Iterator[Problem]:
    if foot not in _FEET:
        yield Problem(place=f"line {number}, foot", value=foot, says="is no foot", remedy="use right or left")
    if event not in (*_MEETS, *_LEAVES):
        yield Problem(
            place=f"line {number}, event",
            value=event,
            says="is not known here",
            remedy="use contact (of the heel) or toe_off",
        )
