"""From event to event: a fold that pages, terminal and debrief share."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from fabella.protocol import Protocol, load_protocol
from fabella.record import Setting, Sex
from fabella.teach.actions import Act, Event
from fabella.teach.answering import answered
from fabella.teach.encounter import Encounter
from fabella.teach.hidden import Hidden
from fabella.teach.run import Door, Run, Terms, Turn


def begin(hidden: Hidden, terms: Terms, *, protocol: Protocol | None = None) -> Encounter:
    """Return the encounter before anything is done."""
    patient, context = hidden.person.patient, hidden.person.context
    door = Door(
        age_years=patient.age_years or 0.0,
        sex=patient.sex or Sex.FEMALE,
        setting=context.setting or Setting.SPECIALIST_CLINIC,
        side=hidden.person.side,
    )
    return Encounter(hidden=hidden, protocol=protocol or load_protocol(), run=Run(door=door, terms=terms))


def act(encounter: Encounter, event: Event) -> Encounter:
    """Return the encounter after one more event.

    The event must be one that `fabella.teach.actions.faults` finds nothing wrong with. After the end nothing
    changes; when the time is up, only what was found can still be told.
    """
    run = encounter.run
    if run.finished:
        return encounter
    begun = replace(run, clock_s=run.clock_s + event.thought_s)
    answer = answered(replace(encounter, run=begun), event)
    seen = replace(answer.seen, clock_s=begun.clock_s + answer.seen.seconds)
    turn = Turn(event=event, at_s=begun.clock_s, seen=seen)
    return replace(
        encounter,
        hurt=tuple(
            (side, pain + (answer.pain if side is answer.side else 0)) for side, pain in encounter.hurt
        ),
        run=replace(
            answer.run,
            turns=(*run.turns, turn),
            clock_s=seen.clock_s,
            finished=event.act is Act.FINISH,
        ),
    )


def replay(
    hidden: Hidden, terms: Terms, events: Iterable[Event], *, protocol: Protocol | None = None
) -> Encounter:
    """Return the encounter after all these events."""
    encounter = begin(hidden, terms, protocol=protocol)
    for event in events:
        encounter = act(encounter, event)
    return encounter
