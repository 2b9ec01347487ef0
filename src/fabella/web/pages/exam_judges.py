"""What judges of Angoff's method expect: typed as a table, pasted or uploaded; every round is kept."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.assess import CutMethod, Estimates, write_rules
from fabella.errors import InputError, Problem
from fabella.papers.words import METHODS
from fabella.store import Role
from fabella.store.exams.leading import KeptExam, Stage
from fabella.web.analysing.estimates_table import (
    ITEMS,
    MOST_CELLS,
    STATIONS,
    Line,
    lines_of,
    read_grid,
    read_judges,
    read_table,
    table_text,
)
from fabella.web.analysing.freezing import RULES, rules_of
from fabella.web.analysing.judged_words import Round, estimated, rounds_of
from fabella.web.analysing.rules_form import told_by_name
from fabella.web.analysing.with_reason import keep_with_reason
from fabella.web.door import SENDING, enter
from fabella.web.examining.drafting import Draft, draft_of
from fabella.web.forms import Form, filled, typed_whole
from fabella.web.tables import sent_table
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

_ANYBODY = ("Judge 1", "Judge 2", "Judge 3")


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamJudgesPage:
    """Estimates of judges, round by round."""

    template: ClassVar[str] = "exam_judges.html"

    exam: KeptExam = field(metadata=said("The exam."))
    is_draft: bool = field(metadata=said("Whether it is not open yet, so that nobody need give a reason."))
    is_released: bool = field(metadata=said("Whether nothing can be changed any more."))
    other: str = field(metadata=said("What sets the pass mark instead of the judges; empty where they do."))
    rounds: tuple[Round, ...] = field(metadata=said("Rounds kept so far, in words."))
    number: int = field(metadata=said("The round that is typed here, from 1."))
    of: str = field(metadata=said("What is estimated: stations or items."))
    judges: tuple[str, ...] = field(metadata=said("The judges of the table; empty before they are named."))
    named: str = field(metadata=said("The judges as they were typed."))
    lines: tuple[Line, ...] = field(
        metadata=said("The lines of the table; empty where it would be too large.")
    )
    form: Form = field(metadata=said("What was typed into it."))
    wrong: tuple[str, ...] = field(metadata=said("Everything that is wrong, with its place or line."))
    table: str = field(metadata=said("The table as text, to be filled in elsewhere, or as it was pasted."))
    seen_impact: bool = field(metadata=said("Whether they had seen what the round before would do."))
    seen: int = field(metadata=said("Version of the rules on this page."))


@enter(Role.TEACHER, methods=SENDING)
def exam_judges(request: Request, exam_id: int) -> HttpResponse:
    """Show the rounds of estimates and the table of one; keep it, or take the last round away."""
    draft = draft_of(request.person, exam_id)
    rules = rules_of(draft)
    rounds, told = rules.estimates, request.POST if request.method == "POST" else request.GET
    number = min(typed_whole(told.get("round", "")) or len(rounds) + 1, len(rounds) + 1)
    kept = rounds[number - 1] if number <= len(rounds) else None
    wrong: tuple[Problem, ...] = ()
    if request.method == "POST":
        try:
            keep_with_reason(request, draft, RULES, lambda: _changed(request, draft, number))
            return HttpResponseRedirect(url("exam_judges", exam_id=exam_id))
        except InputError as error:
            wrong = error.problems
    of = told.get("of", "")
    if of not in (STATIONS, ITEMS):
        of = estimated(kept) if kept else STATIONS
    named = told.get("judges", "") or _named_before(kept, rounds)
    judges: tuple[str, ...] = ()
    try:
        judges = read_judges(named) if named else ()
    except InputError as error:
        wrong = wrong or error.problems
    lines = lines_of(draft.stations, of)
    fitting = kept if kept and kept.judges == judges and estimated(kept) == of else None
    page = ExamJudgesPage(
        exam=draft.exam,
        is_draft=draft.exam.stage is Stage.DRAFT,
        is_released=draft.exam.stage is Stage.RELEASED,
        other="" if rules.method is CutMethod.ANGOFF else METHODS[rules.method],
        rounds=rounds_of(draft),
        number=number,
        of=of,
        judges=judges,
        named=named,
        lines=lines if len(lines) * len(judges) <= MOST_CELLS else (),
        form=filled(request, ()) if request.method == "POST" else Form(_cells(lines, fitting)),
        wrong=told_by_name(wrong),
        table=request.POST.get("table", "") or table_text(lines, judges or _ANYBODY, fitting, of),
        seen_impact=bool(told.get("seen_impact") or (kept and kept.seen_impact)),
        seen=draft.version(RULES),
    )
    return render(request, page, status=400 if request.method == "POST" else 200)


def _named_before(kept: Estimates | None, rounds: tuple[Estimates, ...]) -> str:
    """Return the judges of a round that is kept, or of the last before a new one."""
    before = kept or (rounds[-1] if rounds else None)
    return ", ".join(before.judges) if before else ""


def _changed(request: Request, draft: Draft, number: int) -> str:
    """Return the text of the rules with a round kept, or without the last."""
    rules = rules_of(draft)
    if request.POST.get("step") == "remove":
        if len(rules.estimates) == 1 and rules.method is CutMethod.ANGOFF:
            remedy = "choose another method first"
            raise InputError.of(place="round 1", says="sets the pass mark", remedy=remedy)
        return write_rules(replace(rules, estimates=rules.estimates[:-1]))
    made = _estimates(request, draft)
    rounds = (*rules.estimates[: number - 1], made, *rules.estimates[number:])
    return write_rules(replace(rules, estimates=rounds))


def _estimates(request: Request, draft: Draft) -> Estimates:
    seen_impact = bool(request.POST.get("seen_impact"))
    if request.POST.get("step") == "typed":
        of = ITEMS if request.POST.get("of") == ITEMS else STATIONS
        judges = read_judges(request.POST.get("judges", ""))
        return read_grid(lines_of(draft.stations, of), judges, request.POST, seen_impact=seen_impact)
    text = request.POST.get("table", "")
    if (sent := sent_table(request, "file", place="file")) is not None:
        text = sent
    return read_table(text, draft.stations, seen_impact=seen_impact)


def _cells(lines: tuple[Line, ...], kept: Estimates | None) -> dict[str, str]:
    """Return what stands in the cells of a round that is kept."""
    if kept is None:
        return {}
    place = {code: number for number, code in enumerate(kept.items)}
    return {
        f"e-{row}-{column}": f"{100 * share[place[line.code]]:.10g}"
        for row, line in enumerate(lines)
        if line.code in place
        for column, share in enumerate(kept.share)
    }
