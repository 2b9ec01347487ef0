"""One patient: all visits on one line in time, a new visit, corrected details, and the trail."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError
from fabella.protocol import load_protocol
from fabella.record import Setting
from fabella.report.story import history_words
from fabella.store import Role
from fabella.store.clinic.confirming import confirmations_by_visit
from fabella.store.clinic.details import Complaint, read_patient_details, read_visit_details
from fabella.store.clinic.lines import PatientLine, VisitLine
from fabella.store.clinic.own_visits import usual_setting
from fabella.store.clinic.patients import correct_patient, see_patient
from fabella.store.clinic.reading_trail import SHOWN_AT_MOST, TrailLine, trail_of
from fabella.store.clinic.taking_over import lasting, stated_in
from fabella.store.clinic.visits import begin_visit, examination_now
from fabella.web.door import SENDING, enter
from fabella.web.forms import Form, blank, filled, typed_whole
from fabella.web.found_later.telling import Look, looks
from fabella.web.templating import render, said, url
from fabella.web.timeline import Timeline, timeline, turns
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class PatientPage:
    """A patient with all visits."""

    template: ClassVar[str] = "patient.html"

    patient: PatientLine = field(metadata=said("The patient, as old as today."))
    visits: tuple[VisitLine, ...] = field(metadata=said("All visits, the earliest first."))
    line: Timeline = field(metadata=said("The same visits on one line in time."))
    turns: Mapping[int, int] = field(
        metadata=said("Which visit of its day each is, by its number, where the day has several.")
    )
    found: dict[int, tuple[Look, ...]] = field(
        metadata=said("What was found later, in words, by the number of the visit.")
    )
    form: Form = field(metadata=said("What was typed for a new visit, and what is wrong with it."))
    proposed: VisitLine | None = field(
        metadata=said("The earlier visit that side and setting are proposed from; None when there is none.")
    )
    usual: Setting | None = field(
        metadata=said("Where the clinician's last visit was, proposed for a first one; None for nowhere.")
    )
    lasts: str = field(
        metadata=said("What lasts from the latest visit, as a letter tells it; empty for nothing.")
    )
    today: date = field(metadata=said("The latest day that a visit can have."))


@dataclass(frozen=True, slots=True, kw_only=True)
class DetailsPage:
    """The form that corrects a patient's details."""

    template: ClassVar[str] = "details.html"

    patient: PatientLine = field(metadata=said("The patient as known now."))
    form: Form = field(metadata=said("What was typed, and what is wrong with it."))
    today: date = field(metadata=said("The latest birth date that is possible."))


@dataclass(frozen=True, slots=True, kw_only=True)
class TrailPage:
    """Who saw and who wrote what of a patient."""

    template: ClassVar[str] = "trail.html"

    patient: PatientLine = field(metadata=said("The patient."))
    lines: tuple[TrailLine, ...] = field(metadata=said("Lines of the trail, the latest first."))
    is_cut: bool = field(metadata=said("Whether there are earlier lines than are shown."))


@enter(Role.CLINICIAN, methods=SENDING)
def patient(request: Request, patient_id: int) -> HttpResponse:
    """Show a patient; begin a visit when one is sent."""
    form = None
    if request.method == "POST":
        try:
            details = read_visit_details(request.POST.dict(), today=request.today)
        except InputError as error:
            form = filled(request, error.problems)
        else:
            earlier = typed_whole(request.POST.get("take_over", "")) or None
            visit = begin_visit(request.person, patient_id, details, take_over=earlier, now=request.now)
            return HttpResponseRedirect(url("examine", visit_id=visit))
    record = see_patient(request.person, patient_id, today=request.today, now=request.now)
    proposed = record.visits[-1] if record.visits and form is None else None
    usual = usual_setting(request.person) if form is None and not record.visits else None
    found = confirmations_by_visit(request.person, patient_id)
    looked = [each.confirmation.on for kept in found.values() for each in kept if each.confirmation]
    page = PatientPage(
        patient=record.patient,
        visits=record.visits,
        line=timeline(record.visits, request.today, looked),
        turns=turns(record.visits),
        found={visit: looks(kept, {}) for visit, kept in found.items()},
        form=form or _as_before(proposed, request.today, usual),
        proposed=proposed,
        usual=usual,
        lasts=_lasts(request, record.visits),
        today=request.today,
    )
    return render(request, page, status=page.form.status)


@enter(Role.CLINICIAN, methods=SENDING)
def details(request: Request, patient_id: int) -> HttpResponse:
    """Correct a patient's details."""
    known = see_patient(request.person, patient_id, today=request.today, now=request.now).patient
    form = _as_known(known)
    if request.method == "POST":
        try:
            new = read_patient_details(request.POST.dict(), today=request.today)
            correct_patient(request.person, patient_id, new, now=request.now)
        except InputError as error:
            form = filled(request, error.problems)
        else:
            return HttpResponseRedirect(url("patient", patient_id=patient_id))
    return render(request, DetailsPage(patient=known, form=form, today=request.today), status=form.status)


@enter(Role.CLINICIAN)
def trail(request: Request, patient_id: int) -> HttpResponse:
    """Show the trail of a patient."""
    told = trail_of(request.person, patient_id, today=request.today, now=request.now)
    page = TrailPage(patient=told.patient, lines=told.lines, is_cut=len(told.lines) == SHOWN_AT_MOST)
    return render(request, page)


def _lasts(request: Request, visits: tuple[VisitLine, ...]) -> str:
    """Return what lasts from the latest visit, told as of today."""
    if not visits:
        return ""
    known = examination_now(request.person, visits[-1].id)
    kept = lasting(known, day=request.today, complaint=known.context.complaint)
    return history_words(kept, load_protocol()) if stated_in(kept) else ""


def _as_before(earlier: VisitLine | None, today: date, usual: Setting | None) -> Form:
    """Return the form of a new visit today: side and setting as at an earlier one, or the usual setting."""
    if earlier is None:
        return blank(day=today.isoformat(), setting=usual.value if usual else "")
    return blank(
        day=today.isoformat(),
        complaint="" if earlier.complaint is None else Complaint.of(earlier.complaint).value,
        setting=earlier.setting.value if earlier.setting else "",
        take_over=str(earlier.id),
    )


def _as_known(known: PatientLine) -> Form:
    return blank(
        number=known.number,
        label=known.label,
        birth_date=known.birth_date.isoformat() if known.birth_date else "",
        sex=known.sex.value if known.sex else "",
    )
