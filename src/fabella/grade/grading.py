"""Grade a whole examination: each finding on each knee, in the order in which it was recorded."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from fabella.anatomy import Side
from fabella.anatomy import other as other_side
from fabella.evidence import Edition
from fabella.grade.judging import Judged, judge_measured, judge_reported
from fabella.grade.measured import Measured, measure_finding
from fabella.grade.result import Graded, Verdict, Why
from fabella.grade.thresholds import Reading, Thresholds, load_thresholds
from fabella.grade.weights import Weights, even, one_hot
from fabella.protocol import Kind, Protocol, Sign
from fabella.record import Examination, Finding, State

UNGRADED = ("normal", "abnormal")
"""Levels of a measure that no rule can read yet."""

_UNLEARNED = {
    State.NOT_EXAMINED: Why.NOT_EXAMINED,
    State.UNTESTABLE: Why.COULD_NOT_BE_TESTED,
}
_GENTLER = {
    Verdict.NORMAL: Verdict.WITHIN_NORMAL_LIMITS,
    Verdict.WITHIN_NORMAL_LIMITS: Verdict.WITHIN_NORMAL_LIMITS,
    Verdict.NO_LARGER_THAN_MEASUREMENT_ERROR: Verdict.NO_LARGER_THAN_MEASUREMENT_ERROR,
}
"""What a mild impression becomes when a measurement of the same thing comes to one of these verdicts."""


def levels_of(sign: Sign) -> tuple[str, ...]:
    """Return the levels of a sign, normal first: those of its scale, else those its measure is read as."""
    if sign.scale.levels:
        return tuple(level.id for level in sign.scale.levels)
    reading = load_thresholds().readings.get(sign.id)
    return reading.levels if reading is not None else UNGRADED


def grade(examination: Examination, *, edition: Edition, protocol: Protocol) -> tuple[Graded, ...]:
    """Return every finding set against the other knee, the norm for age and sex, and its measurement error.

    Parameters
    ----------
    examination
        Findings on either or both knees. Numbers of the history are graded too, on the sides complained of;
        courtesies are not.
    edition
        Where norms, errors and grade bands come from.
    protocol
        What the signs are.

    Raises
    ------
    InputError
        When a finding names a sign or a level that the protocol does not have.
    """
    thresholds = load_thresholds()
    graded = [
        _grade(finding, examination, edition=edition, sign=sign, thresholds=thresholds)
        for finding in (*examination.findings, *_history(examination, protocol))
        if (sign := protocol.sign(finding.sign)).kind is not Kind.COURTESY
    ]
    recorded = {(each.sign, each.side) for each in graded if each.finding.state not in _UNLEARNED}
    return tuple(_reconcile(each, graded, recorded, thresholds) for each in graded)


def _history(examination: Examination, protocol: Protocol) -> Iterator[Finding]:
    """Yield the numbers of the history as findings, so that they are read like other measurements."""
    for item, answer in examination.history.items():
        sign = protocol.sign(item)
        if isinstance(answer, bool) or sign.scale.measure is None:
            continue
        unit = sign.scale.measure.unit.value
        for side in () if sign.is_person else examination.context.complained_of:
            yield Finding(sign=item, side=side, value=float(answer), unit=unit)
        if sign.is_person or examination.context.complaint is None:
            yield Finding(sign=item, value=float(answer), unit=unit)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Case:
    """One finding with everything that bears on it."""

    finding: Finding
    other: Finding | None
    sign: Sign
    levels: tuple[str, ...]
    reading: Reading | None
    measured: Measured | None
    alike: bool


def _grade(
    finding: Finding, examination: Examination, *, edition: Edition, sign: Sign, thresholds: Thresholds
) -> Graded:
    levels = levels_of(sign)
    other = None if finding.side is None else examination.finding(sign.id, other_side(finding.side))
    reading = thresholds.readings.get(sign.id)
    measured = None
    if reading is not None and finding.value is not None:
        measured = measure_finding(
            finding,
            other,
            reading=reading,
            levels=len(levels),
            edition=edition,
            patient=examination.patient,
            thresholds=thresholds,
        )
    case = _Case(
        finding=finding,
        other=other,
        sign=sign,
        levels=levels,
        reading=reading,
        measured=measured,
        alike=sign.id in thresholds.alike,
    )
    weights, (verdict, reasons) = _weigh(case)
    return Graded(
        sign=sign.id,
        side=finding.side,
        finding=finding,
        levels=levels,
        level_weights=weights,
        stands_for=None if measured is None else measured.stands_for,
        other=other,
        difference=None if measured is None else measured.difference,
        worse_by=None if measured is None else measured.worse_by,
        error=None if measured is None else measured.error,
        norm=None if measured is None else measured.norm,
        band=None if measured is None else measured.band,
        verdict=verdict,
        reasons=reasons,
    )


def _weigh(case: _Case) -> tuple[Weights, Judged]:
    """Return the weights of the levels and the verdict: what was reported goes before what was measured."""
    finding, count = case.finding, len(case.levels)
    if finding.state in _UNLEARNED:
        return even(levels=count), (Verdict.CANNOT_JUDGE, (_UNLEARNED[finding.state],))
    level, scaled = _reported(finding, case.sign), bool(case.sign.scale.levels)
    if case.measured is not None and case.reading is not None and (level is None or not scaled):
        return _weigh_measured(case, case.measured, case.reading)
    if level is None and finding.state is None:
        return even(levels=count), (Verdict.CANNOT_JUDGE, (Why.NO_RULE,))
    verdict, reasons = _judge_report(case, level)
    read = None if case.measured is None else case.measured.level(Why.BY_SIDE_DIFFERENCE)
    if level is not None and read is not None and read != level:
        reasons = (*reasons, Why.LEVEL_AND_VALUE_DISAGREE)
    weights = even(levels=count, first=1) if level is None else one_hot(level, levels=count)
    return weights, (verdict, reasons)


def _weigh_measured(case: _Case, measured: Measured, reading: Reading) -> tuple[Weights, Judged]:
    """Return the weights of a value and the verdict on it.

    What the examiner said besides counts where the value cannot be judged, and where a scale of grades was at
    hand: whoever calls 4 mm positive has felt more than the millimetres.
    """
    finding, count = case.finding, len(case.levels)
    judged = judge_measured(measured, finding=finding, other=case.other, reading=reading, levels=count)
    said = finding.state is State.ABNORMAL and (
        bool(case.sign.scale.levels) or judged[0] is Verdict.CANNOT_JUDGE
    )
    if said:
        weights = _given_abnormal(measured.weights)
        if judged[0] in {Verdict.ABNORMAL, Verdict.MARKEDLY_ABNORMAL}:
            return weights, judged
        verdict, reasons = _judge_report(case, None)
        return weights, (verdict, (*reasons, *(why for why in judged[1] if why not in reasons)))
    if finding.state is State.NORMAL and judged[0] is Verdict.CANNOT_JUDGE:
        return one_hot(0, levels=count), _judge_report(case, 0)
    return measured.weights, judged


def _judge_report(case: _Case, level: int | None) -> Judged:
    return judge_reported(
        level,
        levels=len(case.levels),
        other=case.other,
        other_level=None if case.other is None else _reported(case.other, case.sign),
        sided=case.finding.side is not None and not case.sign.is_history,
        alike=case.alike,
    )


def _reported(finding: Finding, sign: Sign) -> int | None:
    """Return the rank of the reported level, 0 for plain normal, None when no degree is given."""
    if finding.level is not None:
        return sign.level(finding.level).rank
    return 0 if finding.state is State.NORMAL else None


def _given_abnormal(weights: Weights) -> Weights:
    """Return the weights once the examiner has said that the sign is not normal."""
    rest = sum(weights[1:])
    if rest == 0:
        return even(levels=len(weights), first=1)
    return (0.0, *(weight / rest for weight in weights[1:]))


def _reconcile(
    graded: Graded,
    everything: list[Graded],
    recorded: set[tuple[str, Side | None]],
    thresholds: Thresholds,
) -> Graded:
    """Let a measurement overrule a mild impression of the same thing, else speak in its place."""
    if graded.stands_for is not None and (graded.stands_for, graded.side) in recorded:
        return replace(graded, stands_for=None)
    if graded.verdict is not Verdict.ABNORMAL:
        return graded
    for each in everything:
        reading = thresholds.readings.get(each.sign)
        speaks = reading is not None and graded.sign in reading.stands_for.values()
        if (
            speaks
            and each.side is graded.side
            and each.finding.value is not None
            and each.verdict in _GENTLER
        ):
            reasons = (*graded.reasons, Why.MEASURED_WITHIN_LIMITS)
            return replace(graded, verdict=_GENTLER[each.verdict], reasons=reasons, norm=each.norm)
    return graded
