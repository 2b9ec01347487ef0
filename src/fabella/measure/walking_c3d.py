"""Walks from C3D files, the open format of motion laboratories: points against time, in metres."""

from __future__ import annotations

import io
import warnings
from collections.abc import Mapping

import c3d
import numpy as np

from fabella.errors import InputError, Problem
from fabella.measure.walking_markers import Markers
from fabella.measure.walking_roles import MARKERS, NEEDED_MARKERS, chosen
from fabella.measure.walking_table import MARKER_UNITS, check_seen

_MAGIC = 0x50  # the second byte of every C3D file
_LEAST_FRAMES, _MOST_FRAMES = 20, 2_000_000


def is_c3d(content: bytes) -> bool:
    """Say whether a file claims to be C3D."""
    return len(content) > 1 and content[1] == _MAGIC


def read_c3d(content: bytes, *, names: Mapping[str, str], up: int = 2) -> Markers:
    """Return the markers of a C3D file.

    Parameters
    ----------
    names
        The label of the point by role, as ``{"right_heel": "R.Heel"}``; a role not named bears its own.
    up
        The axis that points upwards: 0, 1 or 2.

    Raises
    ------
    InputError
        When it is no readable C3D file, ends too early, states no known unit, or lacks what is named; the
        labels that it has are then listed.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            rate, unit, labels, frames, promised = _parse(content)
    except Exception:  # noqa: BLE001  the library stumbles on a damaged file in whatever way it happens
        raise _refused("is damaged, or no C3D file: it cannot be read") from None
    faults = []
    if promised != len(frames) or not _LEAST_FRAMES <= len(frames) <= _MOST_FRAMES:
        faults.append(f"has {len(frames)} frames of {promised}")
    if not 10 <= rate <= 10_000:
        faults.append(f"has {rate:g} frames a second")
    if unit not in MARKER_UNITS:
        faults.append(f"gives its points in {unit or 'no stated unit'!r}, not in mm, cm or m")
    if faults:
        raise _refused(*faults)
    points = np.stack(frames)
    labels = labels[: points.shape[1]]
    found = chosen(names, allowed=MARKERS, needed=NEEDED_MARKERS, there=labels, what="marker")
    scale = MARKER_UNITS[unit]
    places = {}
    for role, name in found.items():
        point = points[:, labels.index(name)]
        seen = (point[:, 3] >= 0) & np.isfinite(point[:, :3]).all(axis=1)
        places[role] = np.where(seen[:, None], scale * point[:, :3], np.nan)
    check_seen(places, found)
    return Markers(times_s=np.arange(len(frames)) / rate, places=places, up=up)


def _parse(content: bytes) -> tuple[float, str, list[str], list[np.ndarray], int]:
    reader = c3d.Reader(io.BytesIO(content))
    labels = [str(each).strip() for each in reader.point_labels]
    stated = reader.get("POINT:UNITS")
    unit = stated.string_value.strip().casefold() if stated is not None else ""
    promised = int(reader.last_frame) - int(reader.first_frame) + 1
    frames = [np.array(points, dtype=float) for _, points, _ in reader.read_frames()]
    return float(reader.point_rate), unit, labels, frames, promised


def _refused(*says: str) -> InputError:
    return InputError([Problem(place="the file", says=each, remedy="") for each in says])
