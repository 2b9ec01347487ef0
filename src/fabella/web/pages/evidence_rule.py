"""One rule of what cannot wait: its criteria, what to do, where it comes from, how well it does."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import Http404, HttpResponse

from fabella.evidence import load_edition
from fabella.evidence.knowledge import load_knowledge
from fabella.report.forest import Forest
from fabella.web.door import enter_known
from fabella.web.evidence.rules import Printed, printed_criteria, printed_figures, rule_accuracy
from fabella.web.templating import render, said
from fabella.web.visitor import Request
from fabella.workup import URGENCY_WORDS, Rule, Urgency, load_rules


@dataclass(frozen=True, slots=True, kw_only=True)
class RulePage:
    """Everything known of a rule."""

    template: ClassVar[str] = "evidence_rule.html"

    rule: Rule = field(metadata=said("The rule with its criteria, action and source."))
    when: str = field(metadata=said("How long the matter can wait."))
    can_wait: bool = field(metadata=said("Whether it is not to be missed, but not urgent."))
    criteria: tuple[Printed, ...] = field(metadata=said("The published criteria that it carries."))
    figures: tuple[Printed, ...] = field(metadata=said("Published figures on how well it does."))
    accuracy: tuple[Forest, ...] = field(metadata=said("Published accuracies, question by question."))
    edition: str = field(metadata=said("Edition of the evidence."))


@enter_known()
def evidence_rule(request: Request, rule: str) -> HttpResponse:
    """Show a rule."""
    edition, rules = load_edition(), load_rules()
    if rule not in rules:
        raise Http404
    own = rules[rule]
    page = RulePage(
        rule=own,
        when=URGENCY_WORDS[own.urgency],
        can_wait=own.urgency is Urgency.ROUTINE_BUT_DO_NOT_MISS,
        criteria=printed_criteria(edition, own),
        figures=printed_figures(edition, own),
        accuracy=rule_accuracy(edition, load_knowledge(), own),
        edition=edition.id,
    )
    return render(request, page)
