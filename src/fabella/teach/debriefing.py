"""Debriefing: a run looked at with the same model and rules as the clinic's."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from fabella.protocol import Kind
from fabella.teach.actions import Act
from fabella.teach.conduct import conduct_of, guarded_from, hurts_of
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
from fabella.teach.unchecked import unchecked
from fabella.workup import LesionProbability, Reason, run_workup

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
    ideal = ideal or play_ideal(hidden, _same_time(run), reasoner)
    known = known_by(encounter)
    thought, workup = reasoner.think(known), run_workup(known, protocol=reasoner.protocol)
    present = tuple(dict.fromkeys(lesion for lesion, _ in hidden.complaint.lesions))
    believed = dict(run.beliefs)
    followed = _followed(present, believed, thought.chances, ideal.thought.chances)
    entries = workup.conclusion.knee(run.door.side).any_level() if workup.conclusion is not None else ()
    found = {entry.lesion: entry.probability for entry in entries}
    allowed = {**thought.chances, **found}
    chances = {
        **({"student": believed} if run.has_said else {}),
        "findings": allowed,
        "ideal": ideal.thought.chances,
    }
    conduct, hurts = conduct_of(run, protocol=encounter.protocol), hurts_of(encounter, reasoner)
    out, missed = left_out(encounter, thought, reasoner), missed_alarms(encounter, reasoner)
    slips, unexamined = misread(encounter), unchecked(encounter)
    return Debrief(
        complaint=run.door.side,
        present={each: knee.lesions for each, knee in hidden.knees.items()},
        rarest=rarest_for_age(reasoner.model, hidden.person.circumstances, hidden.complaint.lesions),
        seconds=run.clock_s,
        turns=run.turns,
        conduct=conduct,
        hurts=hurts,
        left_out=out,
        missed=missed,
        unchecked=unexamined,
        misread=slips,
        moments=tuple(_moments(encounter, followed, reasoner)),
        worth=_worth(entries, present, believed),
        workup=workup,
        believed=believed,
        allowed=allowed,
        guarded_from_s=guarded_from(encounter),
        ideal=tuple(_ideal_steps(ideal, followed)),
        ideal_seconds=ideal.encounter.run.clock_s,
        scores={
            whose: score(each, present=present, lesions=reasoner.model.states.lesions)
            for whose, each in chances.items()
        },
        lesson=lesson_of(
            conduct=conduct,
            hurts=hurts,
            left_out=out,
            missed=missed,
            unchecked=unexamined,
            misread=slips,
            believed=believed if run.has_said else None,
            allowed=allowed,
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


def _ideal_steps(ideal: Played, followed: tuple[str, ...]) -> Iterator[IdealStep]:
    """Yield what the ideal examiner did, with the chances of the lesions worth following."""
    for step in ideal.steps:
        yield IdealStep(
            at_s=step.at_s,
            sign=step.sign,
            side=step.side,
            bits=step.bits,
            chances={lesion: step.thought.chances[lesion] for lesion in followed},
        )


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
    entries: Sequence[LesionProbability], present: tuple[str, ...], believed: Mapping[str, float]
) -> dict[str, tuple[Reason, ...]]:
    """Return the reasons for and against what was there and what was believed most, the weightiest first."""
    most = (max(believed, key=lambda lesion: believed[lesion]),) if believed else ()
    of_lesion = {entry.lesion: (*entry.reasons_for, *entry.reasons_against) for entry in entries}
    return {
        lesion: tuple(sorted(of_lesion[lesion], key=lambda reason: -abs(reason.weight_bits)))
        for lesion in dict.fromkeys((*present, *most))
        if lesion in of_lesion
    }
