"""The day of an exam: circuits, rounds, rests and minutes, and what they come to."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError
from fabella.exam import MINUTES_OF_A_DAY, clock
from fabella.report.wording import counted
from fabella.store import Role
from fabella.store.exams.leading import KeptExam
from fabella.store.exams.papers import put_paper
from fabella.web.door import SENDING, enter
from fabella.web.examining.day_plan import FIELDS, PLAN, USUAL, Plan, read_plan, typed_plan, write_plan
from fabella.web.examining.drafting import Draft, readable_draft
from fabella.web.forms import Form, blank, filled, typed_whole
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundLine:
    """A round of the plan: when it begins and ends, and by how much its stations are longer."""

    number: int
    begins: str
    ends: str
    longer: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamDayPage:
    """The plan of a day."""

    template: ClassVar[str] = "exam_day.html"

    exam: KeptExam = field(metadata=said("The exam."))
    stations: int = field(metadata=said("How many stations there are."))
    form: Form = field(metadata=said("The plan as typed, and what is wrong with it."))
    fields: tuple[str, ...] = field(metadata=said("Names of the fields of the plan."))
    seen: int = field(metadata=said("The version of the plan on the screen; 0 before there is one."))
    rounds: tuple[RoundLine, ...] = field(metadata=said("The rounds as planned; empty before they are."))
    room: str = field(
        metadata=said("How many candidates the day takes, in words; empty before it is planned.")
    )
    warning: str = field(
        metadata=said("That the day ends too late or stations are of other lengths; empty for neither.")
    )


@enter(Role.TEACHER, methods=SENDING)
def exam_day(request: Request, exam_id: int) -> HttpResponse:
    """Show the plan of a day, or keep it."""
    draft = readable_draft(request.person, exam_id)
    form = _kept_form(draft)
    if request.method == "POST":
        try:
            return _keep(request, draft)
        except InputError as error:
            form = filled(request, error.problems)
    plan = draft.plan
    page = ExamDayPage(
        exam=draft.exam,
        stations=len(draft.ids),
        form=form,
        fields=FIELDS,
        seen=draft.version(PLAN),
        rounds=_rounds(draft, plan) if plan else (),
        room=_room(draft, plan) if plan else "",
        warning=_warning(draft, plan) if plan else "",
    )
    return render(request, page, status=form.status)


def _keep(request: Request, draft: Draft) -> HttpResponse:
    typed = request.POST.dict()
    read_plan(typed)
    seen = typed_whole(typed.get("seen", ""))
    put_paper(request.person, draft.exam.id, PLAN, write_plan(typed), now=request.now, seen=seen)
    return HttpResponseRedirect(url("exam_day", exam_id=draft.exam.id) + "#rounds-title")


def _kept_form(draft: Draft) -> Form:
    if draft.text(PLAN):
        return Form(typed_plan(draft.text(PLAN)))
    longest = max((each.minutes for each in draft.stations), default=8.0)
    return blank(**{**USUAL, "station_min": f"{longest:g}"})


def _rounds(draft: Draft, plan: Plan) -> tuple[RoundLine, ...]:
    places = len(draft.ids) + plan.rests
    return tuple(
        RoundLine(
            number=number,
            begins=clock(each.begins_min),
            ends=clock(plan.ends_min(each, number - 1, places)),
            longer=f"stations {100 * each.extra_share:.0f} % longer" if each.extra_share else "",
        )
        for number, each in enumerate(plan.rounds(places), 1)
    )


def _room(draft: Draft, plan: Plan) -> str:
    places = len(draft.ids) + plan.rests
    circuits, rounds = len(plan.circuits), len(plan.pauses_min)
    posts = len(draft.ids) * circuits * plan.examiners_each
    sum_words = " × ".join((counted(places, "place"), counted(circuits, "circuit"), counted(rounds, "round")))
    room = counted(places * circuits * rounds, "candidate")
    return f"{sum_words}: room for {room}; {counted(posts, 'examiner')} at work at the same time."


def _warning(draft: Draft, plan: Plan) -> str:
    """Return what cannot be held as planned, in sentences; empty for nothing."""
    said = []
    places = len(draft.ids) + plan.rests
    rounds = plan.rounds(places)
    if plan.ends_min(rounds[-1], len(rounds) - 1, places) > MINUTES_OF_A_DAY:
        said.append(f"Round {len(rounds)} ends after midnight: begin earlier, or plan another day.")
    odd = [
        f"station {each.id} ({each.minutes:g})" for each in draft.stations if each.minutes != plan.station_min
    ]
    if odd:
        planned = f"Planned are {plan.station_min:g} minutes at each station"
        said.append(f"{planned}, but these are written for others: {', '.join(odd)}.")
    return " ".join(said)
