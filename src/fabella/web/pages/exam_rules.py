"""The rules of an exam: how the pass mark is set, who passes, what is missing, how much a station counts."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.assess import CutMethod, Rules
from fabella.errors import InputError, Problem
from fabella.exam import Station
from fabella.papers.words import METHODS, SOURCES
from fabella.store import Role
from fabella.store.exams.leading import KeptExam, Stage
from fabella.store.exams.papers import KeptPaper, versions_of
from fabella.web.analysing.annulled import AnnulledLine, annulled_lines, annulled_of, keep_annulled
from fabella.web.analysing.freezing import RULES, rules_of, rules_origin, usual_of
from fabella.web.analysing.judged_words import Round, rounds_of
from fabella.web.analysing.rule_field import RuleGroup
from fabella.web.analysing.rules_fields import GROUPS, METHOD
from fabella.web.analysing.rules_form import read_rules_form, rules_form, told_by_name, versions_told
from fabella.web.analysing.rules_origin import origin_words
from fabella.web.analysing.weights import WEIGHTS, read_weights_form, shares, weights_form
from fabella.web.analysing.with_reason import keep_with_reason
from fabella.web.door import SENDING, enter
from fabella.web.examining.drafting import Draft, draft_of, full_name
from fabella.web.forms import Form, blank, filled
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

_ANNULLING = ("annul", "restore")


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamRulesPage:
    """Rules and weights."""

    template: ClassVar[str] = "exam_rules.html"

    exam: KeptExam = field(metadata=said("The exam."))
    is_draft: bool = field(metadata=said("Whether it is not open yet, so that nobody need give a reason."))
    is_released: bool = field(metadata=said("Whether nothing can be changed any more."))
    origin: str = field(metadata=said("Where these rules come from: who declared them, or what is usual."))
    usual_then: bool = field(
        metadata=said("Whether something else was usual when the exam was opened than in this program.")
    )
    form: Form = field(metadata=said("The rules as they stand or were typed."))
    wrong: tuple[str, ...] = field(metadata=said("Everything wrong with what was typed, in one list."))
    first: RuleGroup = field(metadata=said("The rules of the pass mark."))
    groups: tuple[RuleGroup, ...] = field(metadata=said("The other rules."))
    methods: tuple[tuple[str, str], ...] = field(
        metadata=said("Each method with what it does and its source.")
    )
    rounds: tuple[Round, ...] = field(metadata=said("Rounds of judges' estimates, in words."))
    weights: Form = field(metadata=said("The weights of stations as they stand or were typed."))
    stations: tuple[tuple[Station, str, str], ...] = field(
        metadata=said("Stations with the field of each and its share of the exam.")
    )
    annulled: tuple[AnnulledLine, ...] = field(metadata=said("Stations that count for nobody."))
    countable: tuple[tuple[str, str], ...] = field(
        metadata=said("Stations that can be annulled, id and name; none but while the exam is closed.")
    )
    annulling: Form = field(metadata=said("What was typed to annul a station."))
    seen: int = field(metadata=said("Version of the rules on this page."))
    seen_weights: int = field(metadata=said("Version of the weights on this page."))
    versions: tuple[tuple[KeptPaper, str], ...] = field(
        metadata=said("Versions of the rules with what each changed, the last first.")
    )


@enter(Role.TEACHER, methods=SENDING)
def exam_rules(request: Request, exam_id: int) -> HttpResponse:
    """Show the rules, or keep another version of them or of the weights."""
    draft = draft_of(request.person, exam_id)
    form, weights, annulling = rules_form(rules_of(draft)), weights_form(draft), blank()
    wrong: tuple[Problem, ...] = ()
    if request.method == "POST":
        try:
            return _keep(request, draft)
        except InputError as error:
            wrong = error.problems
            if request.POST.get("step") in _ANNULLING:
                annulling = filled(request, wrong)
            elif request.POST.get("step") == "weights":
                weights = filled(request, wrong)
            else:
                form = filled(request, wrong)
    page = ExamRulesPage(
        exam=draft.exam,
        is_draft=draft.exam.stage is Stage.DRAFT,
        is_released=draft.exam.stage is Stage.RELEASED,
        origin=origin_words(rules_origin(draft), is_draft=draft.exam.stage is Stage.DRAFT),
        usual_then=usual_of(draft) != Rules(),
        form=form,
        wrong=told_by_name(wrong),
        first=METHOD,
        groups=tuple(each for each in GROUPS if each is not METHOD),
        methods=tuple((METHODS[each], SOURCES[each]) for each in CutMethod),
        rounds=rounds_of(draft),
        weights=weights,
        stations=shares(draft),
        annulled=annulled_lines(draft),
        countable=_countable(draft),
        annulling=annulling,
        seen=draft.version(RULES),
        seen_weights=draft.version(WEIGHTS),
        versions=versions_told(versions_of(request.person, exam_id, RULES), usual_of(draft)),
    )
    return render(request, page, status=max(form.status, weights.status, annulling.status))


def _countable(draft: Draft) -> tuple[tuple[str, str], ...]:
    if draft.exam.stage is not Stage.CLOSED:
        return ()
    there = annulled_of(draft)
    return tuple((each, full_name(each, draft.titles[each])) for each in draft.ids if each not in there)


def _keep(request: Request, draft: Draft) -> HttpResponse:
    if request.POST.get("step") in _ANNULLING:
        keep_annulled(request, draft)
        return HttpResponseRedirect(url("exam_rules", exam_id=draft.exam.id) + "#annulled")
    is_weights = request.POST.get("step") == "weights"
    name = WEIGHTS if is_weights else RULES
    keep_with_reason(
        request,
        draft,
        name,
        lambda: (read_weights_form if is_weights else read_rules_form)(draft, request.POST),
    )
    return HttpResponseRedirect(url("exam_rules", exam_id=draft.exam.id) + ("#weights" if is_weights else ""))
