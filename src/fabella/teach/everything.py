"""What a careful examiner who left out nothing would have written down of a practice patient."""

from __future__ import annotations

from collections.abc import Mapping

from fabella.anatomy import Side
from fabella.grade import levels_of
from fabella.protocol import Kind, Protocol, Sign
from fabella.record import Answer, Examination, Finding, Origin, Reason, State
from fabella.record.contradictions import contradictions
from fabella.teach.hidden import Outcome
from fabella.teach.knees import DrawnKnee
from fabella.teach.person import Person

RESOLUTION = {"cm": 0.5, "m/s": 0.1, "ratio": 0.05, "C": 0.1, "s": 0.5}
"""To what a reading is rounded, by its unit; whole units for all others (judgement: common practice)."""

NOT_AT_ONCE = ("haemarthrosis_aspirate",)
"""What even a careful examiner does not do as part of the examination."""

_DECIMALS = 6


def rounded(value: float, unit: str) -> float:
    """Return a reading as an examiner writes it down."""
    step = RESOLUTION.get(unit, 1.0)
    return round(round(value / step) * step, _DECIMALS)


def everything_found(
    person: Person,
    drawn: Mapping[Side, DrawnKnee],
    outcomes: Mapping[tuple[str, Side | None], Outcome],
    answers: Mapping[str, Answer | None],
    *,
    protocol: Protocol,
) -> Examination:
    """Return the examination in which every question was asked and every sign looked for on both knees."""
    placed: dict[int, Finding] = {}
    for sign in protocol.signs:
        if sign.kind in (Kind.HISTORY, Kind.COURTESY) or sign.is_summary or sign.id in NOT_AT_ONCE:
            continue
        for side in (None,) if sign.is_person else tuple(Side):
            knee = drawn[side or person.side]
            if (sign.id, side) in outcomes:
                finding = finding_of(sign, side, outcomes[sign.id, side], guarding=knee.guarding)
                if sign.stress_test and knee.prevented:
                    finding = Finding(sign=sign.id, side=side, state=State.UNTESTABLE, reason=Reason.GUARDING)
                placed[len(placed)] = finding
    while clash := next(contradictions(placed), None):
        del placed[clash.later]
    return Examination(
        id="practice",
        origin=Origin.SIMULATED,
        patient=person.patient,
        context=person.context,
        history={item: answer for item, answer in answers.items() if answer is not None},
        findings=tuple(placed.values()),
        consent_given=True,
        chaperone_offered=True,
        pain_asked=True,
    )


def finding_of(sign: Sign, side: Side | None, outcome: Outcome, *, guarding: bool) -> Finding:
    """Return what would be written down of an outcome: the level of a graded sign, else the reading."""
    level = outcome.guarded if guarding else outcome.level
    if sign.scale.levels:
        state = State.ABNORMAL if level else State.NORMAL
        return Finding(sign=sign.id, side=side, state=state, level=levels_of(sign)[level])
    if sign.scale.measure is None or outcome.read is None:
        return Finding(sign=sign.id, side=side, state=State.ABNORMAL if level else State.NORMAL)
    unit = sign.scale.measure.unit.value
    read = outcome.guarded_read if guarding and outcome.guarded_read is not None else outcome.read
    value = rounded(read, unit)
    return Finding(sign=sign.id, side=side, value=value, unit=unit)
