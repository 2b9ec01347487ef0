"""The first examination, step by step: through the invented clinic where there is one, in words elsewhere."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse

from fabella.store import Role
from fabella.store.clinic.lines import VisitLine
from fabella.store.clinic.patients import find_patients, see_patient
from fabella.web.door import enter_known
from fabella.web.templating import render, said
from fabella.web.visitor import Request

GUIDED = "INV-01"
"""The number of the invented patient through whose examination a newcomer is led."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstPage:
    """One examination from the list of the day to the signed letter."""

    template: ClassVar[str] = "first.html"

    visit: VisitLine | None = field(
        metadata=said("The open visit of an invented patient to walk through; None where there is none.")
    )
    earlier: VisitLine | None = field(metadata=said("A signed visit of the same patient; None without one."))


@enter_known()
def first(request: Request) -> HttpResponse:
    """Lead a newcomer through one examination."""
    visits = _invented(request) if Role.CLINICIAN in request.person.roles else ()
    page = FirstPage(
        visit=next((each for each in visits if not each.is_signed), None),
        earlier=next((each for each in visits if each.is_signed), None),
    )
    return render(request, page)


def _invented(request: Request) -> tuple[VisitLine, ...]:
    """Return the visits of the invented patient, if the invented clinic is here."""
    for patient in find_patients(request.person, GUIDED, today=request.today, now=request.now):
        if patient.is_invented and patient.number == GUIDED:
            return see_patient(request.person, patient.id, today=request.today, now=request.now).visits
    return ()
