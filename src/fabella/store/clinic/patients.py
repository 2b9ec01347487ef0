"""Patients: found, added, corrected, and looked at. Whatever is shown is in the trail before it is shown."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import Any

from django.db import IntegrityError
from django.db.models import Q

from fabella.errors import InputError
from fabella.record import Origin
from fabella.store.actor import Actor
from fabella.store.clinic.access import patient_of, patients_of, visits_of
from fabella.store.clinic.details import PatientDetails
from fabella.store.clinic.lines import PatientLine, VisitLine, patient_line, visit_line
from fabella.store.clinic.models import Patient
from fabella.store.clinic.trail import Action, Deed, add_lines, add_reading
from fabella.store.router import CLINIC
from fabella.store.writing import writing

FOUND_AT_MOST = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class PatientRecord:
    """A patient with all visits, the earliest first."""

    patient: PatientLine
    visits: tuple[VisitLine, ...]


def has_patients(actor: Actor) -> bool:
    """Say whether there is any patient whom the person may see."""
    return patients_of(actor).exists()


def has_invented(actor: Actor, number: str) -> bool:
    """Say whether an invented patient of this number is here."""
    return patients_of(actor).filter(origin=Origin.INVENTED.value, number=number).exists()


def find_patients(actor: Actor, words: str, *, today: date, now: datetime) -> tuple[PatientLine, ...]:
    """Return the patients whose number or label holds every word, at most 50, by label."""
    found = patients_of(actor)
    for word in words.split():
        found = found.filter(Q(number__icontains=word) | Q(label__icontains=word))
    lines = tuple(patient_line(each, today) for each in found.order_by("label", "number")[:FOUND_AT_MOST])
    add_reading(actor, (Deed(action=Action.LISTED, patient=line.id) for line in lines), now)
    return lines


def add_patient(
    actor: Actor, details: PatientDetails, *, now: datetime, origin: Origin = Origin.PATIENT
) -> int:
    """Add a patient to the person's service and return its id; `InputError` when the number is taken.

    One who is there already with the very same details is no other patient, as where a button is pressed
    twice, and is not added again.
    """
    known = patients_of(actor).filter(origin=origin.value, **columns_of(details))
    with _number_may_be_taken(details), writing(CLINIC):
        if (there := known.first()) is not None:
            return there.id
        patient = Patient.objects.create(service=actor.service, origin=origin.value, **columns_of(details))
        add_lines(actor, [Deed(action=Action.ADDED, patient=patient.id)], now)
    return patient.id


def correct_patient(actor: Actor, patient_id: int, details: PatientDetails, *, now: datetime) -> None:
    """Correct a patient's details; what they were before stands in the trail. Signed letters stay."""
    with _number_may_be_taken(details), writing(CLINIC):
        patient = patient_of(actor, patient_id)
        new = columns_of(details)
        changed = {name: value for name, value in new.items() if getattr(patient, name) != value}
        if not changed:
            return
        before = {name: str(getattr(patient, name) or "") for name in changed}
        for name, value in changed.items():
            setattr(patient, name, value)
        patient.save(update_fields=list(changed))
        deed = Deed(action=Action.CORRECTED, patient=patient.id, detail={"before": before})
        add_lines(actor, [deed], now)


def see_patient(actor: Actor, patient_id: int, *, today: date, now: datetime) -> PatientRecord:
    """Return a patient and all visits."""
    patient = patient_of(actor, patient_id)
    visits = visits_of(actor).filter(patient=patient).order_by("day", "pk")
    record = PatientRecord(
        patient=patient_line(patient, today), visits=tuple(visit_line(each) for each in visits)
    )
    add_reading(actor, [Deed(action=Action.OPENED, patient=patient.id)], now)
    return record


def columns_of(details: PatientDetails) -> dict[str, Any]:
    """Return what a patient's row holds of the details."""
    return {**asdict(details), "sex": details.sex.value if details.sex else ""}


@contextmanager
def _number_may_be_taken(details: PatientDetails) -> Iterator[None]:
    """Turn the database's complaint about a number that is taken into one that helps."""
    try:
        yield
    except IntegrityError as error:
        if "number" not in str(error):
            raise
        says, remedy = "is the number of another patient", "open that patient"
        raise InputError.of(place="number", value=details.number, says=says, remedy=remedy) from None
