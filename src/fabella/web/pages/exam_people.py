"""Who is there on the day: candidates and examiners, pasted or uploaded as tables."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError, Problem, Problems
from fabella.store import Role
from fabella.store.exams.leading import KeptExam
from fabella.store.exams.papers import put_papers
from fabella.web.door import SENDING, enter
from fabella.web.examining.drafting import Draft, readable_draft
from fabella.web.examining.people import CANDIDATES, COLUMNS, EXAMINERS, People, read_people
from fabella.web.forms import Form, typed_whole
from fabella.web.tables import sent_table
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

LISTS = (CANDIDATES, EXAMINERS)


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamPeoplePage:
    """The people of an exam."""

    template: ClassVar[str] = "exam_people.html"

    exam: KeptExam = field(metadata=said("The exam."))
    form: Form = field(metadata=said("The tables as typed or uploaded, and all that is wrong with them."))
    columns: dict[str, tuple[str, ...]] = field(metadata=said("The columns of each table."))
    seen: str = field(metadata=said("The versions of both tables on the screen."))
    told: tuple[str, ...] = field(metadata=said("Who is there, counted, in words; empty before anybody is."))
    stations: tuple[tuple[str, str], ...] = field(
        metadata=said("The stations: what to write, and the title.")
    )


@enter(Role.TEACHER, methods=SENDING)
def exam_people(request: Request, exam_id: int) -> HttpResponse:
    """Show who is there, or keep what was typed."""
    draft = readable_draft(request.person, exam_id)
    form, status = Form({name: draft.text(name) for name in LISTS}, _wrong_now(draft)), 200  # not refused
    if request.method == "POST":
        typed: dict[str, str] = {}
        try:
            typed |= _typed(request)
            return _keep(request, draft, typed)
        except InputError as error:
            form, status = Form(typed or request.POST.dict(), error.problems), 400
    page = ExamPeoplePage(
        exam=draft.exam,
        form=form,
        columns=COLUMNS,
        seen=" ".join(str(draft.version(name)) for name in LISTS),
        told=() if _wrong_now(draft) else tuple(_told(draft.people())),
        stations=tuple(draft.titles.items()),
    )
    return render(request, page, status=status)


def _keep(request: Request, draft: Draft, typed: dict[str, str]) -> HttpResponse:
    read_people(typed[CANDIDATES], typed[EXAMINERS], stations=draft.ids, plan=draft.plan)
    changed = {name: typed[name] for name in LISTS if typed[name] != draft.text(name)}
    seen = dict(zip(LISTS, map(typed_whole, request.POST.get("seen", "").split()), strict=False))
    put_papers(request.person, draft.exam.id, changed, now=request.now, seen=seen)
    return HttpResponseRedirect(url("exam_people", exam_id=draft.exam.id))


def _typed(request: Request) -> dict[str, str]:
    """Return both tables; a file takes the place of what stands in its field."""
    found, problems = dict[str, str](), Problems()
    for name in LISTS:
        text = request.POST.get(name, "")
        try:
            if (sent := sent_table(request, f"{name}_file", place=name)) is not None:
                text = sent
        except InputError as error:
            problems.extend(error.problems)
        found[name] = text.replace("\r\n", "\n").strip("\n") + "\n" if text.strip() else ""
    problems.raise_any()
    return found


def _wrong_now(draft: Draft) -> tuple[Problem, ...]:
    """Return what does not fit in what is kept, since plan or stations were changed."""
    try:
        draft.people()
    except InputError as error:
        return error.problems
    return ()


def _told(people: People) -> list[str]:
    told = []
    if people.candidates:
        extra = sum(1 for each in people.candidates if each.extra_share)
        conflicts = sum(1 for each in people.candidates if each.conflicts)
        number = len(people.candidates)
        told.append(f"{number} candidates: {extra} with extra time, {conflicts} with a conflict declared.")
    if people.examiners:
        reserve = sum(1 for each in people.examiners if each.reserve)
        away = sum(1 for each in people.examiners if each.away)
        told.append(f"{len(people.examiners)} examiners: {reserve} in reserve, {away} away in some rounds.")
    return told
