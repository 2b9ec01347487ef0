"""One examination through the whole chain: cannot wait, grades, conclusion, next step.

Pages, commands, letters, audits and debriefs all show the answer of `run_workup`, so that they cannot differ.
What cannot wait comes first and stands on its own: whatever fails after it is said in `Workup.failures`,
never raised.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np

import fabella
from fabella.advise import (
    Advice,
    Confirms,
    NextStep,
    OrderedBy,
    Outlook,
    Precedes,
    Withheld,
    advise,
    unbent,
    worth_doing,
)
from fabella.anatomy import Side, load_lesions
from fabella.evidence import LATEST, Edition, load_edition
from fabella.evidence.knowledge import load_knowledge
from fabella.flags import URGENCY_WORDS, Alarm, Criterion, Rule, Urgency, cannot_wait, load_rules
from fabella.flags import Verdict as AlarmVerdict
from fabella.flags.story import WOUND_DAYS
from fabella.grade import BandUsed, ErrorUsed, Graded, NormUsed, Verdict, Why, grade, norms_for
from fabella.grade.tables import TablesUsed, tables_used
from fabella.infer import (
    ANY_LEVEL,
    Combination,
    Conclusion,
    Fit,
    Grounding,
    KneeConclusion,
    LesionProbability,
    Model,
    Posterior,
    Reason,
    conclude_knee,
    knees,
    load_model,
)
from fabella.infer.drawn import Drawn, draw_examinations, drawable
from fabella.infer.evidence_of import KneeEvidence
from fabella.infer.telling import NOTHING, Alone, Telling, alone, tellings
from fabella.protocol import Protocol, load_protocol
from fabella.record import Examination, Patient
from fabella.stats.threads import one_thread

__all__ = [
    "ANY_LEVEL",
    "NOTHING",
    "URGENCY_WORDS",
    "WOUND_DAYS",
    "Advice",
    "Alarm",
    "AlarmVerdict",
    "Alone",
    "BandUsed",
    "Combination",
    "Conclusion",
    "Confirms",
    "Criterion",
    "Drawn",
    "ErrorUsed",
    "Fit",
    "Graded",
    "Grounding",
    "KneeConclusion",
    "LesionProbability",
    "NextStep",
    "NormUsed",
    "OrderedBy",
    "Outlook",
    "Precedes",
    "Reason",
    "Rule",
    "TablesUsed",
    "Telling",
    "Urgency",
    "Verdict",
    "Why",
    "Withheld",
    "Workup",
    "alone",
    "draw_examinations",
    "drawable",
    "load_model",
    "load_rules",
    "normal_values",
    "run_workup",
    "tables_used",
    "tellings",
    "workup_again",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Workup:
    """Everything computed from one examination.

    ``conclusion`` and ``advice`` are None only when their computation, or what it rests on, failed;
    ``failures`` then says so in one sentence. ``edition`` and ``version`` name the evidence and the program,
    so that it can be made again.
    """

    examination: Examination
    alarms: tuple[Alarm, ...]
    graded: tuple[Graded, ...]
    conclusion: Conclusion | None
    advice: Advice | None
    failures: tuple[str, ...]
    edition: str
    version: str


def run_workup(
    examination: Examination,
    *,
    edition: Callable[[], Edition] = load_edition,
    model: Callable[[], Model] = load_model,
    protocol: Protocol | None = None,
    seed: int = 0,
) -> Workup:
    """Run the chain on one examination, finished or not.

    Parameters
    ----------
    edition, model
        What gives the evidence and the compiled model; called only after the alarms are known.
    protocol
        None takes the packaged one.
    seed
        Of the dice of the check of fit, the only part that draws at random here.
    """
    protocol = protocol or load_protocol()
    alarms = cannot_wait(examination, protocol=protocol)
    used, conclusion, advice = None, None, None
    graded: tuple[Graded, ...] = ()
    failures: tuple[str, ...] = ()
    step = "the evidence"
    try:  # each step rests on the one before
        used = edition()
        step = "the grading"
        graded = grade(examination, edition=used, protocol=protocol)
        step = "the conclusion"
        conclusion, evidence, posteriors = _conclude(
            examination, graded, model=model(), protocol=protocol, seed=seed, edition_id=used.id
        )
        step = "the next step"
        with one_thread():
            advised = advise(
                model(), evidence, posteriors, examination=examination, alarms=alarms, protocol=protocol
            )
        advice = worth_doing(unbent(advised, protocol), alarms)
    except Exception as error:  # noqa: BLE001  whatever it is, it may not take the alarms with it
        failures = (f"{step} could not be computed: {error}",)
    return Workup(
        examination=examination,
        alarms=alarms,
        graded=graded,
        conclusion=conclusion,
        advice=advice,
        failures=failures,
        edition=LATEST if used is None else used.id,
        version=fabella.__version__,
    )


def normal_values(patient: Patient) -> dict[str, NormUsed]:
    """Return the norm of every sign that has one for this person, by sign, from the latest evidence."""
    return norms_for(patient, edition=load_edition())


def workup_again(examination: Examination, *, edition: str) -> Workup:
    """Run the chain with the evidence of an edition that is packaged, as it was run when that was the latest.

    Rules of what cannot wait, the protocol and the words belong to the program, not to an edition.
    Raises `EvidenceError` when there is no such edition any more.
    """
    if edition == LATEST:
        return run_workup(examination)
    tables, model = load_edition(edition), _model_of(edition)
    return run_workup(examination, edition=lambda: tables, model=lambda: model)


@cache
def _model_of(edition: str) -> Model:
    return Model(load_lesions(), load_knowledge(edition))


def _conclude(
    examination: Examination,
    graded: tuple[Graded, ...],
    *,
    model: Model,
    protocol: Protocol,
    seed: int,
    edition_id: str,
) -> tuple[Conclusion, dict[Side, KneeEvidence], dict[Side, Posterior]]:
    evidence = knees(examination, graded, protocol=protocol, knowledge=model.knowledge)
    with one_thread():
        concluded = {side: _conclude_knee(model, own, side, seed) for side, own in evidence.items()}
    conclusion = Conclusion(edition=edition_id, knees=tuple(knee for knee, _ in concluded.values()))
    return conclusion, evidence, {side: post for side, (_, post) in concluded.items()}


@lru_cache(maxsize=8)
def _conclude_knee(
    model: Model, evidence: KneeEvidence, side: Side, seed: int
) -> tuple[KneeConclusion, Posterior]:
    """Conclude one knee; what one touch leaves as it was, mostly the other knee, is not concluded again."""
    return conclude_knee(model, evidence, side, np.random.default_rng(seed))
