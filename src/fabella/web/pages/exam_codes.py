"""Codes by which examiners mark and candidates read their result: made, shown once as slips, taken back."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from threading import Lock
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect
from django.http.request import split_domain_port

from fabella.errors import InputError
from fabella.store import NotThere, Role
from fabella.store.exams.codes import CodeLine, Kind, code_lines, end_code, make_codes
from fabella.store.exams.leading import KeptExam, exam_of
from fabella.store.remembered import Remembered
from fabella.store.short_codes import spaced_code
from fabella.web.door import SENDING, enter
from fabella.web.forms import Form, blank, filled, new_id
from fabella.web.options import LOOPBACK_NAMES
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

Slips = tuple[tuple[str, str], ...]
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
    slips: Slips = field(metadata=said("Names and codes just made; shown this once."))
    door: str = field(metadata=said("The address at which a code is typed."))
    is_only_here: bool = field(metadata=said("Whether no other machine can open that address."))
    what: str = field(metadata=said("What a code lets one do, for the slip."))
    form: Form = field(metadata=said("What was pressed, and what is wrong."))
    press: str = field(metadata=said("An id for the button that is pressed next."))


@enter(Role.TEACHER, methods=SENDING)
def exam_codes(request: Request, exam_id: int, who: str) -> HttpResponse:
    """Show who has a code, make codes, or take one back."""
    exam = exam_of(request.person, exam_id)
    if who not in KINDS:
        raise NotThere("There is no such page.")
    kind, form, slips = KINDS[who], blank(), Slips()
    if request.method == "POST":
        name = request.POST.get("person", "")
        if request.POST.get("step") == "end":
            with _making:
                _last.take((exam_id, kind))
                end_code(request.person, exam_id, kind, name, now=request.now)
            return HttpResponseRedirect(url("exam_codes", exam_id=exam_id, who=who))
        try:
            slips = _made(request, exam_id, kind, name)
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
        press=new_id(),
    )
    return render(request, page, status=form.status)


_LONGEST = timedelta(minutes=10)
"""In which a page of slips that was not shown can be loaded again (judgement)."""

_LONGEST_ID = 64
_making = Lock()
_last: Remembered[tuple[int, Kind], tuple[str, datetime, Slips]] = Remembered(4)
"""Of an exam what was made last, by the press that made it: what was made before may be ended."""


def _made(request: Request, exam_id: int, kind: Kind, name: str) -> Slips:
    """Make codes for one or for all who have none; a button pressed twice is shown what it made.

    A browser shows the second answer alone, and nobody can look up again what stood on the first.
    """
    person, sent = request.person, request.POST.get("press", "")
    press = f"{sent[:_LONGEST_ID]} {name} {person.name}"
    with _making:
        known = _last.take((exam_id, kind))
        if sent and known is not None and known[0] == press and abs(request.now - known[1]) < _LONGEST:
            _last.put((exam_id, kind), known)
            return known[2]
        lines = code_lines(person, exam_id, kind)
        names = [name] if name else [each.person for each in lines if each.at is None]
        made = make_codes(person, exam_id, kind, names, now=request.now, dice=secrets.randbelow)
        slips = tuple((each, spaced_code(code)) for each, code in made)
        _last.put((exam_id, kind), (press, request.now, slips))
        return slips
