"""Somebody drops out or comes late: a timetable changed as little as can be, shown before it is kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError, Problems, suggestion
from fabella.exam import Day, Timetable, going_on, write_timetable
from fabella.store import NotThere, Role
from fabella.store.exams.leading import KeptExam
from fabella.store.exams.papers import TIMETABLE, put_papers
from fabella.web.door import SENDING, enter
from fabella.web.examining.changes import Changes, changes_between
from fabella.web.examining.drafting import Draft, readable_draft
from fabella.web.examining.grids import round_titles
from fabella.web.examining.people import EXAMINERS, with_away
from fabella.web.examining.placing import Asked, Placed, placed_when_ready, rounds_begun, without
from fabella.web.examining.stages import is_outdated
from fabella.web.forms import Form, blank, filled, typed_whole
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

FIELDS = ("examiner", "first", "last")
_ALL_DAY = "The order of the stations and the minutes at each stay as they were, all day."


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamChangePage:
    """A change of the timetable."""

    template: ClassVar[str] = "exam_change.html"

    exam: KeptExam = field(metadata=said("The exam."))
    form: Form = field(metadata=said("Who is away and when, and what is wrong."))
    people: tuple[tuple[str, str], ...] = field(metadata=said("The examiners: value and words."))
    rounds: tuple[tuple[str, str], ...] = field(metadata=said("The rounds: value and words."))
    begun: str = field(metadata=said("What has begun by the clock, in words."))
    is_outdated: bool = field(metadata=said("Whether plan, people or stations were changed as well."))
    is_waiting: bool = field(metadata=said("Whether the change is being worked out."))
    changes: Changes | None = field(metadata=said("What would change; None before it is worked out."))
    carried: tuple[tuple[str, str], ...] = field(metadata=said("What the next step has to send again."))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Absence:
    """Who is away in which rounds, counted from 0; nobody when ``examiner`` is empty."""

    examiner: str
    first: int
    last: int
    why: str


@enter(Role.TEACHER, methods=SENDING)
def exam_change(request: Request, exam_id: int) -> HttpResponse:
    """Ask who is away, show what that changes, and keep it."""
    draft = readable_draft(request.person, exam_id)
    table = draft.timetable
    if table is None:
        raise NotThere("There is no timetable yet that could be changed.")
    begun = rounds_begun(table.day, draft.exam.day, request.now)
    if request.method != "POST":
        last = len(table.day.rounds)
        return _ask(request, draft, table, begun, blank(first=str(min(begun + 1, last)), last=str(last)))
    try:
        return _work_out(request, draft, table)
    except InputError as error:
        return _ask(request, draft, table, begun, filled(request, error.problems))


def _work_out(request: Request, draft: Draft, table: Timetable) -> HttpResponse:
    typed = request.POST.dict()
    begun = _begun(typed, draft, table, request)
    day = going_on(table.day, draft.day(), begun)
    absence = _absence(typed, day)
    stays = begun
    if absence.examiner:
        day = without(day, absence.examiner, absence.first, absence.last)
        stays = min(begun, absence.first)  # who leaves in the middle of a round is replaced in it
    found = placed_when_ready(Asked(day=day, kept=table, begun=stays))
    carried = [(name, typed.get(name, "")) for name in FIELDS]
    seen = typed_whole(typed.get("seen", ""), otherwise=draft.version(TIMETABLE))
    carried += [("begun", str(begun)), ("seen", str(seen))]
    if found is not None and found.timetable is None:
        raise InputError(found.problems)
    if found is not None and typed.get("step") == "keep":
        return _keep(request, draft, absence, found, seen)
    return _ask(
        request,
        draft,
        table,
        begun,
        filled(request, ()),
        carried=tuple(carried),
        changes=changes_between(table, found.timetable, draft.names) if found and found.timetable else None,
    )


def _keep(request: Request, draft: Draft, absence: _Absence, found: Placed, seen: int) -> HttpResponse:
    """Keep the timetable, and for whom it was changed among the people."""
    if found.timetable is None:
        raise ValueError("only a timetable that was found is kept")
    texts, exam_id = {TIMETABLE: write_timetable(found.timetable)}, draft.exam.id
    if absence.examiner and draft.text(EXAMINERS):
        own = next(each for each in found.timetable.day.examiners if each.id == absence.examiner)
        texts[EXAMINERS] = with_away(draft.text(EXAMINERS), absence.examiner, own.away)
    put_papers(request.person, exam_id, texts, now=request.now, why=absence.why, seen={TIMETABLE: seen})
    return HttpResponseRedirect(url("exam_timetable", exam_id=exam_id))


def _absence(typed: Mapping[str, str], day: Day) -> _Absence:
    name, problems, turns = typed.get("examiner", ""), Problems(), []
    if not name:
        return _Absence(examiner="", first=0, last=0, why="fitted to plan and people")
    names = [each.id for each in day.examiners]
    if name not in names:
        problems.add("examiner", name, "is not on this day", suggestion(name, names))
    for place in ("first", "last"):
        text = typed.get(place, "")
        turn = typed_whole(text)
        if not 1 <= turn <= len(day.rounds):
            problems.add(place, text, "is no round", f"choose 1 to {len(day.rounds)}")
        else:
            turns.append(turn - 1)
    if not problems and turns[1] < turns[0]:
        problems.add("last", "", "comes before the first", "choose a later round")
    problems.raise_any()
    words = f"round {turns[0] + 1}" if turns[0] == turns[1] else f"rounds {turns[0] + 1} to {turns[1] + 1}"
    return _Absence(examiner=name, first=turns[0], last=turns[1], why=f"{name} is away in {words}")


def _begun(typed: Mapping[str, str], draft: Draft, table: Timetable, request: Request) -> int:
    """Return how many rounds stay as they are: as on the screen, and at first by the clock."""
    begun = typed_whole(typed.get("begun", ""), otherwise=-1)
    if 0 <= begun <= len(table.day.rounds):
        return begun
    return rounds_begun(table.day, draft.exam.day, request.now)


def _ask(
    request: Request,
    draft: Draft,
    table: Timetable,
    begun: int,
    form: Form,
    *,
    changes: Changes | None = None,
    carried: tuple[tuple[str, str], ...] = (),
) -> HttpResponse:
    titles = round_titles(table.day)
    page = ExamChangePage(
        exam=draft.exam,
        form=form,
        people=(
            ("", "nobody: fit it to what was changed"),
            *((each.id, each.id + (" (reserve)" if each.reserve else "")) for each in table.day.examiners),
        ),
        rounds=tuple((str(number), words) for number, words in enumerate(titles, 1)),
        begun=f"{begun} of {len(titles)} rounds have begun; in them everything stays. {_ALL_DAY}"
        if begun
        else "",
        is_outdated=is_outdated(draft),
        is_waiting=bool(carried) and changes is None,
        changes=changes,
        carried=carried,
    )
    return render(request, page, status=form.status)
