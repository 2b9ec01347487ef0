"""One person's own signed visits, with what was found later: nobody is shown another's."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby

from fabella.hands import Confirmation
from fabella.record import Setting
from fabella.store.actor import Actor
from fabella.store.clinic import models
from fabella.store.clinic.access import patients_of, visits_of
from fabella.store.clinic.confirmation_models import Confirmation as Kept
from fabella.store.clinic.confirming import Confirmed, confirmed_of, standing
from fabella.store.clinic.lines import VisitLine, visit_line
from fabella.store.clinic.sheets import blank_examination
from fabella.store.clinic.trail import Action, Deed, add_reading


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnVisit:
    """A visit as its own clinician had signed it before anybody looked inside the knee.

    Parameters
    ----------
    examination
        The id by which file and confirmations know it.
    file, sha256, edition
        Those of that signature.
    found
        What still stands of what was found later.
    known
        What other visits of the same patient tell of looks before this one: who knows the scan finds what it
        shows.
    """

    visit: VisitLine
    examination: str
    file: str
    sha256: str
    edition: str
    found: tuple[Confirmed, ...]
    known: tuple[Confirmation, ...]


def usual_setting(actor: Actor) -> Setting | None:
    """Return where the visit took place to which a clinician has written last; None where nobody said."""
    last = visits_of(actor).filter(entries__author=actor.name).order_by("-entries__id").first()
    return Setting(last.setting) if last is not None and last.setting else None


def own_visits(actor: Actor, *, silent: int, now: datetime) -> tuple[OwnVisit, ...]:
    """Return the visits that a clinician signed, in order of time.

    Whose patients are shown is in the trail: those of visits of which something was told later, and of the
    ``silent`` latest others.

    A visit is taken as it was last signed until the day of the first look, so that nothing that was amended
    with the result at hand counts as foretold; it belongs to whoever signed it then.
    """
    own = _own(actor)
    shown = [*(each for each in own if each.found), *silent_of(own, silent)]
    patients = dict.fromkeys(each.visit.patient.id for each in shown)
    add_reading(actor, (Deed(action=Action.LISTED, patient=each) for each in patients), now)
    return own


def take_own_visits(actor: Actor, *, now: datetime) -> tuple[OwnVisit, ...]:
    """Return the same visits for a file of all of them, which is in the trail of each."""
    own = _own(actor)
    detail = {"what": "examination, in a file of all own ones"}
    add_reading(
        actor,
        (
            Deed(action=Action.TOOK, patient=each.visit.patient.id, visit=each.visit.id, detail=detail)
            for each in own
        ),
        now,
    )
    return own


def _own(actor: Actor) -> tuple[OwnVisit, ...]:
    signatures = (
        models.Signature.objects.filter(visit__patient__in=patients_of(actor))
        .filter(visit__signatures__author=actor.name)
        .select_related("visit__patient")
        .defer("letter")
        .order_by("visit__day", "visit_id", "number")
        .distinct()
    )
    found = _found_later(actor)
    by_patient: dict[int, list[_Told]] = {}
    for told in found.values():
        by_patient.setdefault(told.patient, []).append(told)
    own = []
    for _, rows in groupby(signatures, key=lambda row: row.visit_id):
        signed = list(rows)
        visit = signed[0].visit
        later = found[visit.id].holds if visit.id in found else ()
        row = _before_looking(signed, later)
        if row.author == actor.name:
            own.append(
                OwnVisit(
                    visit=visit_line(visit),
                    examination=blank_examination(visit).id,
                    file=row.file,
                    sha256=row.sha256,
                    edition=row.edition,
                    found=later,
                    known=tuple(_known_before(visit, by_patient.get(visit.patient_id, ()))),
                )
            )
    return tuple(own)


def silent_of(visits: Sequence[OwnVisit], most: int) -> tuple[OwnVisit, ...]:
    """Return the latest visits of which nothing was told later, the last one first."""
    return tuple(each for each in visits if not each.found)[::-1][:most]


@dataclass(frozen=True, slots=True)
class _Told:
    """What holds of what was told later at one visit of a patient."""

    patient: int
    visit: int
    holds: tuple[Confirmed, ...]


def _found_later(actor: Actor) -> dict[int, _Told]:
    """Return by visit what was told later of the patients that somebody signed a visit of."""
    rows = (
        Kept.objects.filter(visit__patient__in=patients_of(actor))
        .filter(visit__patient__visits__signatures__author=actor.name)
        .select_related("visit")
        .order_by("visit_id", "number")
        .distinct()
    )
    by_visit = {visit: list(each) for visit, each in groupby(rows, key=lambda row: row.visit_id)}
    return {
        visit: _Told(told[0].visit.patient_id, visit, standing(tuple(map(confirmed_of, told))))
        for visit, told in by_visit.items()
    }


def _known_before(visit: models.Visit, told: Sequence[_Told]) -> Iterator[Confirmation]:
    for other in told:
        for each in other.holds:
            if other.visit != visit.id and each.confirmation and each.confirmation.on < visit.day:
                yield each.confirmation


def _before_looking(signed: Sequence[models.Signature], later: Sequence[Confirmed]) -> models.Signature:
    looks: list[date] = [each.confirmation.on for each in later if each.confirmation]
    if not looks:
        return signed[-1]
    in_time = [row for row in signed if row.at.astimezone().date() <= min(looks)]
    return in_time[-1] if in_time else signed[0]
