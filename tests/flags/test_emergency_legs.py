"""Invented legs as an emergency department sees them, each with what must ring, how soon, and what must not.

They were written down before the rules were run on them.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import pytest

from fabella.flags import Urgency, cannot_wait
from fabella.record import Acuity, ImageKind, Mechanism
from tests.flags.build import PROTOCOL, exam

NONE, FALL = Mechanism.INSIDIOUS, Mechanism.FALL_ON_KNEE
NOW, TODAY = Urgency.NOW, Urgency.SAME_DAY
DAYS, WEEKS = Urgency.WITHIN_48_HOURS, Urgency.WITHIN_2_WEEKS


@dataclass(frozen=True, kw_only=True)
class Leg:
    """A story in one line, what is known, and what must ring, be asked, and be silent."""

    story: str
    known: Mapping[str, Any]
    rings: Mapping[str, Urgency] = field(default_factory=dict)
    asks: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    nothing: tuple[Urgency, ...] = ()


LEGS = (
    Leg(
        story="swollen calf by eye with pitting, bed rest told, other leg not written",
        known={
            "age": 47,
            "days": 4,
            "right": {"calf_girth": True, "pitting_oedema": True},
            "said": {"immobilised_recently": True},
            "mechanism": NONE,
        },
        rings={"dvt_suspected": TODAY},
    ),
    Leg(
        story="one calf swollen and pitting, no risk asked, other leg seen well",
        known={
            "age": 61,
            "days": 3,
            "right": {"calf_girth": True, "pitting_oedema": True},
            "left": {"pitting_oedema": False},
            "mechanism": NONE,
        },
        rings={"dvt_suspected": TODAY},
    ),
    Leg(
        story="both shins pitting for years, worn knee",
        known={
            "age": 74,
            "days": 900,
            "right": {"pitting_oedema": True, "crepitus": True},
            "left": {"pitting_oedema": True},
            "said": {"old_leg_swelling": True, "activity_pain": True},
            "mechanism": NONE,
        },
        never=("dvt_suspected", "dvt_2003"),
    ),
    Leg(
        story="calf aches only, active cancer told",
        known={
            "age": 66,
            "days": 5,
            "said": {"calf_pain": True, "active_cancer": True, "activity_pain": False},
            "mechanism": NONE,
        },
        rings={"dvt_suspected": TODAY},
    ),
    Leg(
        story="patella out since twelve weeks, after a fall",
        known={"age": 34, "days": 84, "right": {"patella_dislocated_now": True}, "mechanism": FALL},
        rings={"patella_long_displaced": WEEKS},
        never=("patella_still_displaced",),
    ),
    Leg(
        story="patella of an 8-year-old out whenever the knee bends, since always",
        known={
            "age": 8,
            "acuity": Acuity.CHRONIC,
            "right": {"patella_dislocated_now": True},
            "mechanism": NONE,
        },
        rings={"patella_long_displaced": WEEKS},
        never=("patella_still_displaced",),
    ),
    Leg(
        story="patella out since an hour",
        known={"age": 16, "days": 0, "right": {"patella_dislocated_now": True}, "mechanism": Mechanism.TWIST},
        rings={"patella_still_displaced": NOW},
    ),
    Leg(
        story="wasted thigh beside a patella that slips, girl of 15",
        known={
            "age": 15,
            "days": 120,
            "right": {"quadriceps_wasting": "mild", "patellar_apprehension": True},
            "said": {"previous_patellar_dislocation": True, "night_pain": False, "rest_pain": False},
            "mechanism": NONE,
        },
        never=("tumour_wasting_young",),
    ),
    Leg(
        story="wasted thigh and nothing to explain it, boy of 15",
        known={"age": 15, "days": 60, "right": {"quadriceps_wasting": "mild"}, "mechanism": NONE},
        rings={"tumour_wasting_young": DAYS},
    ),
    Leg(
        story="sickle cell disease, boy of 9, bone pain, no fever yet",
        known={
            "age": 9,
            "days": 2,
            "right": {"bony_tenderness": True},
            "said": {"fever": False, "sickle_cell": True, "rest_pain": True},
            "mechanism": NONE,
        },
        rings={"sickle_cell_bone_pain": TODAY},
    ),
    Leg(
        story="graze a week ago, warm red swollen knee, no fever",
        known={
            "age": 66,
            "days": 3,
            "right": {"swelling_visible": True, "erythema": "mild", "warmth": "warm", "graze": True},
            "said": {"fever": False},
            "mechanism": NONE,
        },
        rings={"septic_joint_adult": NOW},
        never=("open_joint",),
    ),
    Leg(
        story="injects drugs, warm effusion, no fever",
        known={
            "age": 34,
            "days": 4,
            "right": {"effusion": "moderate", "warmth": "warm"},
            "said": {"fever": False, "injects_drugs": True},
            "mechanism": NONE,
        },
        rings={"septic_joint_adult": NOW},
    ),
    Leg(
        story="on steroids for years, stiff effusion, cool, no fever",
        known={
            "age": 71,
            "days": 5,
            "right": {"effusion": "moderate", "active_flexion": 70.0, "warmth": "none"},
            "said": {"fever": False, "steroid_or_quinolone": True},
            "mechanism": NONE,
        },
        rings={"septic_joint_adult": NOW},
    ),
    Leg(
        story="injection into the joint a week ago, stiff and full",
        known={
            "age": 63,
            "days": 4,
            "right": {"effusion": "moderate", "held_flexed": True},
            "said": {"recent_injection_or_aspiration": True},
            "mechanism": NONE,
        },
        rings={"septic_joint_adult": NOW},
    ),
    Leg(
        story="replaced knee of three years, fever after a tooth",
        known={"age": 70, "days": 2, "said": {"knee_prosthesis": True, "fever": True}, "mechanism": NONE},
        rings={"prosthetic_joint_infection": TODAY},
    ),
    Leg(
        story="hot swollen knee, fever, pulse and pressure well, saturation 88",
        known={
            "age": 58,
            "days": 2,
            "right": {"effusion": "large", "warmth": "hot", "active_flexion": 40.0},
            "said": {"fever": True},
            "person": {
                "oxygen_saturation": 88.0,
                "heart_rate": 105.0,
                "respiratory_rate": 22.0,
                "systolic_pressure": 118.0,
            },
            "mechanism": NONE,
        },
        rings={"sepsis": NOW, "septic_joint_adult": NOW},
    ),
    Leg(
        story="limping feverish child of 3 with a rash that does not blanch",
        known={
            "age": 3,
            "days": 1,
            "right": {"unable_to_weight_bear": True},
            "said": {"fever": True},
            "person": {"bruises_elsewhere": True},
            "mechanism": NONE,
        },
        rings={"sepsis": NOW},
    ),
    Leg(
        story="back pain, both feet weak, bladder not asked",
        known={
            "age": 44,
            "days": 1,
            "right": {"foot_drop": True},
            "left": {"foot_drop": True},
            "said": {"back_pain": True},
            "mechanism": NONE,
        },
        rings={"cauda_equina": NOW},
    ),
    Leg(
        story="back pain and one foot weak, bladder not asked",
        known={
            "age": 44,
            "days": 1,
            "right": {"foot_drop": True},
            "said": {"back_pain": True},
            "mechanism": NONE,
        },
        asks=("cauda_equina",),
    ),
    Leg(
        story="limping boy of 13 with knee pain, hip not turned",
        known={"age": 13, "days": 21, "right": {"antalgic_gait": "mild"}, "mechanism": NONE},
        rings={"illness_young": DAYS},
        asks=("child_hip",),
    ),
    Leg(
        story="infant of 7 months, swollen tender thigh end, does not move the leg, no story",
        known={
            "age": 0.6,
            "days": 1,
            "right": {"bony_tenderness": True, "unable_to_weight_bear": True},
            "mechanism": NONE,
        },
        rings={"small_child_fracture": TODAY},
    ),
    Leg(
        story="toddler of 2 twisted on a slide, tender shin, no weight",
        known={
            "age": 2.5,
            "days": 1,
            "right": {"bony_tenderness": True, "unable_to_weight_bear": True},
            "mechanism": Mechanism.TWIST,
        },
        never=("small_child_fracture",),
    ),
    Leg(
        story="open fracture: motorcycle, wound, deformed",
        known={
            "age": 26,
            "days": 0,
            "right": {"open_wound": True, "deformity": True, "distal_pulses": "normal"},
            "mechanism": Mechanism.HIGH_ENERGY,
        },
        rings={"open_fracture": NOW},
    ),
    Leg(
        story="plateau fracture on the film, day 1, pain not asked",
        known={
            "age": 41,
            "days": 1,
            "imaged": {ImageKind.RADIOGRAPH: ("tibial_plateau_fracture",)},
            "mechanism": Mechanism.HIGH_ENERGY,
        },
        rings={"fracture_shown": TODAY},
        asks=("compartment_syndrome",),
    ),
    Leg(
        story="knee was out and went back, pulses normal, index 0.8",
        known={
            "age": 23,
            "days": 0,
            "right": {
                "lachman": "3+",
                "posterior_drawer": "3+",
                "distal_pulses": "normal",
                "ankle_brachial_index": 0.8,
            },
            "said": {"dislocation_reported": True},
            "mechanism": Mechanism.HYPEREXTENSION,
        },
        rings={"knee_dislocation": NOW, "vascular_injury": NOW},
    ),
    Leg(
        story="on apixaban, fell, knee tense within two hours",
        known={
            "age": 77,
            "days": 0,
            "right": {"effusion": "large", "warmth": "warm", "active_flexion": 60.0},
            "said": {"anticoagulant": True, "swelling_onset_hours": 2.0, "fever": False},
            "mechanism": FALL,
        },
        rings={"bleeding_joint": TODAY, "acute_haemarthrosis": DAYS},
        never=("septic_joint_adult",),
    ),
    Leg(
        story="pill and a flight of nine hours, calf pain, nothing else",
        known={"age": 24, "days": 3, "said": {"calf_pain": True, "clot_risk": True}, "mechanism": NONE},
        rings={"dvt_suspected": TODAY},
    ),
    Leg(
        story="grown man with diabetes, fever, tender shin bone, knee dry",
        known={
            "age": 50,
            "days": 6,
            "right": {
                "bony_tenderness": True,
                "effusion": "none",
                "warmth": "none",
                "active_flexion": 135.0,
                "passive_extension": 0.0,
            },
            "said": {"fever": True, "diabetes": True, "rest_pain": True},
            "mechanism": NONE,
        },
        rings={"osteomyelitis_adult": TODAY},
    ),
    Leg(
        story="extensor torn ten weeks ago",
        known={
            "age": 48,
            "days": 70,
            "right": {"straight_leg_raise": "unable", "palpable_gap_quadriceps": True},
            "mechanism": Mechanism.FORCED_QUADRICEPS,
        },
        rings={"extensor_torn_long_ago": WEEKS},
        never=("extensor_rupture",),
    ),
    Leg(
        story="lump at the fibular head with numb foot and Tinel",
        known={
            "age": 41,
            "acuity": Acuity.CHRONIC,
            "right": {"palpable_mass": True, "tinel_fibular_neck": True, "peroneal_sensation": True},
            "mechanism": NONE,
        },
        rings={"tumour_mass": WEEKS},
    ),
    Leg(
        story="swollen bursa with shivers in a diabetic, heat not felt for",
        known={
            "age": 70,
            "days": 2,
            "right": {"prepatellar_swelling": True},
            "said": {"rigors_or_unwell": True, "diabetes": True},
            "mechanism": NONE,
        },
        rings={"septic_bursitis": TODAY},
    ),
    Leg(
        story="worn cool knee of 68",
        known={
            "age": 68,
            "days": 700,
            "right": {
                "crepitus": True,
                "effusion": "small",
                "warmth": "none",
                "bony_enlargement": True,
                "bony_tenderness": False,
            },
            "said": {"activity_pain": True, "fever": False, "night_pain": False},
            "mechanism": NONE,
        },
        nothing=(NOW, TODAY, DAYS, WEEKS),
    ),
    Leg(
        story="sprain of 22, dry knee that walks and bends",
        known={
            "age": 22,
            "days": 1,
            "right": {
                "effusion": "none",
                "unable_to_weight_bear": False,
                "active_flexion": 130.0,
                "tenderness_patella": False,
                "tenderness_fibular_head": False,
                "tenderness_mcl": True,
                "valgus_stress_30": "1+",
                "lachman": "0",
            },
            "mechanism": Mechanism.VALGUS_FORCE,
        },
        nothing=(NOW, TODAY),
    ),
    Leg(
        story="runner of 30 with a sore calf and a pop, risks denied",
        known={
            "age": 30,
            "days": 1,
            "right": {"tenderness_calf": True},
            "said": {
                "pop_heard": True,
                "calf_pain": True,
                "active_cancer": False,
                "leg_paralysed_or_in_plaster": False,
                "bed_rest_3_days": False,
                "major_surgery_12_weeks": False,
                "previous_dvt": False,
            },
            "mechanism": Mechanism.OVERUSE,
        },
        never=("dvt_suspected", "dvt_2003"),
    ),
)


@pytest.mark.parametrize("leg", LEGS, ids=[each.story.replace(" ", "_") for each in LEGS])
def test_an_invented_leg_rings_what_it_must_and_no_more(leg: Leg) -> None:
    """Rings at its urgency, or is asked about; what must not ring is silent or open."""
    alarms = cannot_wait(exam(**leg.known), protocol=PROTOCOL)
    met = {each.rule: each.urgency for each in alarms if each.is_met}
    left_open = {each.rule for each in alarms if not each.is_met}
    assert leg.rings.items() <= met.items()
    assert set(leg.asks) <= left_open
    assert met.keys().isdisjoint(leg.never)
    assert not set(met.values()) & set(leg.nothing)
