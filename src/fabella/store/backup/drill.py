"""The drill: whether a restored clinic could be worked with, tried on every examination and signed letter."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from fabella.errors import FabellaError
from fabella.store.actor import Actor, Role
from fabella.store.clinic.models import Signature, Visit
from fabella.store.clinic.remaking import remake
from fabella.store.clinic.visits import see_signed, see_visit


@dataclass(frozen=True, slots=True, kw_only=True)
class Drilled:
    """What was tried on a restored copy, and what failed.

    ``otherwise`` counts signatures whose letters this program words otherwise than the one that signed them.
    That is no fault of the backup: what was signed is kept, and the trail vouches for every letter of it.
    """

    examinations: int
    letters: int
    otherwise: int
    faults: tuple[str, ...]


def drill(*, now: datetime, tick: Callable[[], None] = lambda: None) -> Drilled:
    """Open every examination and make every signed letter again, on a copy that is thrown away afterwards.

    ``tick`` is called after each, to show how far it has come.
    """
    faults: list[str] = []
    visits = otherwise = letters = 0
    for visit in Visit.objects.select_related("patient").order_by("id").iterator():
        visits += 1
        who = _somebody(visit.patient.service)
        try:
            see_visit(who, visit.id, now=now)
        except (FabellaError, ValueError, KeyError, TypeError) as error:
            faults.append(f"visit {visit.id} does not open: {error}")
        tick()
    for signature in Signature.objects.select_related("visit__patient").order_by("id").iterator():
        letters += 1
        visit, number = signature.visit, signature.number
        what = f"signature {number} of visit {visit.id}"
        try:
            found = remake(see_signed(_somebody(visit.patient.service), visit.id, number, now=now))
        except (FabellaError, ValueError, KeyError, TypeError) as error:
            faults.append(f"{what} cannot be read: {error}")
            continue
        if not found.file_is_intact or found.failure:
            faults.append(f"{what}: {found.verdict}")
        elif not found.is_exact:
            otherwise += 1
        tick()
    return Drilled(examinations=visits, letters=letters, otherwise=otherwise, faults=tuple(faults))


def how_many() -> int:
    """Return how many examinations and letters a drill would try."""
    return Visit.objects.count() + Signature.objects.count()


def _somebody(service: str) -> Actor:
    return Actor(name="drill", shown="", roles=frozenset({Role.CLINICIAN}), service=service, device="drill")
