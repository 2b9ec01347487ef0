"""One mark sheet for the lead: what stands, what is in dispute, and the reasons for what is changed."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError, Problem
from fabella.exam import STATEMENTS, Act, Sheet
from fabella.store import Role
from fabella.store.exams.duties import SheetKey
from fabella.store.exams.leading import KeptExam, exam_of
from fabella.store.exams.papers import station_of
from fabella.store.exams.settling import call_void, leave_open, reopen, settle, settle_alike
from fabella.store.exams.sheets import led_sheet
from fabella.store.exams.typing_in import typists_of
from fabella.web.door import SENDING, enter
from fabella.web.forms import new_id, typed_whole
from fabella.web.marking.sheet_view import SheetView, sheet_view
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamSheetPage:
    """A mark sheet."""

    template: ClassVar[str] = "exam_sheet.html"

    exam: KeptExam = field(metadata=said("The exam."))
    key: SheetKey = field(metadata=said("Candidate, station and examiner."))
    title: str = field(metadata=said("The station's title."))
    sheet: Sheet = field(metadata=said("The sheet as it stands."))
    view: SheetView = field(metadata=said("The same in words."))
    typists: tuple[str, ...] = field(metadata=said("Initials of those who typed it in from paper."))
    can_be_void: bool = field(metadata=said("Whether it can be called lost, or that be taken back."))
    problems: tuple[str, ...] = field(metadata=said("Everything wrong with what was sent."))


@enter(Role.TEACHER, methods=SENDING)
def exam_sheet(request: Request, exam_id: int, station: str, candidate: str, examiner: str) -> HttpResponse:
    """Show a sheet; settle disputes on it or leave one open, open it again, or call it lost."""
    key = SheetKey(candidate=candidate, station=station, examiner=examiner)
    problems: tuple[Problem, ...] = ()
    if request.method == "POST":
        try:
            _act(request, exam_id, key)
        except InputError as error:
            problems = error.problems
        else:
            return HttpResponseRedirect(
                url("exam_sheet", exam_id=exam_id, station=station, candidate=candidate, examiner=examiner)
            )
    exam, kept = exam_of(request.person, exam_id), station_of(exam_id, station)
    sheet, entries = led_sheet(request.person, exam_id, key)
    page = ExamSheetPage(
        exam=exam,
        key=key,
        title=kept.title,
        sheet=sheet,
        view=sheet_view(sheet, entries, kept),
        typists=typists_of(sheet),
        can_be_void=exam.stage.can_be_settled and (sheet.is_blank or bool(sheet.void)),
        problems=tuple(map(str, problems)),
    )
    return render(request, page, status=400 if problems else 200)


def _act(request: Request, exam_id: int, key: SheetKey) -> None:
    typed, now = request.POST, request.now
    reason, number = typed.get("reason", ""), typed_whole(typed.get("seen", ""))
    if typed.get("step") == "reopen":
        reopen(request.person, exam_id, key, reason=reason, seen=number, now=now, name=new_id)
        return
    if typed.get("step") in ("void", "held"):
        is_void = typed["step"] == "void"
        call_void(request.person, exam_id, [key], is_void=is_void, reason=reason, now=now, name=new_id)
        return
    if like := typed.get("like"):
        settle_alike(
            request.person, exam_id, key, like=like, reason=reason, seen=number, now=now, name=new_id
        )
        return
    if typed.get("about") not in STATEMENTS:
        raise InputError.of(place="about", says="is missing", remedy="press a button")
    about, item = Act(typed["about"]), typed.get("item", "")
    if typed.get("step") == "leave":
        leave_open(
            request.person,
            exam_id,
            key,
            about=about,
            item=item,
            reason=reason,
            seen=number,
            now=now,
            name=new_id,
        )
        return
    settle(
        request.person,
        exam_id,
        key,
        about=about,
        item=item,
        holds=typed.get("holds", ""),
        reason=reason,
        seen=number,
        now=now,
        name=new_id,
    )
