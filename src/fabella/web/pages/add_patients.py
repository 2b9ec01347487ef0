"""Several patients at once: a list is pasted or uploaded, read through, and then kept by one press."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse

from fabella.errors import InputError, Problems
from fabella.store import Role
from fabella.store.clinic.patient_lists import Added, Compared, add_list, compare_list
from fabella.web.door import SENDING, enter
from fabella.web.forms import Form
from fabella.web.patient_list import COLUMNS, MOST_PATIENTS, read_patient_list
from fabella.web.tables import sent_table
from fabella.web.templating import render, said
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class AddPatientsPage:
    """A list of patients: to be typed, to be looked through, or kept."""

    template: ClassVar[str] = "add_patients.html"

    form: Form = field(metadata=said("The list as typed or uploaded, and all that is wrong with it."))
    columns: tuple[str, ...] = field(metadata=said("The columns of the list."))
    most: int = field(metadata=said("How many patients one list can have."))
    compared: Compared | None = field(
        metadata=said("What keeping the list would do; None before it is right, and once it is kept.")
    )
    added: Added | None = field(metadata=said("What keeping it has done; None before it is kept."))


@enter(Role.CLINICIAN, methods=SENDING)
def add_patients(request: Request) -> HttpResponse:
    """Say what a list would do, or keep it; what is wrong is told at once, and what was typed stays."""
    text, problems = "", Problems()
    compared: Compared | None = None
    added: Added | None = None
    if request.method == "POST":
        text = request.POST.get("list", "").lstrip("\r\n")  # as the field shows it, so that lines count alike
        try:
            if (sent := sent_table(request, "list_file", place="list")) is not None:
                text = sent
            people = read_patient_list(text, today=request.today, problems=problems)
            if problems or request.POST.get("step") != "keep":
                compared = compare_list(request.person, people, today=request.today, now=request.now)
                problems.extend(compared.problems)
            else:
                added = add_list(request.person, people, today=request.today, now=request.now)
        except InputError as error:
            problems.extend(error.problems)
    page = AddPatientsPage(
        form=Form({"list": text}, tuple(problems)),
        columns=COLUMNS,
        most=MOST_PATIENTS,
        compared=None if problems else compared,
        added=added,
    )
    return render(request, page, status=page.form.status)
