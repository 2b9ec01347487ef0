"""Codes by which examiners mark and candidates read their result: made, shown once as slips, taken back."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect
from django.http.request import split_domain_port

from fabella.errors import InputError
from fabella.store import NotThere, Role
from fabella.store.exams.codes import CodeLine, Kind, code_lines, end_code, make_codes
from fabella.store.exams.leading import KeptExam, exam_of
from fabella.store.short_codes import spaced_code
from fabella.web.door import SENDING, enter
from fabella.web.forms import Form, blank, filled
from fabella.web.options import LOOPBACK_NAMES
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

KINDS = {"examiners": Kind.EXAMINER, "candidates": Kind.CANDIDATE}
WHAT = {
    Kind.EXAMINER: "It lets you mark at your own stations of this exam. Keep it to yourself.",
    Kind.CANDIDATE: "It lets you read your own result once it is released. Keep it to yourself.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamCodesPage:
    """Who has a code."""

    template: ClassVar[str] = "exam_codes.html"

    exam: KeptExam = field(metadata=said("The exam."))
    who: str = field(metadata=said("For whom the codes are: examiners or candidates."))
    lines: tuple[CodeLine, ...] = field(
        metadata=said("Everybody, with the time at which their code was made.")
    )
    slips: tuple[tuple[str, str], ...] = field(metadata=said("Names and codes just made; shown this once."))
    door: str = field(metadata=said("The address at which a code is typed."))
    is_only_here: bool = field(metadata=said("Whether no other machine can open that address."))
    what: str = field(metadata=said("What a code lets one do, for the slip."))
    form: Form = field(metadata=said("What was pressed, and what is wrong."))


@enter(Role.TEACHER, methods=SENDING)
def exam_codes(request: Request, exam_id: int, who: str) -> HttpResponse:
    """Show who has a code, make codes, or take one back."""
    exam = exam_of(request.person, exam_id)
    if who not in KINDS:
        raise NotThere("There is no such page.")
    kind, form, slips = KINDS[who], blank(), tuple[tuple[str, str], ...]()
    if request.method == "POST":
        name = request.POST.get("person", "")
        if request.POST.get("step") == "end":
            end_code(request.person, exam_id, kind, name, now=request.now)
            return HttpResponseRedirect(url("exam_codes", exam_id=exam_id, who=who))
        lines = code_lines(request.person, exam_id, kind)
        names = [name] if name else [each.person for each in lines if each.at is None]
        try:
            made = make_codes(request.person, exam_id, kind, names, now=request.now, dice=secrets.randbelow)
            slips = tuple((each, spaced_code(code)) for each, code in made)
        except InputError as error:
            form = filled(request, error.problems)
    page = ExamCodesPage(
        exam=exam,
        who=who,
        lines=code_lines(request.person, exam_id, kind),
        slips=slips,
        door=request.build_absolute_uri(url("mark_door")),
        is_only_here=split_domain_port(request.get_host())[0] in LOOPBACK_NAMES,
        what=WHAT[kind],
        form=form,
    )
    return render(request, page, status=form.status)
