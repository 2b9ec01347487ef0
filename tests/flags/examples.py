"""For every rule an examination in which it is met, one in which it is silent because a criterion is known to
fail, and one in which what was not examined keeps it open (None where the rule has no open state).
"""

from fabella.record import Answer, Examination, ImageKind, Mechanism, ProcedureName
from tests.flags.build import Found, exam

Triple = tuple[Examination, Examination, Examination | None]

TWIST, FALL, BLOW = Mechanism.TWIST, Mechanism.FALL_ON_KNEE, Mechanism.DIRECT_BLOW
NONE = Mechanism.INSIDIOUS
TOTAL, GRAFT = ProcedureName.TOTAL_KNEE_REPLACEMENT, ProcedureName.ACL_RECONSTRUCTION
FILM, VEINS = ImageKind.RADIOGRAPH, ImageKind.VEIN_ULTRASOUND
STABLE: dict[str, Found] = {
    "lachman": "0",
    "posterior_drawer": "0",
    "valgus_stress_0": "0",
    "valgus_stress_30": "0",
    "varus_stress_30": "0",
}
NO_BONE: dict[str, Found] = {
    "tenderness_fibular_head": False,
    "tenderness_tibial_tubercle": False,
    "tenderness_medial_femoral_condyle": False,
    "tenderness_lateral_femoral_condyle": False,
    "tenderness_medial_tibial_plateau": False,
    "tenderness_lateral_tibial_plateau": False,
}
HOT_JOINT: dict[str, Found] = {
    "warmth": "hot",
    "effusion": "moderate",
    "joint_line_tenderness": True,
    "active_flexion": 60,
}
COOL_JOINT: dict[str, Found] = {
    "warmth": "none",
    "effusion": "none",
    "joint_line_tenderness": False,
    "active_flexion": 140,
    "passive_extension": 0,
}
WELL: dict[str, Answer] = {"fever": False, "rigors_or_unwell": False}
NO_PUS: dict[str, Found] = {"haemarthrosis_aspirate": "clear"}
GOOD_FOOT: dict[str, Found] = {
    "distal_pulses": "normal",
    "cool_foot": False,
    "ankle_brachial_index": 1.0,
    "capillary_refill_s": 1,
    "expanding_haematoma": False,
    "pulsatile_bleeding": False,
    "bruit_or_thrill": False,
    "distal_neurovascular": False,
}
GOOD_HIP: dict[str, Found] = {
    "hip_rotation_reduced": False,
    "hip_rotation_pain": False,
    "obligate_external_rotation": False,
    "hip_flexion_reduced": False,
}

EXAMPLES: dict[str, Triple] = {
    "ottawa_knee": (
        exam({"active_flexion": 80}, days=1, mechanism=TWIST),
        exam(
            {"active_flexion": 120, "tenderness_patella": False, "unable_to_weight_bear": False, **NO_BONE},
            days=1,
            mechanism=TWIST,
        ),
        exam({"tenderness_fibular_head": False}, days=1, mechanism=TWIST),
    ),
    "pittsburgh_knee": (
        exam({"unable_to_weight_bear": True}, days=1, mechanism=FALL),
        exam({"unable_to_weight_bear": False}, days=1, mechanism=FALL),
        exam(days=1, mechanism=FALL),
    ),
    "fracture_rule_not_usable": (
        exam(days=1, mechanism=TWIST, said={"intoxicated_or_reduced_consciousness": True}),
        exam(days=60, mechanism=TWIST, said={"intoxicated_or_reduced_consciousness": True}),
        exam(mechanism=TWIST, said={"intoxicated_or_reduced_consciousness": True}),
    ),
    "tender_bone_not_weight_bearing": (
        exam(
            {"tenderness_lateral_tibial_plateau": True, "unable_to_weight_bear": True}, days=1, mechanism=FALL
        ),
        exam(
            {"tenderness_lateral_tibial_plateau": True, "unable_to_weight_bear": False},
            days=1,
            mechanism=FALL,
        ),
        exam({"tenderness_lateral_tibial_plateau": True}, days=1, mechanism=FALL),
    ),
    "fracture_without_force": (
        exam({"bony_tenderness": True, "unable_to_weight_bear": True}, mechanism=NONE),
        exam({"bony_tenderness": False, "unable_to_weight_bear": True}, mechanism=NONE),
        exam({"unable_to_weight_bear": True}, mechanism=NONE),
    ),
    "stress_fracture": (
        exam({"tenderness_medial_tibial_plateau": True}, said={"training_increase": True}, days=30),
        exam({"bony_tenderness": False, "hop_pain": True}, said={"training_increase": True}, days=30),
        exam({"hop_pain": True}, said={"training_increase": True}, days=30),
    ),
    "lipohaemarthrosis": (
        exam({"haemarthrosis_aspirate": "blood_with_fat"}),
        exam({"haemarthrosis_aspirate": "blood"}),
        None,
    ),
    "acute_haemarthrosis": (
        exam({"effusion": "large"}, days=1, mechanism=TWIST),
        exam({"effusion": "none", "haemarthrosis_aspirate": "none"}, days=1, mechanism=TWIST),
        exam({"effusion": "moderate"}, days=1, mechanism=TWIST),
    ),
    "acute_knee_radiograph": (
        exam({"effusion": "small"}, days=1, mechanism=TWIST),
        exam({"effusion": "small"}, days=1, mechanism=TWIST, age=4),
        exam(days=1, mechanism=TWIST),
    ),
    "stress_fracture_shown": (
        exam(imaged={ImageKind.MRI: ("stress_fracture",)}),
        exam(imaged={ImageKind.MRI: ("osteonecrosis",)}),
        None,
    ),
    "artery_disease_shown": (
        exam(imaged={ImageKind.ULTRASOUND: ("popliteal_artery_disease",)}),
        exam(imaged={ImageKind.ULTRASOUND: ("popliteal_cyst",)}),
        None,
    ),
    "fracture_shown": (
        exam(imaged={FILM: ("patellar_fracture",)}, days=2, mechanism=FALL),
        exam(imaged={FILM: ()}, days=2, mechanism=FALL),
        None,
    ),
    "artery_shown": (
        exam(imaged={ImageKind.CT_ANGIOGRAM: ("popliteal_artery_injury",)}),
        exam(imaged={ImageKind.CT_ANGIOGRAM: ()}),
        None,
    ),
    "thrombosis_shown": (exam(imaged={VEINS: ("deep_vein_thrombosis",)}), exam(imaged={VEINS: ()}), None),
    "dvt_after_scan": (
        exam({"tenderness_calf": True, "whole_leg_swollen": True}, imaged={VEINS: ()}),
        exam({"tenderness_calf": True, "whole_leg_swollen": True}, imaged={VEINS: None}),
        exam({"tenderness_calf": True}, imaged={VEINS: ()}),
    ),
    "bone_infection_shown": (
        exam(imaged={ImageKind.MRI: ("osteomyelitis",)}),
        exam(imaged={ImageKind.MRI: ("bone_tumour",)}),
        None,
    ),
    "tumour_shown": (exam(imaged={FILM: ("bone_tumour",)}), exam(imaged={FILM: ("osteoarthritis",)}), None),
    "deformity_after_injury": (
        exam({"deformity": True}, days=0, mechanism=TWIST),
        exam({"deformity": False}, days=0, mechanism=TWIST),
        exam({"deformity": True}),
    ),
    "knee_dislocation": (
        exam(said={"dislocation_reported": True}, days=0),
        exam(
            {**STABLE, "lachman": "2+", "passive_extension": 0, "dimple_sign": False},
            said={"dislocation_reported": False},
            days=0,
            mechanism=TWIST,
        ),
        exam({"lachman": "2+"}, days=0, mechanism=TWIST),
    ),
    "multiligament_injury": (
        exam({"lachman": "2+", "posterior_drawer": "2+"}, days=30, mechanism=TWIST),
        exam({**STABLE, "lachman": "3+"}, days=30, mechanism=TWIST),
        exam({"lachman": "2+", "posterior_drawer": "2+"}),
    ),
    "lateral_side_torn": (
        exam({"varus_stress_30": "3+"}, days=5, mechanism=Mechanism.VARUS_FORCE),
        exam({"varus_stress_30": "0"}, days=5, mechanism=Mechanism.VARUS_FORCE),
        exam({"varus_stress_30": "2+"}, days=5, mechanism=Mechanism.VARUS_FORCE),
    ),
    "vascular_injury": (
        exam({"distal_pulses": "absent"}, days=0, mechanism=TWIST),
        exam(GOOD_FOOT, days=0, said={"dislocation_reported": True}),
        exam({"distal_pulses": "normal"}, days=0, said={"dislocation_reported": True}),
    ),
    "ischaemic_foot": (
        exam({"distal_pulses": "absent", "cool_foot": True}, {"distal_pulses": "normal"}),
        exam(
            {"distal_pulses": "absent", "cool_foot": True},
            {"distal_pulses": "absent"},
            said={"rest_pain": False, "night_pain": False},
            days=200,
        ),
        exam({"distal_pulses": "absent"}),
    ),
    "nerve_injury": (
        exam({"foot_drop": "weak"}, days=0, mechanism=TWIST),
        exam({"distal_neurovascular": False}, days=0, said={"dislocation_reported": True}),
        exam(days=0, said={"dislocation_reported": True}),
    ),
    "nerve_after_operation": (
        exam({"foot_drop": "weak"}, operated=(TOTAL, 10)),
        exam({"foot_drop": "none"}, operated=(TOTAL, 10)),
        None,
    ),
    "operated_joint_infection": (
        exam({"sinus": True}, operated=(GRAFT, 20)),
        exam({"warmth": "warm", "effusion": "small"}, operated=(GRAFT, 20)),
        exam({"erythema": "mild"}, operated=(GRAFT, 20)),
    ),
    "stiff_after_operation": (
        exam({"passive_flexion": 60}, operated=(TOTAL, 84)),
        exam({"passive_flexion": 95, "passive_extension": -8}, operated=(TOTAL, 84)),
        None,
    ),
    "foot_drop_without_injury": (
        exam({"foot_drop": "weak"}, mechanism=NONE),
        exam({"foot_drop": "weak"}, mechanism=TWIST),
        exam({"foot_drop": "weak"}),
    ),
    "compartment_syndrome": (
        exam(said={"pain_out_of_proportion": True}, days=0, mechanism=BLOW),
        exam(
            {"passive_toe_stretch_pain": False, "compartment_tense": False},
            said={"pain_out_of_proportion": False, "dislocation_reported": True},
            days=0,
        ),
        exam(days=0, said={"dislocation_reported": True}),
    ),
    "open_joint": (
        exam({"open_wound": True}, days=0, mechanism=FALL),
        exam({"open_wound": True}, days=0, mechanism=NONE),
        exam({"open_wound": True}),
    ),
    "bleed_needs_factor": (
        exam({"effusion": "large"}, said={"bleeding_disorder": True}, days=1),
        exam({"effusion": "large"}, said={"bleeding_disorder": True}, days=10),
        exam(said={"bleeding_disorder": True}, days=1),
    ),
    "bleeding_joint": (
        exam({"effusion": "large"}, said={"anticoagulant": True}, days=1),
        exam({"effusion": "none"}, said={"anticoagulant": True}, days=1),
        exam(said={"anticoagulant": True}, days=1),
    ),
    "poor_arteries": (
        exam({"distal_pulses": "weak"}, said={"known_arterial_disease": True}),
        exam({"distal_pulses": "normal"}, said={"known_arterial_disease": True}),
        exam(said={"known_arterial_disease": True}),
    ),
    "popliteal_aneurysm": (
        exam({"popliteal_pulsation": True}),
        exam({"popliteal_pulsation": False, "popliteal_mass": True}),
        exam({"popliteal_mass": True}),
    ),
    "cauda_equina": (
        exam(said={"bladder_or_saddle_symptoms": True}),
        exam(said={"bladder_or_saddle_symptoms": False}),
        exam({"foot_drop": True}, said={"back_pain": True}),
    ),
    "patella_still_displaced": (
        exam({"patella_dislocated_now": True}),
        exam(
            {"patella_dislocated_now": False, "deformity": False},
            days=0,
            said={"patella_seen_displaced": True},
        ),
        exam(days=0, said={"patella_seen_displaced": True}),
    ),
    "extensor_rupture": (
        exam({"straight_leg_raise": "unable"}, days=0, mechanism=FALL),
        exam(
            {
                "straight_leg_raise": "able",
                "palpable_gap_quadriceps": False,
                "palpable_gap_patellar_tendon": False,
                "patellar_bone_gap": False,
            },
            days=0,
            mechanism=FALL,
        ),
        exam(days=0, mechanism=FALL),
    ),
    "locked_knee": (
        exam({"block_to_extension": "springy"}, days=1, mechanism=TWIST),
        exam(
            {"block_to_extension": "none", "passive_extension": 0, "fixed_flexion": 0},
            said={"locking": False},
            days=1,
            mechanism=TWIST,
        ),
        exam({"passive_extension": -15}, days=1, mechanism=TWIST),
    ),
    "block_that_stayed": (
        exam({"block_to_extension": "rigid"}, said={"locking": False}, days=150, mechanism=TWIST),
        exam({"block_to_extension": "none"}, said={"locking": False}, days=150, mechanism=TWIST),
        None,
    ),
    "meniscus_after_injury": (
        exam({"joint_line_tenderness": True}, said={"locking": True}, days=3, mechanism=TWIST, age=29),
        exam({"joint_line_tenderness": True}, said={"locking": True}, days=3, mechanism=TWIST, age=30),
        exam(said={"locking": True}, days=3, mechanism=TWIST, age=29),
    ),
    "sepsis": (
        exam(person={"heart_rate": 134}, said={"fever": True}),
        exam(
            person={"heart_rate": 90, "respiratory_rate": 16, "systolic_pressure": 130}, said={"fever": True}
        ),
        exam({"effusion": "large", "warmth": "hot"}, said={"fever": True}, days=2),
    ),
    "septic_joint_adult": (
        exam(HOT_JOINT, days=3),
        exam({**COOL_JOINT, **NO_PUS}, said=WELL, person={"body_temperature": 36.8}, days=3),
        exam({"warmth": "hot"}, days=3),
    ),
    "septic_joint_child": (
        exam({"effusion": "small"}, said={"fever": True}, days=3, age=6),
        exam({**COOL_JOINT, **NO_PUS, "unable_to_weight_bear": False}, said={"fever": True}, days=3, age=6),
        exam({"effusion": "small"}, days=3, age=6),
    ),
    "prosthetic_joint_infection": (
        exam({"erythema": "mild"}, said={"knee_prosthesis": True}),
        exam(
            {"erythema": "none", "warmth": "none", "open_wound": False, "sinus": False, **NO_PUS},
            said={"knee_prosthesis": True, **WELL},
            person={"body_temperature": 36.8},
        ),
        exam(said={"knee_prosthesis": True}),
    ),
    "septic_bursitis": (
        exam({"prepatellar_swelling": True, "erythema": "mild", "warmth": "warm"}),
        exam({"prepatellar_swelling": True, "erythema": "none", "warmth": "none"}),
        exam({"prepatellar_swelling": True, "warmth": "warm"}),
    ),
    "hot_knee_that_lasts": (
        exam(HOT_JOINT, days=90),
        exam({**HOT_JOINT, "active_flexion": 140, "passive_extension": 0, "sinus": False}, days=90),
        exam({"warmth": "hot", "effusion": "moderate"}, days=90),
    ),
    "skin_infection_with_fever": (
        exam({"erythema": "marked", "effusion": "none"}, said={"fever": True}, days=3),
        exam(
            {"erythema": "marked", "effusion": "none"},
            said={**WELL, "pain_out_of_proportion": False},
            person={"body_temperature": 36.8},
            days=3,
        ),
        exam({"erythema": "marked", "effusion": "none"}, days=3),
    ),
    "osteomyelitis_child": (
        exam({"bony_tenderness": True}, said={"fever": True}, age=9),
        exam(
            {"bony_tenderness": False, "unable_to_weight_bear": False},
            said={"fever": True, "night_pain": False, "rest_pain": False},
            age=9,
        ),
        exam(said={"fever": True}, age=9),
    ),
    "dvt_2003": (
        exam({"tenderness_calf": True, "whole_leg_swollen": True}),
        exam({"tenderness_calf": False, "whole_leg_swollen": False}),
        exam({"tenderness_calf": True}),
    ),
    "patella_long_displaced": (
        exam({"patella_dislocated_now": True}, days=84, mechanism=FALL),
        exam({"patella_dislocated_now": True}, days=42, mechanism=FALL),
        None,
    ),
    "extensor_torn_long_ago": (
        exam({"straight_leg_raise": "unable"}, days=70, mechanism=Mechanism.FORCED_QUADRICEPS),
        exam({"straight_leg_raise": "unable"}, days=42, mechanism=Mechanism.FORCED_QUADRICEPS),
        None,
    ),
    "open_fracture": (
        exam({"open_wound": True, "deformity": True}, days=0, mechanism=Mechanism.HIGH_ENERGY),
        exam({"open_wound": False, "deformity": True}, days=0, mechanism=Mechanism.HIGH_ENERGY),
        exam({"open_wound": True, "bony_tenderness": True}, days=0, mechanism=Mechanism.HIGH_ENERGY),
    ),
    "osteomyelitis_adult": (
        exam({"bony_tenderness": True, "effusion": "none"}, said={"fever": True}, age=50, days=6),
        exam({"bony_tenderness": False}, said={"fever": True}, age=50, days=6),
        None,
    ),
    "small_child_fracture": (
        exam(imaged={FILM: ("distal_femoral_fracture",)}, age=2, days=1, mechanism=NONE),
        exam(imaged={FILM: ("distal_femoral_fracture",)}, age=2, days=1, mechanism=FALL),
        exam(imaged={FILM: ("distal_femoral_fracture",)}, age=2, days=1),
    ),
    "sickle_cell_bone_pain": (
        exam({"bony_tenderness": True}, said={"sickle_cell": True}, age=9, days=2, mechanism=NONE),
        exam({"bony_tenderness": True}, said={"sickle_cell": False}, age=9, days=2, mechanism=NONE),
        exam(said={"sickle_cell": True}, age=9, days=2, mechanism=NONE),
    ),
    "growth_plate": (
        exam(
            {"valgus_stress_30": True, "tenderness_medial_femoral_condyle": True},
            age=15,
            days=1,
            mechanism=BLOW,
        ),
        exam({"valgus_stress_30": True, "bony_tenderness": False}, age=15, days=1, mechanism=BLOW),
        exam({"valgus_stress_30": True}, age=15, days=1, mechanism=BLOW),
    ),
    "dvt_suspected": (
        exam({"tenderness_calf": True}, said={"calf_pain": True}),
        exam({"tenderness_calf": True}, said={"calf_pain": True}, days=1, mechanism=TWIST),
        exam({"tenderness_calf": True}),
    ),
    "dvt_in_pregnancy": (
        exam({"tenderness_calf": True}, said={"pregnancy": True}),
        exam({"tenderness_calf": True}, said={"pregnancy": False}),
        None,
    ),
    "embolism": (
        exam({"tenderness_calf": True}, said={"breathless_or_chest_pain": True}),
        exam({"tenderness_calf": True}, said={"breathless_or_chest_pain": False}),
        exam(said={"breathless_or_chest_pain": True}),
    ),
    "child_hip": (
        exam({"hip_rotation_reduced": True}, age=12),
        exam(GOOD_HIP, GOOD_HIP, age=12),
        exam(age=12),
    ),
    "adult_hip": (
        exam({"hip_rotation_pain": True}, said={"training_increase": True}),
        exam({"hip_rotation_pain": False}, said={"training_increase": True}),
        exam({"hip_rotation_pain": True}),
    ),
    "child_alignment": (
        exam({"tibiofemoral_angle": -1}, age=10),
        exam({"tibiofemoral_angle": 0}, age=10),
        None,
    ),
    "bruised_child": (
        exam(person={"bruises_elsewhere": True}, age=15),
        exam(person={"bruises_elsewhere": True}, age=16),
        None,
    ),
    "tumour_bone_young": (
        exam(said={"night_pain": True}, age=15),
        exam(
            {"bony_enlargement": False, "palpable_mass": False, "bony_tenderness": False},
            said={"night_pain": False, "rest_pain": False},
            age=15,
        ),
        exam(age=15),
    ),
    "illness_young": (
        exam({"antalgic_gait": "mild"}, days=21, age=11, mechanism=NONE),
        exam({"antalgic_gait": "mild"}, days=5, age=11, mechanism=NONE),
        exam(said={"fever": True}, age=20, mechanism=NONE),
    ),
    "young_leg_without_pulses": (
        exam({"distal_pulses": "absent"}, said={"calf_pain": True, "activity_pain": True}, age=34),
        exam({"distal_pulses": "normal"}, said={"calf_pain": True, "activity_pain": True}, age=34),
        exam({"distal_pulses": "absent"}, said={"calf_pain": True}, age=34),
    ),
    "popliteal_entrapment": (
        exam(said={"calf_pain": True, "activity_pain": True}, age=17),
        exam(said={"calf_pain": True, "activity_pain": False}, age=17),
        exam(said={"calf_pain": True}, age=17),
    ),
    "tumour_wasting_young": (
        exam({"quadriceps_wasting": "mild"}, days=60, age=16),
        exam({"quadriceps_wasting": "mild"}, days=10, age=16),
        exam({"quadriceps_wasting": "mild"}, age=16),
    ),
    "tumour_bone_pain": (
        exam(said={"night_pain": True}, age=40),
        exam(
            {"bony_tenderness": False, "bony_enlargement": False},
            said={"night_pain": False, "rest_pain": False},
            age=40,
        ),
        exam(said={"cancer_history": True}, age=40),
    ),
    "tumour_mass": (
        exam({"palpable_mass": True, "mass_size": 5}),
        exam(
            {"palpable_mass": True, "mass_size": 4.9, "mass_firm_fixed": False}, said={"lump_growing": False}
        ),
        exam({"palpable_mass": True}),
    ),
    "tumour_lump_young": (
        exam({"palpable_mass": True}, said={"lump_growing": True}, age=24),
        exam({"palpable_mass": True}, said={"lump_growing": True}, age=25),
        exam({"palpable_mass": True}, age=24),
    ),
    "inflammatory_arthritis": (
        exam({"effusion": "small"}, person={"other_joints_swollen": True}, days=15),
        exam({"effusion": "small"}, person={"other_joints_swollen": True}, days=14),
        exam({"effusion": "small"}, person={"other_joints_swollen": True}),
    ),
    "prolonged_stiffness": (
        exam({"effusion": "small"}, said={"morning_stiffness_min": 31.0}),
        exam({"effusion": "small"}, said={"morning_stiffness_min": 30.0}),
        exam(said={"morning_stiffness_min": 31.0}),
    ),
    "lasting_synovitis": (
        exam({"effusion": "moderate", "warmth": "warm"}, age=38, days=90, mechanism=NONE),
        exam({"effusion": "moderate", "warmth": "warm"}, age=38, days=89, mechanism=NONE),
        exam({"effusion": "moderate", "warmth": "warm"}, age=38, mechanism=NONE),
    ),
}
