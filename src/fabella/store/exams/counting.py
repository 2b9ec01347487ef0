"""Stations that count: one at least, or there is no exam to decide."""

from __future__ import annotations

from collections.abc import Set as AbstractSet

from fabella.errors import InputError


def check_annulling(stations: AbstractSet[str], *, counting: AbstractSet[str]) -> None:
    """Raise `InputError` where stations to be annulled do not count already, or none would be left."""
    says, remedy = "does not count", "choose one that counts"
    if stations <= counting:
        says, remedy = "is the last that counts", "let another count; without any there is no exam to decide"
    if stations and not stations < counting:
        names = ", ".join(sorted(stations - counting or stations))
        raise InputError.of(place="station", value=names, says=says, remedy=remedy)
