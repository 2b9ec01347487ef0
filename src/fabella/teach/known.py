"""What a student knows by a moment of the run, as an examination: what the clinic's workup is asked with."""

from __future__ import annotations

from fabella.anatomy import Side
from fabella.grade import levels_of
from fabella.protocol import Protocol, Sign
from fabella.record import Context, Examination, Finding, Origin, Patient, Reason, State
from fabella.teach.actions import Act, Event
from fabella.teach.encounter import Encounter
from fabella.teach.everything import rounded
from fabella.teach.run import Turn
from fabella.teach.seen import Shown


def known_by(encounter: Encounter, turns: tuple[Turn, ...] | None = None) -> Examination:
    """Return the examination that some turns amount to; None takes all of them.

    It holds what the student recorded, right or wrong, and every answer heard; how it came about and since
    when only once that was asked. A finding that the examiner told needs no record.
    """
    turns = encounter.run.turns if turns is None else turns
    person, door, protocol = encounter.hidden.person, encounter.run.door, encounter.protocol
    done = {turn.event.sign for turn in turns if turn.event.act is Act.DO and not turn.seen.refused}
    answers = encounter.hidden.answers
    heard = {
        each.id: answer
        for each in protocol.history()
        if each.id in done and (answer := answers.get(each.id)) is not None
    }
    timed = "time_since_onset" in done
    findings = (
        finding_recorded(sign, event)
        for (name, _), event in _records(encounter, turns).items()
        if not (sign := protocol.sign(name)).is_history
    )
    return Examination(
        id="practice",
        origin=Origin.SIMULATED,
        patient=Patient(age_years=door.age_years, sex=door.sex),
        context=Context(
            setting=door.setting,
            acuity=person.context.acuity if timed else None,
            onset_days=person.context.onset_days if timed else None,
            mechanism=person.context.mechanism if "mechanism_of_injury" in done else None,
            complaint=(door.side,),
        ),
        history=heard,
        findings=tuple(findings),
        consent_given="consent" in done or None,
        chaperone_offered="chaperone" in done or None,
        pain_asked="pain_first" in done or None,
    )


def _records(encounter: Encounter, turns: tuple[Turn, ...]) -> dict[tuple[str, Side | None], Event]:
    """Return the last record of each sign and side, with those that the examiner's telling stands for."""
    records: dict[tuple[str, Side | None], Event] = {}
    for turn in turns:
        event, shown = turn.event, turn.seen.shown
        if event.sign is not None and event.act is Act.RECORD:
            records[event.sign, event.side] = event
        elif event.sign is not None and shown is not None and encounter.run.terms.told:
            records[event.sign, event.side] = record_of(encounter.protocol, event.sign, event.side, shown)
    return records


def finding_recorded(sign: Sign, event: Event) -> Finding:
    """Return a record as a finding."""
    if event.level is None and event.value is None:
        return Finding(sign=sign.id, side=event.side, state=State.UNTESTABLE, reason=Reason.GUARDING)
    unit = sign.scale.measure.unit.value if sign.scale.measure and event.value is not None else None
    state = None
    if event.level is not None:
        state = State.ABNORMAL if levels_of(sign).index(event.level) else State.NORMAL
    level = event.level if sign.scale.levels else None
    return Finding(sign=sign.id, side=event.side, state=state, level=level, value=event.value, unit=unit)


def record_of(protocol: Protocol, sign_id: str, side: Side | None, shown: Shown) -> Event:
    """Return the record of somebody who reads what is shown without a slip."""
    sign = protocol.sign(sign_id)
    if not shown.possible:
        return Event(act=Act.RECORD, sign=sign_id, side=side)
    if shown.level is not None:
        return Event(act=Act.RECORD, sign=sign_id, side=side, level=levels_of(sign)[shown.level])
    value = None if shown.value is None else rounded(shown.value, shown.unit or "")
    return Event(act=Act.RECORD, sign=sign_id, side=side, value=value)
