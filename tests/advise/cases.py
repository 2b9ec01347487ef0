"""Invented examinations that the tests of advice and workup share, and their workups, computed once."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from fabella.anatomy import Side
from fabella.record import (
    Acuity,
    Context,
    Examination,
    Finding,
    Mechanism,
    Origin,
    Patient,
    Reason,
    Setting,
    State,
)
from fabella.workup import Workup, run_workup
from tests.flags.build import LEFT, RIGHT, Found, exam

__all__ = ["CASES", "LEFT", "RIGHT", "mirrored", "not_examined", "worked_up"]

CLEAR_TEAR: dict[str, Found] = {
    "effusion": "moderate",
    "swelling_visible": "moderate",
    "lachman": "2+",
    "anterior_drawer": "2+",
    "pivot_shift": "clunk",
    "lachman_end_point": True,
    "lever_sign": True,
    "posterior_drawer": False,
    "posterior_sag": False,
    "valgus_stress_30": False,
    "valgus_stress_0": False,
    "varus_stress_30": False,
    "varus_stress_0": False,
    "dial_30": False,
    "dial_90": False,
    "joint_line_tenderness_medial": False,
    "joint_line_tenderness_lateral": False,
    "mcmurray_medial": False,
    "mcmurray_lateral": False,
    "passive_extension": False,
    "block_to_extension": False,
    "patellar_apprehension": False,
    "tenderness_medial_retinaculum": False,
    "tenderness_mcl": False,
    "tenderness_lcl": False,
    "straight_leg_raise": False,
    "tenderness_patella": False,
    "bony_tenderness": False,
    "warmth": False,
    "crepitus": False,
    "patellar_grind": False,
    "tenderness_patellar_tendon": False,
    "distal_pulses": False,
}
"""A torn anterior cruciate ligament, everything else examined and normal."""


def _said(*items: str) -> dict[str, bool | float]:
    return dict.fromkeys(items, True)


CASES: dict[str, Examination] = {
    "empty": exam(),
    "only_context": exam(age=23, acuity=Acuity.ACUTE, mechanism=Mechanism.TWIST, setting=Setting.EMERGENCY),
    "clear_tear": exam(
        CLEAR_TEAR,
        dict.fromkeys(("lachman", "effusion", "pivot_shift"), False),
        said={**_said("pop_heard", "giving_way"), "locking": False, "swelling_onset_hours": 1.0},
        age=23,
        acuity=Acuity.SUBACUTE,
        mechanism=Mechanism.TWIST,
        setting=Setting.SPORTS_CLINIC,
    ),
    "fracture": exam(
        {"bony_tenderness": True, "tenderness_fibular_head": True, "effusion": "large"},
        said=_said("unable_to_weight_bear_at_injury"),
        age=61,
        days=0,
        acuity=Acuity.ACUTE,
        mechanism=Mechanism.FALL_ON_KNEE,
    ),
    "septic": exam(
        {
            "warmth": True,
            "erythema": True,
            "motion_pain_any": True,
            "effusion": "large",
            "passive_flexion": 40.0,
        },
        said=_said("fever", "rigors_or_unwell"),
        age=66,
        acuity=Acuity.ACUTE,
        mechanism=Mechanism.INSIDIOUS,
        setting=Setting.EMERGENCY,
    ),
    "locked": exam(
        {"block_to_extension": True, "joint_line_tenderness_medial": True, "effusion": "small"},
        said=_said("locking"),
        age=27,
        acuity=Acuity.ACUTE,
        mechanism=Mechanism.TWIST,
    ),
    "patella_out": exam(
        {"deformity": True, "patellar_apprehension": True, "tenderness_medial_retinaculum": True},
        said=_said("patella_seen_displaced"),
        age=16,
        acuity=Acuity.ACUTE,
        mechanism=Mechanism.TWIST,
        setting=Setting.EMERGENCY,
    ),
    "dislocated": exam(
        {
            "deformity": True,
            "distal_pulses": True,
            "effusion": "large",
            "lachman": "3+",
            "posterior_drawer": "3+",
        },
        said=_said("dislocation_reported"),
        age=34,
        acuity=Acuity.ACUTE,
        mechanism=Mechanism.HIGH_ENERGY,
        setting=Setting.EMERGENCY,
    ),
    "extensor": exam(
        {"straight_leg_raise": True, "palpable_gap_quadriceps": True, "active_knee_extension": True},
        age=64,
        acuity=Acuity.ACUTE,
        mechanism=Mechanism.FORCED_QUADRICEPS,
    ),
    "thrombosis": exam(
        {"tenderness_calf": True, "pitting_oedema": True, "calf_girth": 41.0},
        {"calf_girth": 36.0},
        said=_said("previous_dvt", "immobilised_recently"),
        age=58,
        acuity=Acuity.ACUTE,
        mechanism=Mechanism.INSIDIOUS,
    ),
    "worn_both": exam(
        {"crepitus": True, "bony_enlargement": True},
        {"crepitus": True},
        age=70,
        acuity=Acuity.CHRONIC,
        setting=Setting.PRIMARY_CARE,
        complaint=(RIGHT, LEFT),
    ),
    "child": exam({"tenderness_tibial_tubercle": True}, age=12, acuity=Acuity.CHRONIC, complaint=(LEFT,)),
}


@cache
def worked_up(name: str) -> Workup:
    """The workup of one of the cases."""
    return run_workup(CASES[name])


def not_examined(sign: str) -> Examination:
    """A twisted knee of which one sign is stated as not examined and one as prevented by pain."""
    return Examination(
        id="invented",
        origin=Origin.INVENTED,
        patient=Patient(age_years=24),
        context=Context(acuity=Acuity.ACUTE, mechanism=Mechanism.TWIST, complaint=(RIGHT,)),
        findings=(
            Finding(sign=sign, side=RIGHT, state=State.NOT_EXAMINED),
            Finding(sign="pivot_shift", side=RIGHT, state=State.UNTESTABLE, reason=Reason.PAIN),
        ),
    )


def mirrored(examination: Examination) -> Examination:
    """The same person in a mirror."""
    other = {RIGHT: LEFT, LEFT: RIGHT, None: None}
    done = examination.context.procedure
    return replace(
        examination,
        context=replace(
            examination.context,
            complaint=examination.context.complaint
            and tuple(side for side in Side if other[side] in examination.context.complained_of),
            procedure=done and replace(done, sides=tuple(side for side in Side if other[side] in done.sides)),
        ),
        imaging=tuple(
            replace(each, side=LEFT if each.side is RIGHT else RIGHT) for each in examination.imaging
        ),
        findings=tuple(replace(each, side=other[each.side]) for each in examination.findings),
    )
