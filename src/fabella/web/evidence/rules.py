"""A rule of what cannot wait, with the published criteria behind it and how accurate it was found."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
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
    """One row of the published decision rules in words; ``number`` is empty where it counts no criterion."""

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
    return tuple(_printed(edition, by_name[each]) for each in rule.decides if each in by_name)


def printed_figures(edition: Edition, rule: Rule) -> tuple[Printed, ...]:
    """Return what was published on how well the rule does."""
    of = {each.split(" ", maxsplit=1)[0] for each in rule.decides}
    names = {f"{each}{end}" for each in of for end in _FIGURES}
    return tuple(_printed(edition, row) for row in edition.decision_rules if row.rule_id in names)


def rule_accuracy(edition: Edition, knowledge: Knowledge, rule: Rule) -> tuple[Forest, ...]:
    """Return the published accuracies of a rule, question by question."""
    return tuple(_accuracy(edition, knowledge, rule))


def _accuracy(edition: Edition, knowledge: Knowledge, rule: Rule) -> Iterator[Forest]:
    for sign in _ACCURACY_OF.get(rule.id, ()):
        yield from forests(edition, knowledge, sign)


def _printed(edition: Edition, row: RuleCriterion) -> Printed:
    names = {each.rule_id: each.rule_name for each in edition.decision_rules}
    return Printed(
        rule=row.rule_name,
        number=row.criterion_no if row.criterion_no.isdecimal() else "",
        criterion=_in_words(row.criterion, names),
        threshold=_in_words(row.threshold, names),
        action=_in_words(row.action, names),
        applies_to=_in_words(row.applies_to, names),
        excludes="" if row.excludes.startswith(_SEE_ANOTHER) else _in_words(row.excludes, names),
        rests=rests_of_published(edition, row, row.notes),
    )


_SEE_ANOTHER = "see "  # another table, which has its own rows here
_ARROW = re.compile(r" *-> *")
_SHORT = (
    (" pct", "%"),
    ("LR+", "positive likelihood ratio"),
    ("LR-", "negative likelihood ratio"),
)


def _in_words(text: str, names: Mapping[str, str]) -> str:
    """Return a cell of the table without the shorthand of whoever typed it: no arrows, no ids of rules."""
    text = re.sub(r"\b[A-Z]+_[A-Z_]+\b", lambda each: names.get(each[0], each[0]), _ARROW.sub(": ", text))
    for short, words in _SHORT:
        text = text.replace(short, words)
    return typeset(text)
