"""The course of a patient over all visits: what has truly changed, drawn and said."""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.anatomy import load_lesions
from fabella.errors import InputError
from fabella.evidence import load_edition
from fabella.follow import follow
from fabella.protocol import load_protocol
from fabella.record import SCORES, Change, Examination, Score
from fabella.report.course_words import CourseWords, course_words
from fabella.store import Frozen, Role
from fabella.store.clinic.charting import save_one
from fabella.store.clinic.courses import CourseRecord, see_course
from fabella.store.clinic.lines import PatientLine, VisitLine
from fabella.web.bedside.norms import norm_words
from fabella.web.door import SENDING, enter
from fabella.web.following import Group, Numbers, chart_groups, numbers_of
from fabella.web.forms import Form, blank, filled, typed_number
from fabella.web.recalled import followed
from fabella.web.templating import render, said, url
from fabella.web.timeline import turns
from fabella.web.visitor import Request
from fabella.workup import Workup


@dataclass(frozen=True, slots=True, kw_only=True)
class CoursePage:
    """Everything that was followed of a patient."""

    template: ClassVar[str] = "course.html"

    patient: PatientLine = field(metadata=said("The patient, as old as today."))
    visits: tuple[VisitLine, ...] = field(metadata=said("All visits, the earliest first."))
    words: CourseWords | None = field(
        metadata=said("What has changed, in sentences; None before anything was recorded.")
    )
    groups: tuple[Group, ...] = field(metadata=said("A chart of everything that was recorded twice."))
    numbers: Numbers | None = field(metadata=said("The same numbers, as a table."))
    edition: str = field(metadata=said("Edition of the evidence that all visits are held against."))
    scores: tuple[Score, ...] = field(metadata=said("The questionnaires whose totals can be kept."))
    open_visits: tuple[VisitLine, ...] = field(
        metadata=said("Visits to which a total can be added, the latest first.")
    )
    turns: Mapping[int, int] = field(
        metadata=said("Which visit of its day each is, by its number, where the day has several.")
    )
    form: Form = field(metadata=said("The total as typed, and what is wrong with it."))


@enter(Role.CLINICIAN, methods=SENDING)
def course(request: Request, patient_id: int) -> HttpResponse:
    """Show the course of a patient; keep the total of a questionnaire when one is sent."""
    form = blank()
    record = see_course(request.person, patient_id, today=request.today, now=request.now)
    if request.method == "POST":
        try:
            _keep_total(request, record, request.POST.dict())
        except InputError as error:
            form = filled(request, error.problems)
        else:
            return HttpResponseRedirect(f"{url('course', patient_id=patient_id)}#numbers")
    return render(request, _page(record, form), status=form.status)


def _page(record: CourseRecord, form: Form) -> CoursePage:
    protocol, lesions, edition = load_protocol(), load_lesions(), load_edition()
    taken = [(line, each) for line, each in record.visits if each.findings or each.totals]
    visits = tuple(line for line, _ in record.visits)
    of_day = turns(visits)
    words: CourseWords | None = None
    groups: tuple[Group, ...] = ()
    numbers: Numbers | None = None
    if taken:
        seen = _followed([each for _, each in taken])
        course = follow(seen, edition=edition, protocol=protocol)
        norms = norm_words(record.visits[-1][1].patient)
        words = course_words(course, protocol=protocol, lesions=lesions, visits=seen)
        groups = chart_groups(course, edition=edition, protocol=protocol, lesions=lesions, norms=norms)
        numbers = numbers_of(
            course,
            turns=[of_day.get(line.id) for line, _ in taken],
            protocol=protocol,
            lesions=lesions,
            norms=norms,
        )
    return CoursePage(
        patient=record.patient,
        visits=visits,
        words=words,
        groups=groups,
        numbers=numbers,
        edition=edition.id,
        scores=tuple(SCORES.values()),
        open_visits=tuple(each for each in reversed(visits) if not each.is_signed),
        turns=of_day,
        form=form,
    )


def _followed(examinations: Sequence[Examination]) -> list[Workup | Examination]:
    """Return examinations with their conclusions, but for those at which neither knee was examined."""
    worked_up = iter(followed([each for each in examinations if each.sides]))
    return [next(worked_up) if each.sides else each for each in examinations]


def _keep_total(request: Request, record: CourseRecord, typed: Mapping[str, str]) -> None:
    """Keep a total on one of the patient's open visits; raise `InputError` at the field that is wrong."""
    visits = {str(line.id): line for line, _ in record.visits}
    visit = visits.get(typed.get("visit", ""))
    if visit is None:
        raise InputError.of(place="visit", says="is missing", remedy="choose a visit")
    if visit.is_signed:
        raise Frozen("That examination is signed. Amend it first, then add the total.")
    value = typed.get("value", "").strip()
    points = typed_number(value)
    if points is None:
        says, remedy = "is no number", "write the points of the total"
        raise InputError.of(place="value", value=value, says=says, remedy=remedy)
    operation = {
        "id": f"form-{secrets.token_hex(12)}",
        "base": visit.version,
        "change": Change.SET_TOTAL,
        "score": typed.get("score", ""),
        "side": typed.get("side") or None,
        "value": points,
    }
    if problems := save_one(request.person, visit.id, operation, now=request.now):
        raise InputError(replace(each, place=each.place.removeprefix("operations[0].")) for each in problems)
