"""A rule of what cannot wait, with the published criteria behind it and how accurate it was found."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fabella.evidence import Edition, RuleCriterion
from fabella.evidence.facts import Knowledge
from fabella.report.forest import Forest, forests, typeset
from fabella.web.evidence.rests import Rests, rests_of_published
from fabella.workup import Rule

_ACCURACY_OF = {
    "ottawa_knee": ("ottawa_knee_rule",),
    "pittsburgh_knee": ("pittsburgh_knee_rule",),
    "dvt_2003": ("wells_dvt",),
    "vascular_injury": ("vascular_hard_signs", "vascular_physical_exam", "ankle_brachial_index"),
}
"""Under which names the tables of accuracy know a rule."""

_FIGURES = ("_ACC", "_LR")  # what tables of figures on a published rule end in


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """One row of the published decision rules."""

    rule: str
    number: str
    criterion: str
    threshold: str
    action: str
    applies_to: str
    excludes: str
    rests: Rests


def printed_criteria(edition: Edition, rule: Rule) -> tuple[Printed, ...]:
    """Return the published criteria that a rule carries."""
    by_name = {f"{row.rule_id} {row.criterion_no}": row for row in edition.decision_rules}
    return tuple(_printed(by_name[each]) for each in rule.decides if each in by_name)


def printed_figures(edition: Edition, rule: Rule) -> tuple[Printed, ...]:
    """Return what was published on how well the rule does."""
    of = {each.split(" ", maxsplit=1)[0] for each in rule.decides}
    names = {f"{each}{end}" for each in of for end in _FIGURES}
    return tuple(_printed(row) for row in edition.decision_rules if row.rule_id in names)


def rule_accuracy(edition: Edition, knowledge: Knowledge, rule: Rule) -> tuple[Forest, ...]:
    """Return the published accuracies of a rule, question by question."""
    return tuple(_accuracy(edition, knowledge, rule))


def _accuracy(edition: Edition, knowledge: Knowledge, rule: Rule) -> Iterator[Forest]:
    for sign in _ACCURACY_OF.get(rule.id, ()):
        yield from forests(edition, knowledge, sign)


def _printed(row: RuleCriterion) -> Printed:
    return Printed(
        rule=row.rule_name,
        number=row.criterion_no,
        criterion=typeset(row.criterion),
        threshold=typeset(row.threshold),
        action=typeset(row.action),
        applies_to=row.applies_to,
        excludes="" if row.excludes.startswith(_SEE_ANOTHER) else typeset(row.excludes),
        rests=rests_of_published(row, row.notes),
    )


_SEE_ANOTHER = "see "  # another table, which has its own rows here
