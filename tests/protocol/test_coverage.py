"""What the protocol must hold, item by item: the design's own list, and published rules and norms."""

import pytest

from fabella.protocol import load_protocol

PROTOCOL = load_protocol()

# The list of the design, section 7. Mechanism and age are asked as context of the examination.
DESIGN = {
    "greeting": "greeting",
    "consent": "consent",
    "chaperone": "chaperone",
    "pain first": "pain_first",
    "gait aids": "walking_aid",
    "alignment in degrees": "tibiofemoral_angle varus_alignment valgus_alignment",
    "patellar direction": "patellae_turning_in",
    "swelling by site": "swelling_visible prepatellar_swelling posterior_swelling tubercle_prominent",
    "scars": "scar",
    "wasting": "quadriceps_wasting hamstring_wasting calf_wasting",
    "skin": "erythema ecchymosis rash open_wound",
    "arches": "flat_foot high_arch",
    "hindfoot": "hindfoot_valgus hindfoot_varus",
    "toes": "toe_deformity",
    "fixed flexion and recurvatum standing": "standing_fixed_flexion standing_recurvatum",
    "antalgic gait": "antalgic_gait",
    "thrusts": "varus_thrust valgus_thrust",
    "foot progression angle": "foot_progression_angle",
    "stride, cadence, stance share": "stride_length cadence stance_share",
    "temperature": "warmth",
    "erythema": "erythema",
    "effusion": "effusion_sweep patellar_tap cross_fluctuation effusion",
    "tenderness: quadriceps insertion": "tenderness_quadriceps_insertion",
    "tenderness: poles": "tenderness_superior_pole tenderness_inferior_pole",
    "tenderness: patella": "tenderness_patella",
    "tenderness: patellar tendon": "tenderness_patellar_tendon",
    "tenderness: tibial tubercle": "tenderness_tibial_tubercle",
    "tenderness: joint lines": "joint_line_tenderness_medial joint_line_tenderness_lateral",
    "tenderness: femoral condyles": "tenderness_medial_femoral_condyle tenderness_lateral_femoral_condyle",
    "tenderness: collateral ligaments": "tenderness_mcl tenderness_lcl",
    "tenderness: pes anserinus": "tenderness_pes_anserinus",
    "tenderness: popliteal fossa": "tenderness_popliteal",
    "tenderness: iliotibial band": "tenderness_iliotibial_band",
    "posterior sag and step-off": "posterior_sag tibial_step_off",
    "passive extension": "passive_extension",
    "heel-height difference": "heel_height_difference",
    "fixed flexion": "fixed_flexion",
    "recurvatum": "recurvatum",
    "extensor lag": "extensor_lag",
    "straight-leg raise": "straight_leg_raise",
    "flexion in degrees": "active_flexion passive_flexion",
    "heel-to-buttock distance": "heel_to_buttock",
    "quadriceps contraction": "quadriceps_contraction",
    "girth": "thigh_girth calf_girth",
    "crepitus": "crepitus",
    "patellar tracking, tilt, apprehension": "patellar_tracking patellar_tilt patellar_apprehension",
    "patellar glide": "patellar_glide_increased patellar_glide_reduced",
    "collateral stress": "valgus_stress_0 valgus_stress_30 varus_stress_0 varus_stress_30",
    "Lachman and end point": "lachman lachman_end_point",
    "drawers": "anterior_drawer posterior_drawer",
    "pivot shift": "pivot_shift",
    "quadriceps active": "quadriceps_active",
    "dial": "dial_30 dial_90",
    "external rotation recurvatum": "external_rotation_recurvatum",
    "reverse pivot": "reverse_pivot_shift",
    "McMurray": "mcmurray_medial mcmurray_lateral",
    "Thessaly": "thessaly_5 thessaly_20",
    "Apley": "apley",
    "hip rotation screen": "hip_rotation_reduced hip_rotation_pain hip_internal_rotation",
    "ankle and foot screen": "ankle_foot_screen",
    "distal pulses and capillary refill": "distal_pulses capillary_refill_s",
    "ankle-brachial index": "ankle_brachial_index",
    "common peroneal nerve": "foot_drop peroneal_sensation",
    "tibial nerve": "tibial_nerve_motor tibial_nerve_sensation",
    "mechanism": "mechanism_of_injury fall_or_blunt_trauma",
    "pop": "pop_heard",
    "speed of swelling": "swelling_onset_hours",
    "giving way": "giving_way",
    "locking": "locking",
    "block": "unable_to_straighten block_to_extension",
    "ability to bear weight": "unable_to_weight_bear_at_injury unable_to_weight_bear",
    "fever": "fever",
    "night pain": "night_pain",
    "previous surgery": "previous_surgery",
    "anticoagulants": "anticoagulant",
    "age": "age_and_activity",
}

# Hands-on and asked criteria of published rules. Fracture rules: Stiell 1996 JAMA 275:611; Seaberg 1994 Am J
# Emerg Med 12:541. Thrombosis score: Wells 2003 N Engl J Med 349:1227. The rest: from memory.
RULES = {
    "fracture: isolated patellar tenderness": "tenderness_patella bony_tenderness",
    "fracture: fibular head": "tenderness_fibular_head",
    "fracture: flexion of 90 degrees": "passive_flexion active_flexion",
    "fracture: four steps, then and now": "unable_to_weight_bear_at_injury unable_to_weight_bear",
    "fracture: fall or blunt trauma": "fall_or_blunt_trauma",
    "thrombosis: cancer": "active_cancer",
    "thrombosis: paralysis, plaster": "leg_paralysed_or_in_plaster",
    "thrombosis: bed rest or surgery": "bed_rest_3_days major_surgery_12_weeks",
    "thrombosis: deep vein tenderness": "tenderness_calf",
    "thrombosis: whole leg": "whole_leg_swollen",
    "thrombosis: calf girth": "calf_girth",
    "thrombosis: oedema": "pitting_oedema",
    "thrombosis: collateral veins": "superficial_veins",
    "thrombosis: earlier one": "previous_dvt",
    "artery, hard signs": "pulsatile_bleeding expanding_haematoma distal_pulses cool_foot bruit_or_thrill",
    "compartment": "pain_out_of_proportion passive_toe_stretch_pain compartment_tense",
    "extensor mechanism": "straight_leg_raise palpable_gap_quadriceps palpable_gap_patellar_tendon",
    "child's hip": "hip_rotation_reduced obligate_external_rotation",
    "soft-tissue mass": "mass_size lump_growing mass_firm_fixed",
}

# Where the angle of the knee makes the test what it is (common practice).
ANGLES = {
    "lachman": (20, 30),
    "lachman_prone": (20, 30),
    "valgus_stress_0": (0, 0),
    "valgus_stress_30": (20, 30),
    "varus_stress_0": (0, 0),
    "varus_stress_30": (20, 30),
    "anterior_drawer": (90, 90),
    "posterior_drawer": (90, 90),
    "posterior_sag": (90, 90),
    "quadriceps_active": (90, 90),
    "dial_30": (30, 30),
    "dial_90": (90, 90),
    "thessaly_5": (5, 5),
    "thessaly_20": (20, 20),
    "patellar_apprehension": (20, 30),
    "apley": (90, 90),
}


@pytest.mark.parametrize(("item", "signs"), [*DESIGN.items(), *RULES.items()], ids=lambda text: text)
def test_every_item_is_covered(item: str, signs: str) -> None:
    """Each thing that the design or a published rule asks for is a sign of the protocol."""
    missing = [each for each in signs.split() if each not in PROTOCOL]
    assert not missing, item


@pytest.mark.parametrize(("sign", "angle"), ANGLES.items())
def test_the_knee_is_bent_as_the_test_demands(sign: str, angle: tuple[float, float]) -> None:
    """A test that means something else at another angle says its own."""
    assert PROTOCOL.sign(sign).knee_flexion_deg == angle


@pytest.mark.parametrize(
    "sign",
    [
        "valgus_stress_0",
        "valgus_stress_30",
        "varus_stress_0",
        "varus_stress_30",
        "lachman",
        "posterior_drawer",
    ],
)
def test_laxity_is_graded_and_measured_in_millimetres(sign: str) -> None:
    """Ligament laxity can be recorded by grade, in millimetres, or by both."""
    scale = PROTOCOL.sign(sign).scale
    assert [level.id for level in scale.levels] == ["0", "1+", "2+", "3+"]
    assert scale.measure is not None
    assert (scale.measure.unit, scale.measure.abnormal) == ("mm", "above")


def test_the_sweep_has_its_five_published_grades() -> None:
    """The sweep test is graded zero, trace, 1+, 2+, 3+ (Sturgill 2009 J Orthop Sports Phys Ther 39:845)."""
    levels = PROTOCOL.sign("effusion_sweep").scale.levels
    assert [level.id for level in levels] == ["zero", "trace", "1+", "2+", "3+"]


def test_power_is_graded_as_by_the_medical_research_council() -> None:
    """Muscle power runs from 5, full, to 0, none."""
    assert [level.id for level in PROTOCOL.sign("knee_extension_strength").scale.levels] == list("543210")


@pytest.mark.parametrize(
    ("sign", "words"),
    [
        ("pivot_shift", ["turned in", "valgus", "axial", "30 degrees"]),
        ("effusion_sweep", ["medial", "upwards", "lateral"]),
        ("patellar_tap", ["suprapatellar pouch", "empty"]),
        ("posterior_sag", ["both heels together", "compare"]),
        ("thigh_girth", ["15 centimetres above the upper pole", "relaxed"]),
        ("calf_girth", ["10 centimetres below"]),
        ("ankle_brachial_index", ["ankle", "arm", "systolic"]),
        ("quadriceps_active", ["Hold the foot"]),
        ("passive_toe_stretch_pain", ["whatever the pulse"]),
        ("obligate_external_rotation", ["every child with knee pain"]),
        ("dial_30", ["Prone, or supine", "ten degrees"]),
        ("mcmurray_medial", ["turned out", "full flexion"]),
        ("mcmurray_lateral", ["turned in", "full flexion"]),
    ],
)
def test_a_technique_says_what_makes_it_right(sign: str, words: list[str]) -> None:
    """A technique names the points that surgeons check first when they watch it done."""
    technique = PROTOCOL.sign(sign).technique
    assert [each for each in words if each not in technique] == []
