"""Debriefing: a run looked at with the same model and rules as the clinic's."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from fabella.anatomy import Side
from fabella.protocol import Kind
from fabella.teach.actions import Act
from fabella.teach.conduct import conduct_of, hurts_of
from fabella.teach.debriefed import Debrief, IdealStep, Moment
from fabella.teach.encounter import Encounter
from fabella.teach.known import known_by
from fabella.teach.left_out import left_out, missed_alarms
from fabella.teach.misreading import misread
from fabella.teach.next_time import lesson_of
from fabella.teach.players import Played, play_ideal
from fabella.teach.rarity import rarest_for_age
from fabella.teach.reasoning import Reasoner
from fabella.teach.run import Run, Terms, Turn
from fabella.teach.scores import score
from fabella.workup import Reason, Workup, run_workup

FOLLOWED = 5
"""Lesions followed step by step besides those that are there."""


LEAST_MINUTES = 3.0
"""Minutes the ideal examiner has at least, where the student had no clock and ended early."""


def debrief(
    encounter: Encounter,
    *,
    reasoner: Reasoner | None = None,
    ideal: Played | None = None,
    earlier: Mapping[str, int] | None = None,
) -> Debrief:
    """Return the debrief of a run, finished or not.

    Parameters
    ----------
    reasoner
        None takes the packaged model and evidence.
    ideal
        The ideal run with this patient, where it has been played already.
    earlier
        How often each lesson was drawn from the student's earlier runs.
    """
    reasoner = reasoner or Reasoner()
    run, hidden = encounter.run, encounter.hidden
    side = run.door.side
    ideal = ideal or play_ideal(hidden, _same_time(run), reasoner)
    thought = reasoner.think(known_by(encounter))
    present = tuple(dict.fromkeys(lesion for lesion, _ in hidden.complaint.lesions))
    believed = dict(run.beliefs)
    followed = _followed(present, believed, thought.chances, ideal.thought.chances)
    workup = run_workup(known_by(encounter), protocol=reasoner.protocol)
    lesions = reasoner.model.states.lesions
    found = {
        entry.lesion: entry.probability
        for entry in (workup.conclusion.knee(side).any_level() if workup.conclusion else ())
    }
    scores = {
        "findings": score(found or thought.chances, present=present, lesions=lesions),
        "ideal": score(ideal.thought.chances, present=present, lesions=lesions),
    }
    if believed:
        scores = {"student": score(believed, present=present, lesions=lesions), **scores}
    conduct, hurts = conduct_of(run, protocol=encounter.protocol), hurts_of(encounter, reasoner)
    out, missed = left_out(encounter, thought, reasoner), missed_alarms(encounter, reasoner)
    slips = misread(encounter)
    return Debrief(
        present={each: knee.lesions for each, knee in hidden.knees.items()},
        rarest=rarest_for_age(reasoner.model, hidden.person.circumstances, hidden.complaint.lesions),
        seconds=run.clock_s,
        turns=run.turns,
        conduct=conduct,
        hurts=hurts,
        left_out=out,
        missed=missed,
        misread=slips,
        moments=tuple(_moments(encounter, followed, reasoner)),
        worth=_worth(workup, side, present, believed),
        workup=workup,
        believed=believed,
        ideal=tuple(
            IdealStep(
                at_s=step.at_s,
                sign=step.sign,
                side=step.side,
                bits=step.bits,
                chances={lesion: step.thought.chances[lesion] for lesion in followed},
            )
            for step in ideal.steps
        ),
        ideal_seconds=ideal.encounter.run.clock_s,
        scores=scores,
        lesson=lesson_of(
            conduct=conduct,
            hurts=hurts,
            left_out=out,
            missed=missed,
            misread=slips,
            believed=believed,
            present=present,
            earlier=earlier or {},
        ),
    )


def _same_time(run: Run) -> Terms:
    """Return the terms of the ideal examiner: the station's minutes, else what the student took."""
    if run.terms.minutes is not None:
        return run.terms
    return replace(run.terms, minutes=max(run.clock_s / 60, LEAST_MINUTES))


def _followed(
    present: tuple[str, ...],
    believed: Mapping[str, float],
    chances: Mapping[str, float],
    ideal: Mapping[str, float],
) -> tuple[str, ...]:
    """Return the lesions worth following: those there, those believed, and the most probable others."""
    likely = sorted(chances, key=lambda lesion: -max(chances[lesion], ideal[lesion]))
    others = [lesion for lesion in (*believed, *likely) if lesion not in present]
    return (*present, *tuple(dict.fromkeys(others))[:FOLLOWED])


def _moments(encounter: Encounter, followed: tuple[str, ...], reasoner: Reasoner) -> Iterator[Moment]:
    """Yield what could be believed before anything, and after every record and answer."""
    yield _moment(encounter, 0, None, followed, reasoner)
    for place, turn in enumerate(encounter.run.turns):
        if turn.event.act is Act.BELIEVE or _teaches(encounter, turn):
            yield _moment(encounter, place + 1, turn, followed, reasoner)


def _teaches(encounter: Encounter, turn: Turn) -> bool:
    event = turn.event
    if event.act is Act.RECORD:
        return True
    if event.act is not Act.DO or event.sign is None or turn.seen.refused:
        return False
    if turn.seen.shown is not None and encounter.run.terms.told:
        return True
    sign = encounter.protocol.sign(event.sign)
    return sign.kind is Kind.HISTORY or sign.id in ("mechanism_of_injury", "time_since_onset")


def _moment(
    encounter: Encounter, upto: int, turn: Turn | None, followed: tuple[str, ...], reasoner: Reasoner
) -> Moment:
    turns = encounter.run.turns[:upto]
    thought = reasoner.think(known_by(encounter, turns))
    said = [each.event.beliefs for each in turns if each.event.act is Act.BELIEVE]
    return Moment(
        at_s=turn.at_s if turn is not None else 0.0,
        sign=turn.event.sign if turn is not None else None,
        side=turn.event.side if turn is not None else None,
        chances={lesion: thought.chances[lesion] for lesion in followed},
        believed=dict(said[-1]) if said else {},
    )


def _worth(
    workup: Workup, side: Side, present: tuple[str, ...], believed: Mapping[str, float]
) -> dict[str, tuple[Reason, ...]]:
    if workup.conclusion is None:
        return {}
    most = (max(believed, key=lambda lesion: believed[lesion]),) if believed else ()
    wanted = dict.fromkeys((*present, *most))
    entries = {entry.lesion: entry for entry in workup.conclusion.knee(side).any_level()}
    return {
        lesion: tuple(
            sorted(
                (*entries[lesion].reasons_for, *entries[lesion].reasons_against),
                key=lambda reason: -abs(reason.weight_bits),
            )
        )
        for lesion in wanted
        if lesion in entries
    }
