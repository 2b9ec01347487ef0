"""One walk, measured: from what recorded it to cadence, steps, stance, speed and the curves of the knees."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from fabella.errors import InputError
from fabella.measure.walking_contacts import Contact, Foot, Steady, steady
from fabella.measure.walking_knees import Knees, Series, contacts_of_knees, difference, knees
from fabella.measure.walking_markers import Markers, Walked, read_walk, speed_of
from fabella.measure.walking_pace import Estimate, Pace, Timing, pace
from fabella.measure.walking_stance import stance_shares
from fabella.measure.walking_table import Angles, Events

ENDS = 2
"""Contacts left out at each end of a walk timed by hand (judgement: speed is steady after some two steps)."""

_FASTEST_M_PER_S = 4.0
"""Judgement: beyond it somebody runs, or the distance is another one."""

Record = Events | Angles | Markers


@dataclass(frozen=True, slots=True, kw_only=True)
class Walking:
    """A walk, measured.

    ``stance_pct`` of the feet of which leaving the ground is known, ``stance_difference_pct`` the right less
    the left or None, ``knees`` None where no angles are known, ``told`` what was left out and why.
    """

    pace: Pace
    stance_pct: Mapping[Foot, Estimate]
    stance_difference_pct: Estimate | None
    knees: Knees | None
    contacts: tuple[Contact, ...]
    leavings: tuple[Contact, ...]
    told: tuple[str, ...]


def measure_walk(
    record: Record,
    *,
    events: Events | None = None,
    ends: int | None = None,
    distance_m: float | None = None,
) -> Walking:
    """Return what a record of one walk tells.

    Parameters
    ----------
    record
        Contacts that were tapped or marked on a film, angles of the knees, or markers.
    events
        Contacts on the same clock, instead of those that angles or markers betray.
    ends
        Contacts left out at each end. None: 2 of contacts timed by hand of which no distance is given, else
        none, since a measured distance and a motion file begin and end in full stride.
    distance_m
        Walked between the first and the last contact given, above 0; markers know it themselves.

    Raises
    ------
    InputError
        When fewer than six steady steps are left, or the record is no walk.
    """
    by_hand = events or (record if isinstance(record, Events) else None)
    if ends is None:
        ends = ENDS if isinstance(record, Events) and distance_m is None else 0
    walked = read_walk(record) if isinstance(record, Markers) else None
    timing, contacts, leavings = _events_of(record, by_hand, walked)
    walk = steady(contacts, ends=ends)
    resolution_s = by_hand.resolution_s if by_hand else _frame_s(record)
    paced = pace(walk, timing=timing, resolution_s=resolution_s, distance_m=distance_m)
    if walked is not None and isinstance(record, Markers):
        way = speed_of(walk, walked, record.times_s)
        if way is not None:
            paced = replace(paced, speed_m_per_s=way[0], stride_m=way[1])
    if paced.speed_m_per_s is not None and paced.speed_m_per_s.value > _FASTEST_M_PER_S:
        raise _too_fast(paced.speed_m_per_s.value)
    stance = stance_shares(walk, leavings)
    angles = walked.angles if walked else record.angles if isinstance(record, Angles) else {}
    curves = knees(walk, angles, _times(record)) if angles else None
    told = (*walk.told, *(curves.told if curves else ()))
    if timing is Timing.KNEES:
        told = (*told, "Contacts were guessed from the shape of the knees' curves.")
    both = set(stance) == set(Foot)
    return Walking(
        pace=paced,
        stance_pct=stance,
        stance_difference_pct=difference(stance[Foot.RIGHT], stance[Foot.LEFT]) if both else None,
        knees=curves,
        contacts=_kept(walk),
        leavings=leavings,
        told=told,
    )


def _events_of(
    record: Record, by_hand: Events | None, walked: Walked | None
) -> tuple[Timing, tuple[Contact, ...], tuple[Contact, ...]]:
    if by_hand is not None:
        timing = Timing.FILM if by_hand.resolution_s else Timing.TAPS
        return timing, by_hand.contacts, by_hand.leavings
    if walked is not None:
        return Timing.MARKERS, walked.contacts, walked.leavings
    if isinstance(record, Angles) and set(record.angles) == set(Foot):
        return Timing.KNEES, contacts_of_knees(record.angles, record.times_s), ()
    remedy = "name the other knee, or give the times of the contacts of both feet"
    says = "alone does not tell when both feet meet the ground"
    raise InputError.of(place="one knee", says=says, remedy=remedy)


def _too_fast(speed_m_per_s: float) -> InputError:
    remedy = "give the metres between the first contact and the last, or the unit of the markers"
    says = f"is faster than anybody walks (at most {_FASTEST_M_PER_S:g} m/s)"
    return InputError.of(place="speed", value=f"{speed_m_per_s:.1f} m/s", says=says, remedy=remedy)


def _times(record: Record) -> Series:
    return np.zeros(0) if isinstance(record, Events) else record.times_s


def _frame_s(record: Record) -> float:
    times = _times(record)
    return float(np.median(np.diff(times))) if len(times) > 1 else 0.0


def _kept(walk: Steady) -> tuple[Contact, ...]:
    return tuple(each for run in walk.runs for each in run)
