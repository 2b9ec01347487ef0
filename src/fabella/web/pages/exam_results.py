"""The results of an exam for its lead: rules, decisions, every candidate's page, one candidate's trail."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError, Problem
from fabella.papers.words import sems_words
from fabella.store import NotThere, Role
from fabella.store.exams.duties import SheetKey
from fabella.store.exams.leading import KeptExam, Stage
from fabella.store.exams.results import KeptResult, is_overtaken, keep_result, results_of, told_so_far
from fabella.web.analysing.allotment import allotment_of
from fabella.web.analysing.allotted import allotment_words
from fabella.web.analysing.annulled import annulled_of
from fabella.web.analysing.decided import Line, decision_files, lines_of, percent
from fabella.web.analysing.freezing import freeze, rests_on_other, rules_of, rules_origin
from fabella.web.analysing.frozen import decision_tree, read_decision
from fabella.web.analysing.rules_origin import origin_words
from fabella.web.analysing.rules_words import rules_words
from fabella.web.analysing.weights import weights_of
from fabella.web.analysing.worked import decision_text
from fabella.web.door import SENDING, enter
from fabella.web.elsewhere import computed
from fabella.web.examining.drafting import draft_of
from fabella.web.examining.stages import disputed_sheets
from fabella.web.files import archive_of, sent_file
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamResultsPage:
    """Rules and decisions."""

    template: ClassVar[str] = "exam_results.html"

    exam: KeptExam = field(metadata=said("The exam."))
    is_closed: bool = field(metadata=said("Whether it can be decided now."))
    is_released: bool = field(metadata=said("Whether candidates can read their results."))
    wrong: tuple[Problem, ...] = field(metadata=said("Why nothing was decided."))
    disputes: tuple[tuple[SheetKey, str], ...] = field(
        metadata=said("Sheets on which something has to be settled first, with their station's name.")
    )
    rules: tuple[str, ...] = field(metadata=said("The rules as they stand, in sentences."))
    origin: str = field(metadata=said("Where those rules come from."))
    decided_by: str = field(
        metadata=said(
            "Where those of the last decision came from; empty before it, or where that is the same."
        )
    )
    is_other: bool = field(
        metadata=said("Whether the last decision was by other rules, weights or stations.")
    )
    is_overtaken: bool = field(metadata=said("Whether sheets or who was away were changed since."))
    allotted: str = field(
        metadata=said("Who had said, when it was decided, that allotment was at random; empty before.")
    )
    allotted_now: str = field(metadata=said("What is said of it now; empty when that is the same."))
    kept: tuple[KeptResult, ...] = field(metadata=said("Decisions kept so far, the first first."))
    told: str = field(metadata=said("The last decision in a sentence; empty before any."))
    lines: tuple[Line, ...] = field(metadata=said("The last decision, a line a candidate."))


@enter(Role.TEACHER, methods=SENDING)
def exam_results(request: Request, exam_id: int) -> HttpResponse:
    """Show rules and decisions, or decide."""
    draft = draft_of(request.person, exam_id)
    wrong: tuple[Problem, ...] = ()
    if request.method == "POST":
        try:
            _decide(request, exam_id)
            return HttpResponseRedirect(url("exam_results", exam_id=exam_id))
        except InputError as error:
            wrong = error.problems
    kept = results_of(request.person, exam_id)
    lines = lines_of(kept[-1].text) if kept else ()
    frozen = read_decision(kept[-1].text) if kept else None
    allotted = allotment_of(draft)
    origin = origin_words(rules_origin(draft), is_draft=draft.exam.stage is Stage.DRAFT)
    decided_by = origin_words(frozen.origin) if frozen and frozen.origin else ""
    page = ExamResultsPage(
        exam=draft.exam,
        is_closed=draft.exam.stage is Stage.CLOSED,
        is_released=draft.exam.stage is Stage.RELEASED,
        wrong=wrong,
        disputes=disputed_sheets(draft) if draft.exam.stage is Stage.CLOSED else (),
        rules=rules_words(rules_of(draft), weights_of(draft), annulled_of(draft), draft.titles),
        origin=origin,
        decided_by=decided_by if decided_by != origin else "",
        is_other=frozen is not None and rests_on_other(draft, frozen),
        is_overtaken=bool(kept) and is_overtaken(exam_id, kept[-1].at),
        allotted=allotment_words(frozen.allotted) if frozen else "",
        allotted_now=allotment_words(allotted) if frozen and frozen.allotted != allotted else "",
        kept=kept,
        told=_told(kept, lines),
        lines=lines,
    )
    return render(request, page, status=400 if wrong else 200)


@enter(Role.TEACHER)
def exam_decision_file(request: Request, exam_id: int) -> HttpResponse:
    """Send the last decision with what it rests on, in one archive."""
    kept = results_of(request.person, exam_id)
    if not kept:
        raise NotThere("Nothing is decided yet.")
    name = f"exam-{exam_id}-decision-{kept[-1].number}.zip"
    return sent_file(archive_of(decision_files(kept[-1].text)), name)


def _decide(request: Request, exam_id: int) -> None:
    if request.POST.get("step") != "decide":
        raise InputError.of(place="step", says="is none", remedy="press a button")
    seen = told_so_far(exam_id)
    frozen = freeze(request.person, draft_of(request.person, exam_id))
    keep_result(request.person, exam_id, computed(decision_text, frozen), now=request.now, seen=seen)


def _told(kept: tuple[KeptResult, ...], lines: tuple[Line, ...]) -> str:
    if not kept:
        return ""
    outcomes = [each.outcome for each in lines]
    told = ", ".join(f"{outcomes.count(each)} {each}" for each in dict.fromkeys(outcomes))
    tree = decision_tree(kept[-1].text)
    results = tree.get("results", tree)
    cut = results.get("pass_mark", {}).get("cut")
    if cut is None:
        return told
    told = f"{told}; pass mark {percent(cut)}"
    added = results.get("rules", {}).get("sem_multiple", 0.0)
    if not added:
        return told
    bar = percent(cut + added * results["sem"])
    return f"{told}, and to pass {bar} over all stations: {sems_words(added)} on top"
