"""From a workup to readings: what each sign came to, with the grading's verdict where there is one."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from fabella.protocol import Kind, Protocol, Sign, load_protocol
from fabella.record import Examination, Finding, Reason, State, at_odds
from fabella.report.readings import HISTORY, Outcome, Reading, Readings
from fabella.workup import Graded, Verdict, Why, Workup

if TYPE_CHECKING:
    from collections.abc import Iterable

_GRADE = re.compile(r"\d\+")

_NORMAL = {Verdict.NORMAL, Verdict.WITHIN_NORMAL_LIMITS, Verdict.NO_LARGER_THAN_MEASUREMENT_ERROR}
_ABNORMAL = {Verdict.ABNORMAL, Verdict.MARKEDLY_ABNORMAL}

_STATED = {
    State.NOT_EXAMINED: Outcome.NOT_EXAMINED,
    State.UNTESTABLE: Outcome.COULD_NOT_BE_TESTED,
    State.NORMAL: Outcome.NORMAL,
    State.ABNORMAL: Outcome.ABNORMAL,
}

_WHY = {
    Reason.PAIN: "pain",
    Reason.GUARDING: "guarding",
    Reason.SWELLING: "swelling",
    Reason.PLASTER_OR_BRACE: "plaster or brace",
    Reason.NOT_SAFE: "not safe",
    Reason.REFUSED: "declined",
    Reason.NOT_ABLE_TO_COOPERATE: "unable to cooperate",
    Reason.OTHER: "",
}


def gather(examination: Examination, graded: Iterable[Graded], protocol: Protocol) -> Readings:
    """Return every finding with its outcome, in the order of the examination.

    A finding that was not graded keeps the state its examiner gave it.
    """
    verdicts = {(each.sign, each.side): each for each in graded}
    signs = [(protocol.sign(finding.sign), finding) for finding in examination.findings]
    return Readings(
        all=tuple(
            _reading(sign, finding, verdicts.get((finding.sign, finding.side)))
            for sign, finding in sorted(signs, key=lambda each: each[0].order)
            if sign.kind is not Kind.COURTESY
        ),
        answers=examination.history,
        at_odds=at_odds(examination.findings),
        complaint=examination.context.complaint,
    )


def readings_of(workup: Workup) -> Readings:
    """Return the readings of a workup, in the packaged order of the examination."""
    return gather(workup.examination, workup.graded, load_protocol())


def _reading(sign: Sign, finding: Finding, graded: Graded | None) -> Reading:
    outcome = _outcome(finding, graded)
    level = None if finding.level is None else sign.level(finding.level)
    reason = "" if finding.reason is None else _WHY[finding.reason]
    return Reading(
        sign=sign.id,
        name=sign.name,
        step=HISTORY if sign.is_history else sign.position,
        side=finding.side,
        outcome=outcome,
        grade="" if level is None else level.id if _GRADE.fullmatch(level.id) else level.words,
        level=0 if level is None else level.rank,
        levels=len(sign.scale.levels),
        value=finding.value,
        unit=finding.unit or "",
        other_value=None if graded is None or graded.other is None else graded.other.value,
        beyond_error=_beyond_error(graded),
        why=reason,
        method=finding.method or "",
        note=finding.note or "",
    )


def _outcome(finding: Finding, graded: Graded | None) -> Outcome:
    """The examiner's state first where it says that nothing was learned or that something was abnormal."""
    stated = None if finding.state is None else _STATED[finding.state]
    if stated in {Outcome.NOT_EXAMINED, Outcome.COULD_NOT_BE_TESTED}:
        return stated
    if graded is not None:
        if graded.verdict in _ABNORMAL:
            return Outcome.ABNORMAL
        if graded.verdict in _NORMAL and stated is not Outcome.ABNORMAL:
            return Outcome.NORMAL
    return stated or Outcome.UNJUDGED


def _beyond_error(graded: Graded | None) -> bool | None:
    """Whether the side difference exceeds the measurement error, None when the grading did not say."""
    if graded is None or graded.difference is None:
        return None
    if graded.error is not None:
        return abs(graded.difference) > graded.error.detectable
    return (
        True if Why.BEYOND_ERROR in graded.reasons else False if Why.WITHIN_ERROR in graded.reasons else None
    )
