"""Past visits of the invented clinic whose knees were looked into later: the model run forwards."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime, time, timedelta

import numpy as np

from fabella.anatomy import Side
from fabella.hands import ABSENT, PRESENT, Method
from fabella.protocol import load_protocol
from fabella.record import Acuity, Context, Mechanism, Origin, Patient, Setting, Sex, write_examination
from fabella.store import Actor
from fabella.store.clinic.confirming import confirm
from fabella.store.clinic.details import PatientDetails, VisitDetails
from fabella.store.clinic.importing import bring_in
from fabella.store.clinic.patients import add_patient
from fabella.store.clinic.signing import sign
from fabella.store.clinic.visits import begin_visit, line_of
from fabella.web.found_later.grouping import ORDINARY
from fabella.workup import Drawn, draw_examinations, drawable, load_model

KNEES = 18
"""So many, as each takes a fifth of a second to sign: enough to compare what is examined in every knee."""

SIGNS = (
    "lachman", "anterior_drawer", "pivot_shift", "posterior_drawer", "posterior_sag", "valgus_stress_30",
    "joint_line_tenderness_medial", "joint_line_tenderness_lateral", "mcmurray_medial", "mcmurray_lateral",
    "effusion_sweep", "patellar_apprehension", "pop_heard", "locking",
)  # fmt: skip
"""What was examined in each."""

_SEED = 7
_AGE_YEARS = 26
_FIRST_DAYS_AGO, _EVERY_DAYS = 520, 26
_SCANNED_AFTER_DAYS = 12
_NOT_LOOKED_INTO = 5  # every fifth
_NOT_SEEN = {"patellofemoral_pain"}  # a pain, which no report names
_ARTHROSCOPY = {"medial_meniscus_tear", "lateral_meniscus_tear", "loose_body"}


def look_inside_when_nobody_did(actor: Actor, *, today: date) -> None:
    """Add the visits and what was found later; every fifth knee was never looked into."""
    for number, drawn in enumerate(_drawn(), start=1):
        day = today - timedelta(days=_FIRST_DAYS_AGO - number * _EVERY_DAYS)
        visit = _signed(actor, number, drawn, day, today)
        if number % _NOT_LOOKED_INTO:
            _look(actor, visit, drawn, day + timedelta(days=_SCANNED_AFTER_DAYS))


def _drawn() -> list[Drawn]:
    model, protocol = load_model(), load_protocol()
    context = Context(setting=Setting.SPECIALIST_CLINIC, acuity=Acuity.SUBACUTE, mechanism=Mechanism.TWIST)
    signs = drawable(model, protocol, list(SIGNS), routine=False)
    patient = Patient(age_years=_AGE_YEARS, sex=Sex.FEMALE)
    dice = np.random.default_rng(_SEED)
    return list(draw_examinations(model, signs, KNEES, dice, patient=patient, context=context))


def _noon(day: date) -> datetime:
    return datetime.combine(day, time(12), tzinfo=UTC)


def _signed(actor: Actor, number: int, drawn: Drawn, day: date, today: date) -> int:
    born = today.replace(day=1) - timedelta(days=round((_AGE_YEARS + 1.6) * 365.25))
    details = PatientDetails(
        number=f"SIM-{number:02}", label=f"Simulated knee {number}", birth_date=born, sex=Sex.FEMALE
    )
    patient = add_patient(actor, details, now=_noon(day), origin=Origin.INVENTED)
    complaint = drawn.examination.context.complained_of
    made = VisitDetails(day=day, setting=Setting.SPECIALIST_CLINIC, complaint=complaint)
    visit = begin_visit(actor, patient, made, now=_noon(day))
    base = line_of(actor, visit).version
    saved = bring_in(
        actor, visit, write_examination(drawn.examination), base=base, today=today, now=_noon(day)
    )
    if problems := [str(each) for result in saved.results for each in result.problems]:
        raise ValueError("; ".join(problems))
    version = line_of(actor, visit).version
    sign(actor, visit, version=version, addressee="", today=day, now=_noon(day))
    return visit


def _look(actor: Actor, visit: int, drawn: Drawn, day: date) -> None:
    for side in drawn.examination.context.complained_of:
        confirm(actor, visit, _report(drawn, side, day), today=day, now=_noon(day))


def _report(drawn: Drawn, side: Side, day: date) -> Mapping[str, object]:
    """Return what a report says: every ordinary lesion there or not, and whatever else can be seen."""
    true = {lesion: level for lesion, level in drawn.lesions[side] if lesion not in _NOT_SEEN}
    found = dict.fromkeys(ORDINARY, ABSENT) | {lesion: level or PRESENT for lesion, level in true.items()}
    method = Method.ARTHROSCOPY if _ARTHROSCOPY & true.keys() else Method.MRI
    return {
        "side": side.value,
        "on": day.isoformat(),
        "method": method.value,
        "found": found,
        "by": "An invented radiologist" if method is Method.MRI else "An invented surgeon",
    }
