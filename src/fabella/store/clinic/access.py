"""Whose patients a person may see: the one place that decides it, whatever the pages think."""

from __future__ import annotations

from django.db.models import QuerySet

from fabella.store.actor import Actor, Role
from fabella.store.clinic.models import Patient, Visit
from fabella.store.refusals import NotAllowed, NotThere


def patients_of(actor: Actor) -> QuerySet[Patient]:
    """Return the patients of a clinician's own service; raise `NotAllowed` for anybody else."""
    if Role.CLINICIAN not in actor.roles:
        raise NotAllowed("Only clinicians see patients.")
    return Patient.objects.filter(service=actor.service)


def patient_of(actor: Actor, patient_id: int) -> Patient:
    """Return one patient; raise `NotThere` when there is none or it is another service's."""
    patient = patients_of(actor).filter(pk=patient_id).first()
    if patient is None:
        raise NotThere("There is no such patient here.")
    return patient


def visits_of(actor: Actor) -> QuerySet[Visit]:
    """Return the visits of the patients that the person may see."""
    return Visit.objects.filter(patient__in=patients_of(actor)).select_related("patient")


def visit_of(actor: Actor, visit_id: int) -> Visit:
    """Return one visit; raise `NotThere` when there is none or it is another service's."""
    visit = visits_of(actor).filter(pk=visit_id).first()
    if visit is None:
        raise NotThere("There is no such visit here.")
    return visit
