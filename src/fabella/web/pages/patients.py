"""Patients: found and added."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError
from fabella.store import Role
from fabella.store.clinic.details import read_patient_details
from fabella.store.clinic.lines import PatientLine
from fabella.store.clinic.patients import FOUND_AT_MOST, add_patient, find_patients
from fabella.web.door import SENDING, enter
from fabella.web.forms import Form, blank, filled
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class PatientsPage:
    """The patients that a search finds."""

    template: ClassVar[str] = "patients.html"

    words: str = field(metadata=said("What was searched for; empty for everybody."))
    found: tuple[PatientLine, ...] = field(metadata=said("The patients, by label."))
    is_cut: bool = field(metadata=said("Whether there may be more than are shown."))


@dataclass(frozen=True, slots=True, kw_only=True)
class AddPatientPage:
    """The form for a new patient."""

    template: ClassVar[str] = "add_patient.html"

    form: Form = field(metadata=said("What was typed, and what is wrong with it."))
    today: date = field(metadata=said("The latest birth date that is possible."))


@enter(Role.CLINICIAN)
def patients(request: Request) -> HttpResponse:
    """Find patients."""
    words = request.GET.get("q", "").strip()
    found = find_patients(request.person, words, today=request.today, now=request.now)
    return render(request, PatientsPage(words=words, found=found, is_cut=len(found) == FOUND_AT_MOST))


@enter(Role.CLINICIAN, methods=SENDING)
def add(request: Request) -> HttpResponse:
    """Add a patient, or say what is wrong with what was typed."""
    form = blank()
    if request.method == "POST":
        try:
            details = read_patient_details(request.POST.dict(), today=request.today)
            patient = add_patient(request.person, details, now=request.now)
        except InputError as error:
            form = filled(request, error.problems)
        else:
            return HttpResponseRedirect(url("patient", patient_id=patient))
    return render(request, AddPatientPage(form=form, today=request.today), status=form.status)
