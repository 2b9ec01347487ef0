"""One person's own signed visits, with what was found later: nobody is shown another's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby

from fabella.store.actor import Actor
from fabella.store.clinic import models
from fabella.store.clinic.access import patients_of
from fabella.store.clinic.confirmation_models import Confirmation
from fabella.store.clinic.confirming import Confirmed, confirmed_of, standing
from fabella.store.clinic.lines import VisitLine, visit_line
from fabella.store.clinic.trail import Action, Deed, add_reading


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnVisit:
    """A visit as its own clinician had signed it before anybody looked inside the knee.

    ``file``, its hash and ``edition`` are those of that signature; ``found`` is what still stands of what was
    found later.
    """

    visit: VisitLine
    file: str
    sha256: str
    edition: str
    found: tuple[Confirmed, ...]


def own_visits(actor: Actor, *, silent: int, now: datetime) -> tuple[OwnVisit, ...]:
    """Return the visits that a clinician signed, in order of time.

    Whose patients are shown is in the trail: those of visits of which something was told later, and of the
    ``silent`` latest others.

    A visit is taken as it was last signed until the day of the first look, so that nothing that was amended
    with the result at hand counts as foretold; it belongs to whoever signed it then.
    """
    signatures = (
        models.Signature.objects.filter(visit__patient__in=patients_of(actor))
        .filter(visit__signatures__author=actor.name)
        .select_related("visit__patient")
        .defer("letter")
        .order_by("visit__day", "visit_id", "number")
        .distinct()
    )
    found = _found_later(actor)
    own = []
    for _, rows in groupby(signatures, key=lambda row: row.visit_id):
        signed = list(rows)
        later = standing(tuple(found.get(signed[0].visit_id, ())))
        row = _before_looking(signed, later)
        if row.author == actor.name:
            own.append(
                OwnVisit(
                    visit=visit_line(row.visit),
                    file=row.file,
                    sha256=row.sha256,
                    edition=row.edition,
                    found=later,
                )
            )
    shown = [*(each for each in own if each.found), *silent_of(own, silent)]
    patients = dict.fromkeys(each.visit.patient.id for each in shown)
    add_reading(actor, (Deed(action=Action.LISTED, patient=each) for each in patients), now)
    return tuple(own)


def silent_of(visits: Sequence[OwnVisit], most: int) -> tuple[OwnVisit, ...]:
    """Return the latest visits of which nothing was told later, the last one first."""
    return tuple(each for each in visits if not each.found)[::-1][:most]


def _found_later(actor: Actor) -> dict[int, list[Confirmed]]:
    rows = Confirmation.objects.filter(
        visit__patient__in=patients_of(actor), visit__signatures__author=actor.name
    ).order_by("visit_id", "number")
    found: dict[int, list[Confirmed]] = {}
    for row in rows.distinct():
        found.setdefault(row.visit_id, []).append(confirmed_of(row))
    return found


def _before_looking(signed: Sequence[models.Signature], later: Sequence[Confirmed]) -> models.Signature:
    looks: list[date] = [each.confirmation.on for each in later if each.confirmation]
    if not looks:
        return signed[-1]
    in_time = [row for row in signed if row.at.astimezone().date() <= min(looks)]
    return in_time[-1] if in_time else signed[0]
