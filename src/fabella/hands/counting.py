"""Knees counted by what each sign said and what was seen inside later."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from fabella.anatomy import Side
from fabella.evidence.facts import AccuracyUsed
from fabella.hands.truth import Truth
from fabella.record import Examination, State
from fabella.workup import Graded, Verdict, Workup

POSITIVE, NEGATIVE, UNTESTABLE = "positive", "negative", "untestable"
_VERDICTS = {
    Verdict.ABNORMAL: POSITIVE,
    Verdict.MARKEDLY_ABNORMAL: POSITIVE,
    Verdict.NORMAL: NEGATIVE,
    Verdict.WITHIN_NORMAL_LIMITS: NEGATIVE,
    Verdict.NO_LARGER_THAN_MEASUREMENT_ERROR: NEGATIVE,
}
_TRUTHS = {True: "present", False: "absent", None: "unknown"}

Tally = dict[AccuracyUsed, Counter[str]]


def count(
    tally: Tally,
    workup: Workup,
    side: Side,
    truth: Truth,
    *,
    used: Sequence[AccuracyUsed],
    complained_of: bool,
) -> None:
    """Add one knee to the tally.

    Only signs that were tested, or tried in vain in a knee with the lesion, are added; what was answered only
    for a knee that is ``complained_of``.
    """
    setting = workup.examination.context.setting
    said = dict(_said(workup.graded, side))
    if complained_of:
        said |= _answered(workup.examination)
    for row in _rows_of(used, setting.value if setting else ""):
        if (result := said.get(row.sign)) is None:
            continue
        there = _TRUTHS[truth.any_of(row.targets)]
        if result != UNTESTABLE:
            tally.setdefault(row, Counter())[f"{result}_{there}"] += 1
        elif there == "present":
            tally.setdefault(row, Counter())[UNTESTABLE] += 1


def _said(graded: Sequence[Graded], side: Side) -> Iterator[tuple[str, str]]:
    """Yield each sign of a knee with what it said; a measurement under the name of what it stands for."""
    for each in graded:
        if each.side is not side:
            continue
        name = each.stands_for or each.sign
        if each.finding.state is State.UNTESTABLE:
            yield name, UNTESTABLE
        elif each.finding.state is not State.NOT_EXAMINED and each.verdict in _VERDICTS:
            yield name, _VERDICTS[each.verdict]


def _answered(examination: Examination) -> dict[str, str]:
    answers = examination.history.items()
    return {item: POSITIVE if answer else NEGATIVE for item, answer in answers if isinstance(answer, bool)}


def _rows_of(used: Sequence[AccuracyUsed], setting: str) -> Iterator[AccuracyUsed]:
    """Yield the accuracy that is taken for each sign in this setting, as the model takes it."""
    own = {row.sign for row in used if row.setting == setting}
    for row in used:
        if row.setting == setting or (not row.setting and row.sign not in own):
            yield row
