"""What had to be examined below a freshly injured knee, whatever it would have shown, and was not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fabella.anatomy import Side
from fabella.packaged import packaged_table
from fabella.record import Acuity
from fabella.teach.encounter import Encounter
from fabella.teach.hidden import Hidden
from fabella.teach.left_out import tried


@dataclass(frozen=True, slots=True, kw_only=True)
class Unchecked:
    """A sign that had to be examined on the knee complained of, and the lesion for which it had to."""

    sign: str
    side: Side
    lesion: str


def unchecked(encounter: Encounter) -> tuple[Unchecked, ...]:
    """Return what had to be examined and was not, in the order of the table; each sign once."""
    side = encounter.hidden.person.side
    done = tried(encounter.run, side)
    return tuple(
        Unchecked(sign=sign, side=side, lesion=lesion)
        for sign, lesion in must_be_checked(encounter.hidden).items()
        if sign not in done
    )


def must_be_checked(hidden: Hidden) -> Mapping[str, str]:
    """Return the signs that have to be examined of a freshly injured knee, each with its lesion."""
    if hidden.person.context.acuity is not Acuity.ACUTE:
        return {}
    checks = packaged_table("teach/data/unchecked.toml")
    found: dict[str, str] = {}
    for lesion, level in hidden.complaint.lesions:
        for sign in (*checks.get(lesion, ()), *checks.get(f"{lesion}:{level}", ())):
            found.setdefault(sign, lesion)
    return found
