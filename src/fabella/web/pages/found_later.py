"""What a scan or an operation showed after a visit was signed: told, corrected, withdrawn."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.anatomy import load_lesions
from fabella.errors import InputError
from fabella.hands import Method
from fabella.report.hands_words import METHODS
from fabella.store import NotThere, Role
from fabella.store.clinic.confirming import Confirmed, confirm, confirmations_of, standing, withdraw
from fabella.store.clinic.lines import VisitLine
from fabella.store.clinic.visits import VisitRecord, see_visit
from fabella.web.door import SENDING, enter
from fabella.web.forms import Form, blank, filled
from fabella.web.found_later.answering import (
    IS,
    REST,
    Group,
    as_typed,
    empty_rest,
    fill_rest,
    groups_of,
    in_place,
    is_touched,
    rest_problems,
    stated_in,
)
from fabella.web.found_later.grouping import Asked, asked
from fabella.web.found_later.telling import Look, by_lesion, looks, named_then, told_then
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

KEEP, WITHDRAW = "keep", "withdraw"
_METHODS = tuple((each.value, METHODS[each]) for each in dict.fromkeys((Method.MRI, *Method)))
_FIELDS = ("side", "method", "on", "by", "note", "reason")


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundLaterPage:
    """The form about one look into a knee of a signed visit."""

    template: ClassVar[str] = "found_later.html"

    visit: VisitLine = field(metadata=said("The visit, signed or not yet."))
    kept: tuple[Look, ...] = field(metadata=said("What was told before and holds."))
    corrects: Look | None = field(metadata=said("What is to be corrected; None for a look of its own."))
    form: Form = field(metadata=said("What was typed, and what is wrong with it."))
    methods: tuple[tuple[str, str], ...] = field(
        metadata=said("How a knee can be looked into, as value and words: MRI, then the surest first.")
    )
    first: Group = field(metadata=said("What was named likely, and what any report of the knee names."))
    more: tuple[Group, ...] = field(metadata=said("All other lesions, by tissue."))
    more_open: bool = field(metadata=said("Whether anything is stated or wrong among the others."))
    others: tuple[str, ...] = field(metadata=said("Problems that belong to no field."))
    today: date = field(metadata=said("The latest day that a look can have."))


@enter(Role.CLINICIAN, methods=SENDING)
def found_later(request: Request, visit_id: int) -> HttpResponse:
    """Ask what a look showed, and keep it."""
    record = see_visit(request.person, visit_id, now=request.now)
    complaint = record.line.complaint or ()
    side = complaint[0].value if len(complaint) == 1 else ""
    return _page(request, record, None, blank(side=side))


@enter(Role.CLINICIAN, methods=SENDING)
def found_again(request: Request, visit_id: int, number: int) -> HttpResponse:
    """Correct what was told of a look, or withdraw it, for a reason."""
    record = see_visit(request.person, visit_id, now=request.now)
    kept = standing(confirmations_of(request.person, visit_id))
    wanted = next((each for each in kept if each.number == number), None)
    if wanted is None or wanted.confirmation is None:
        raise NotThere("There is nothing of this number that holds: it may have been corrected since.")
    return _page(request, record, wanted, Form(as_typed(wanted.confirmation)))


def _page(request: Request, record: VisitRecord, corrects: Confirmed | None, form: Form) -> HttpResponse:
    groups = asked(named_then(record.concluded))
    if request.method == "POST":
        sent = _acted(request, record, corrects, groups)
        if sent is None:
            return HttpResponseRedirect(f"{url('visit', visit_id=record.line.id)}#found-later")
        form = sent
    told = told_then(record.concluded)
    every = looks(confirmations_of(request.person, record.line.id), told)
    first, *more = groups_of(groups, form, lesions=load_lesions(), told=by_lesion(told))
    names = {IS + row.lesion for group in (first, *more) for row in group.rows}
    places = {*_FIELDS, "found", *names, *(REST + group.id for group in (first, *more))}
    page = FoundLaterPage(
        visit=record.line,
        kept=tuple(each for each in every if each.standing),
        corrects=next((each for each in every if corrects and each.number == corrects.number), None),
        form=form,
        methods=_METHODS,
        first=first,
        more=tuple(more),
        more_open=any(is_touched(group, form) for group in more),
        others=form.others(*places),
        today=request.today,
    )
    return render(request, page, status=form.status)


def _acted(
    request: Request, record: VisitRecord, corrects: Confirmed | None, groups: tuple[Asked, ...]
) -> Form | None:
    """Do what was sent; return the form to be shown again, or None when it is done."""
    typed = request.POST.dict()
    deed, _, which = typed.pop("do", KEEP).partition(":")
    group = next((each for each in groups if each.id == which), None)
    if group is not None and deed == "rest":
        return Form(*fill_rest(typed, group))
    if group is not None and deed == "unrest":
        return Form(empty_rest(typed, group))
    try:
        if deed == WITHDRAW and corrects is not None:
            reason = typed.get("reason", "")
            withdraw(request.person, record.line.id, corrects.number, reason, now=request.now)
        elif deed != KEEP:
            return Form(typed)
        else:
            confirm(
                request.person,
                record.line.id,
                stated_in(typed),
                today=request.today,
                now=request.now,
                replaces=corrects.number if corrects else None,
                reason=typed.get("reason", ""),
                problems=rest_problems(typed, groups),
            )
    except InputError as error:
        return filled(request, in_place(error.problems))
    return None
