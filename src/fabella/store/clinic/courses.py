"""Every examination of one patient, in the order of time, to be followed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from fabella.record import Examination
from fabella.store.actor import Actor
from fabella.store.clinic.access import patient_of, visits_of
from fabella.store.clinic.lines import PatientLine, VisitLine, patient_line, visit_line
from fabella.store.clinic.sheets import examination_of, sheet_of
from fabella.store.clinic.trail import Action, Deed, add_reading


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseRecord:
    """A patient with every visit and what was stated at it, the earliest first."""

    patient: PatientLine
    visits: tuple[tuple[VisitLine, Examination], ...]


def see_course(actor: Actor, patient_id: int, *, today: date, now: datetime) -> CourseRecord:
    """Return all examinations of a patient."""
    patient = patient_of(actor, patient_id)
    visits = visits_of(actor).filter(patient=patient).order_by("day", "pk")
    record = CourseRecord(
        patient=patient_line(patient, today),
        visits=tuple((visit_line(each), examination_of(each, sheet_of(each))) for each in visits),
    )
    deed = Deed(action=Action.OPENED, patient=patient.id, detail={"what": "course of all visits"})
    add_reading(actor, [deed], now)
    return record
