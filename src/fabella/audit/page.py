"""The page that shows how the program did on published patients, case by case, and the same as plain data."""

from __future__ import annotations

from collections.abc import Iterator

from fabella.audit.collected import by_round
from fabella.audit.collected_page import collected_part
from fabella.audit.groups import by_group
from fabella.audit.page_parts import share_words, table, totals, totals_tree
from fabella.audit.said import alarm_words, diagnosis_words, lesion_words
from fabella.audit.validation import CONFIDENT, CaseResult, Likely, Validation
from fabella.stats.written import percentage

_HELD = percentage(CONFIDENT)
_HEAD = f"""\
# How it was checked against published patients

Made by `fabella validate --markdown > docs/validation.md`; do not edit.
`fabella validate FILE` does the same with any list of cases in the format of the packaged one.

Each published patient is read from the history and the hands-on findings as printed, without the diagnosis.
The whole chain is run as for any patient, and the conclusion is compared with the diagnosis that was
confirmed later by imaging, operation or histology. Failures stand in the table like everything else.

What these numbers are not: an accuracy in practice. Published patients over-represent the rare, the young
and the surprising, no two report the same signs, and most were published *because* the examination misled.
The reading of their words and the judgements of the model were developed with these patients at hand, so
that new ones may fare worse. Intervals are 95% score intervals (Wilson 1927) and only tell how few the
patients are.

How they are read: a sign that was not stated is unknown, never negative. A statement that everything was
normal becomes the few findings every doctor includes in it, where no finding says otherwise: no effusion,
no joint line tenderness, full movement, stable ligaments, negative McMurray; never hips or vessels. A side
that was not stated is the right. A stress test of a fresh injury that "could not be assessed", without a
word why, was left for pain. *Right* is the lesion that the diagnosis stands for, at any level; a wrong
lesion held at {_HELD} or more is marked. A red flag counts as raised when any alarm is met that is
more than routine; a false alarm is one for now or the same day in a patient who had neither a red flag nor
an urgent matter, as judged by whoever gathered the patients."""

_COLUMNS = (
    "case",
    "diagnosis",
    "rank",
    "probability",
    "likeliest three",
    "highest wrong",
    "alarms met",
    "remarks",
)


def as_markdown(validation: Validation, collected: Validation | None = None) -> str:
    """Return the page, ending in a line break, with the totals of the collected patients when given."""
    return "\n".join(_page(validation, collected)) + "\n"


def cells(result: CaseResult) -> tuple[str, ...]:
    """Return one case as the cells of a row."""
    return (
        result.case.id,
        _diagnosis(result),
        "–" if result.rank is None else str(result.rank),
        "–" if result.probability is None else percentage(result.probability),
        "; ".join(map(_likely, result.top)) or "–",
        "–"
        if result.wrong is None
        else _likely(result.wrong) + (" (!)" if result.is_confidently_wrong else ""),
        "; ".join(dict.fromkeys(map(alarm_words, result.alarms))) or "–",
        "; ".join(_remarks(result)) or "–",
    )


def as_tree(validation: Validation) -> dict[str, object]:
    """Return everything as plain data, to be written as JSON."""
    return {
        "totals": totals_tree(validation),
        "rounds": {name: totals_tree(one) for name, one in by_round(validation).items()},
        "groups": {name: totals_tree(one) for name, one in by_group(validation).items()},
        "cases": [_case_tree(result) for result in validation.results],
    }


def _page(validation: Validation, collected: Validation | None) -> Iterator[str]:
    yield _HEAD
    yield from ("", "## Totals", "", "| | of all that count | share, % (95% interval) |", "|---|---|---|")
    for name, share in totals(validation):
        count, _, percent = share_words(share).partition(", ")
        yield f"| {name} | {count} | {percent or '–'} |"
    if collected is not None:
        yield from ("", *collected_part(collected))
    yield from ("", "## Case by case", "", *table(_COLUMNS, map(cells, validation.results)))
    yield from ("", "## The patients", "")
    for result in validation.results:
        case = result.case
        identifier = f"; {case.identifier}" if case.identifier and case.identifier not in case.source else ""
        yield f"- {case.id}: {case.source}{identifier}"


def _diagnosis(result: CaseResult) -> str:
    said = diagnosis_words(result.case.primary_diagnosis)
    return said if result.expected else f"{said} (not in the model)"


def _likely(likely: Likely) -> str:
    return f"{lesion_words(likely.lesion)} {percentage(likely.probability)}"


def _remarks(result: CaseResult) -> Iterator[str]:
    if result.case.red_flag and not result.is_raised:
        yield "red flag missed"
    if result.is_false_alarm:
        yield "false alarm"
    if result.case.misleading_exam:
        yield "the examination misled"
    if len(result.adapted.examination.context.complained_of) > 1:
        yield f"both knees, {result.side} shown"
    yield from (f"not read: {left.sign} {left.value} ({left.why})" for left in result.adapted.unread)
    yield from result.failures


def _case_tree(result: CaseResult) -> dict[str, object]:
    left_out = {"unread": result.adapted.unread, "set_aside": result.adapted.set_aside}
    return {
        "id": result.case.id,
        "source": result.case.source,
        "gathered": result.case.gathered,
        "side": result.side,
        "primary_diagnosis": result.case.primary_diagnosis,
        "expected": list(result.expected),
        "not_in_the_model": list(result.unknown_diagnoses),
        "rank": result.rank,
        "probability": result.probability,
        "top": [{"lesion": each.lesion, "probability": each.probability} for each in result.top],
        "highest_wrong": None
        if result.wrong is None
        else {"lesion": result.wrong.lesion, "probability": result.wrong.probability},
        "alarms": [{"rule": each.rule, "urgency": each.urgency, "side": each.side} for each in result.alarms],
        "red_flag": result.case.red_flag,
        "urgent": result.case.urgent,
        "false_alarm": result.is_false_alarm,
        "conventions": list(result.adapted.conventions),
        **{
            name: [{"sign": each.sign, "value": each.value, "why": each.why} for each in kept]
            for name, kept in left_out.items()
        },
        "failures": list(result.failures),
    }
