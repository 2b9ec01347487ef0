"""Feet and knees from markers on a walker: when feet meet and leave the ground, and how far knees bend."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, find_peaks, sosfiltfilt

from fabella.errors import InputError
from fabella.measure.walking_contacts import Contact, Foot, Steady
from fabella.measure.walking_knees import Series, without_gaps
from fabella.measure.walking_pace import Estimate, mean_of

Places = NDArray[np.float64]

CUTOFF_HZ = 6.0
"""Low pass of marker paths (common practice)."""
_PROMINENT = 0.3  # of the range of the foot about the sacrum
_APART_S = 0.5
_LEAST_WAY_M = 1.0
_BACK_M = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class Markers:
    """Places of markers in metres, frames x 3, by role: ``sacrum``, ``right_heel`` and so on.

    ``times_s`` of the frames evenly spaced; a place that is missing is not a number. ``up`` is the axis that
    points upwards: 0, 1 or 2.
    """

    times_s: Series
    places: Mapping[str, Places]
    up: int = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Walked:
    """What markers tell: contacts, leavings, knee angles in degrees and speed along the way at each frame."""

    contacts: tuple[Contact, ...]
    leavings: tuple[Contact, ...]
    angles: Mapping[Foot, Series]
    along_m: Series


def read_walk(markers: Markers) -> Walked:
    """Return what the markers of one walk in one direction tell.

    Raises
    ------
    InputError
        When the sacrum goes less than a metre, or turns back.

    Notes
    -----
    A foot meets the ground when its heel is farthest before the sacrum and leaves when its toes are farthest
    behind, along the way: Zeni, Richards and Higginson 2008, Gait Posture 27:710-714. Knee flexion is the
    angle between thigh (hip to knee) and shank (knee to ankle) in the plane of the way and the vertical.
    """
    rate_hz = 1 / float(np.median(np.diff(markers.times_s)))
    places = {role: _smooth(each, rate_hz=rate_hz) for role, each in markers.places.items()}
    forward = _forward(places["sacrum"], markers.up)
    upward = np.eye(3)[markers.up]
    along = places["sacrum"] @ forward
    contacts: list[Contact] = []
    leavings: list[Contact] = []
    angles = {}
    for foot in Foot:
        contacts += _extremes(places[f"{foot}_heel"] @ forward - along, markers.times_s, foot)
        if f"{foot}_toe" in places:
            leavings += _extremes(along - places[f"{foot}_toe"] @ forward, markers.times_s, foot)
        joints = [f"{foot}_{joint}" for joint in ("hip", "knee", "ankle")]
        if all(joint in places for joint in joints):
            hip, knee, ankle = (places[joint] for joint in joints)
            angle = _lean(knee - hip, forward, upward) - _lean(ankle - knee, forward, upward)
            angle = (angle + 180) % 360 - 180
            missing = np.any([~np.isfinite(markers.places[j]).all(axis=1) for j in joints], axis=0)
            angles[foot] = np.where(missing, np.nan, angle)
    return Walked(
        contacts=tuple(sorted(contacts)), leavings=tuple(sorted(leavings)), angles=angles, along_m=along
    )


def speed_of(walk: Steady, walked: Walked, times_s: Series) -> tuple[Estimate, Estimate] | None:
    """Return speed in m/s and stride length in m over the strides of both feet, None of fewer than two."""
    strides = [each for foot in Foot for each in walk.strides(foot)]
    if len(strides) < 2:
        return None
    way = [np.diff(np.interp(each, times_s, walked.along_m))[0] for each in strides]
    speeds = [float(w / (end - begin)) for w, (begin, end) in zip(way, strides, strict=True)]
    return mean_of(speeds), mean_of([float(each) for each in way])


def _smooth(places: Places, *, rate_hz: float) -> Places:
    filled = np.column_stack([without_gaps(column) for column in places.T])
    if rate_hz <= 2.5 * CUTOFF_HZ or len(filled) < 30:
        return filled
    return np.asarray(sosfiltfilt(butter(2, CUTOFF_HZ, fs=rate_hz, output="sos"), filled, axis=0))


def _forward(sacrum: Places, up: int) -> Series:
    flat = sacrum.copy()
    flat[:, up] = 0
    way = flat[-1] - flat[0]
    length = float(np.linalg.norm(way))
    if length < _LEAST_WAY_M:
        raise InputError.of(
            place="sacrum",
            value=f"{length:.2f} m",
            says="is all the way from the first frame to the last",
            remedy="give one walk over ground in one direction; check the unit and the upward axis",
        )
    forward: Series = way / length
    along = flat @ forward
    back = float((np.maximum.accumulate(along) - along).max())
    if back > _BACK_M:
        raise InputError.of(
            place="sacrum",
            value=f"{back:.2f} m",
            says="is walked back",
            remedy="cut the file where the walker turns",
        )
    return forward


def _lean(segment: Places, forward: Series, upward: Series) -> Series:
    """Degrees that a segment points forward of straight down."""
    lean: Series = np.degrees(np.arctan2(segment @ forward, -(segment @ upward)))
    return lean


def _extremes(reach: Series, times_s: Series, foot: Foot) -> list[Contact]:
    """The times at which a foot reaches farthest, between frames by a parabola."""
    high, low = np.percentile(reach, [98, 2])
    step = float(times_s[1] - times_s[0])
    peaks, _ = find_peaks(reach, prominence=_PROMINENT * (high - low), distance=max(int(_APART_S / step), 1))
    found = []
    for peak in peaks:
        before, at, after = reach[peak - 1 : peak + 2]
        bow = before - 2 * at + after
        shift = 0.5 * (before - after) / bow if bow else 0.0
        found.append(Contact(foot=foot, at_s=float(times_s[peak]) + float(shift) * step))
    return found
