import pytest

from fabella.audit.entries import load_entries
from fabella.audit.names import named

ENTRIES = load_entries()

# Names in the style of published cases, none of them in the packaged ones, and the signs that they speak of.
NAMES = """
knee_swelling: swelling_visible
synovitis: swelling_visible
prepatellar_bursal_swelling: prepatellar_swelling
popliteal_fullness: posterior_swelling
limb_swelling: whole_leg_swollen
calf_enlargement: calf_girth
ankle_oedema: pitting_oedema
pedal edema: pitting_oedema
bruising: ecchymosis
hematoma: ecchymosis
redness: erythema
elbow_swelling: other_joints_swollen
initiation_of_extension: active_knee_extension
knee_contour: deformity
local_heat: warmth
warmth_and_erythema: erythema warmth
signs_of_inflammation: erythema warmth
laceration: open_wound
puncture_wound: open_wound
draining_sinus: sinus
medial_skin_furrow: dimple_sign
thigh_atrophy: quadriceps_wasting
VMO wasting: quadriceps_wasting
calf_atrophy: calf_wasting
genu_varum: varus_alignment
knock_knees: valgus_alignment
limb_alignment: varus_alignment valgus_alignment
gross_deformity: deformity
patella_alta: high_riding_patella
high_riding_patella: high_riding_patella
patella_baja: low_riding_patella
patella_laterally_displaced: patella_dislocated_now
prominent_tibial_tuberosity: tubercle_prominent
bony_prominence: bony_enlargement
bony_prominence_lateral: bony_enlargement
lateral_prominence: deformity
skin_mottling: cool_foot
flatfoot: flat_foot
hughston_plica_test: medial_plica_band
cystic_mass: palpable_mass
limb_position: held_flexed
flexed_posture: held_flexed
squinting_patellae: patellae_turning_in
tibial_torsion: thigh_foot_angle
pes_planus: flat_foot
overpronation: flat_foot
leg_length_discrepancy: leg_length_difference
limp: antalgic_gait
inability_to_bear_weight: unable_to_weight_bear
weight_bearing_ability: unable_to_weight_bear
refusal_to_walk: unable_to_weight_bear
trendelenburg_sign: trendelenburg_gait
lateral_thrust: varus_thrust
full_squat: deep_squat
one_leg_squat: single_leg_squat
single_leg_hop: hop_pain
childress: duck_walk
joint_effusion: effusion
tense_effusion: effusion
bulge_sign: effusion_sweep
ballottement: patellar_tap
fluctuation_test: cross_fluctuation
joint_aspiration: haemarthrosis_aspirate
hemarthrosis: haemarthrosis_aspirate
lipohaemarthrosis: haemarthrosis_aspirate
lump: palpable_mass
mass_distal_femur: palpable_mass
lateral_joint_line_cyst: joint_line_lump
bakers_cyst: popliteal_mass
pulsatile_popliteal_mass: popliteal_pulsation
knee_jerk: knee_jerk
patellar_reflex: knee_jerk
ankle_reflex: ankle_jerk
inguinal_lymph_nodes: lymph_nodes_enlarged
paleness: pallor
petechiae: bruises_elsewhere
pulse_with_ankle_movement: pulse_lost_on_foot_movement
lump_size: mass_size
mass_consistency: mass_firm_fixed palpable_mass
joint_mouse: loose_body_felt
tender_plica: medial_plica_band
suprapatellar_gap: palpable_gap_quadriceps
dent_above_patella: palpable_gap_quadriceps
infrapatellar_defect: palpable_gap_patellar_tendon
patella_fracture_gap: patellar_bone_gap
extensor_mechanism_intact: active_knee_extension
inability_to_extend: active_knee_extension
SLR: straight_leg_raise
lasegue: nerve_tension
femoral_nerve_stretch_test: nerve_tension
quadriceps_lag: extensor_lag
quadriceps_power: knee_extension_strength
quadriceps_weakness: knee_extension_strength
pain_on_resisted_extension: resisted_extension_pain
ROM: range_of_motion_limited
reduced_range_of_movement: range_of_motion_limited
knee_flexion: passive_flexion
active_knee_flexion: active_flexion
terminal_extension: passive_extension
flexion_contracture: fixed_flexion
loss_of_full_extension: fixed_flexion
locked_knee: block_to_extension
genu_recurvatum: recurvatum
pain_on_forced_extension: forced_extension_pain
hyperflexion_pain: flexion_pain
flexion_rotation_pain: flexion_pain
weight_bearing_task_pain: activity_pain
pain_on_any_movement: motion_pain_any
retropatellar_crepitus: crepitus_patellofemoral
hamstring_flexibility: hamstring_tightness
ely_test: quadriceps_tightness
patellofemoral_compression: patellar_grind
Clarke's test: clarke_sign
Fairbank apprehension: patellar_apprehension
lateral_patellar_glide: patellar_glide_increased
stiff_patella: patellar_glide_reduced
lateral_patellar_tilt: patellar_tilt
lateral_tracking: patellar_tracking
J sign: j_sign
Q-angle: q_angle
Lachmann: lachman
anterior_tibial_translation: lachman
end_point: lachman_end_point
anterior_draw: anterior_drawer
drawer_posterior: posterior_drawer
valgus_laxity: valgus_stress_30
mcl_laxity: valgus_stress_30
valgus_opening_in_extension: valgus_stress_0
varus_instability: varus_stress_30
pain_on_valgus_stress: valgus_stress_pain
jerk_test: pivot_shift
reverse_pivot: reverse_pivot_shift
godfrey: posterior_sag
quadriceps_active_drawer: quadriceps_active
medial_step_off: tibial_step_off
dial_test: dial_30
dial_test_at_90: dial_90
posterolateral_corner_laxity: dial_30
great_toe_test: external_rotation_recurvatum
slocum: anteromedial_drawer
Lelli: lever_sign
fibular_head_instability: proximal_tibiofibular_glide
MacMurray: mcmurray
meniscal_signs: mcmurray joint_line_tenderness
Thessaly: thessaly_20
apley_grind: apley
Steinmann: steinmann_1
bounce_test: bounce_home
audible_clunk: lateral_snap
clicking: painful_click
hoffa_test: hoffa_test
renne_test: noble_compression
obers_test: ober
resisted_knee_flexion: resisted_flexion_pain
resisted_flexion_internal_rotation_pain: resisted_flexion_pain
hip_rotation: hip_rotation_reduced hip_rotation_pain
hip_abduction: hip_rotation_reduced hip_rotation_pain
log_roll: hip_rotation_pain
FABER: hip_rotation_pain
Drehmann: obligate_external_rotation
gluteus_medius_strength: hip_abduction_weak
groin_tenderness: groin_pain
low_back_pain: back_pain
ankle_examination: ankle_foot_screen
pedal_pulses: distal_pulses
dorsalis_pedis_pulse: distal_pulses
distal_perfusion: distal_pulses
cold_foot: cool_foot
capillary_refill_time: capillary_refill_s
ABI: ankle_brachial_index
popliteal_bruit: bruit_or_thrill
neurovascular_status: distal_neurovascular
first_web_space_sensation: peroneal_sensation
plantar_sensation: tibial_nerve_sensation
dorsiflexion_strength: foot_drop
EHL strength: foot_drop
plantarflexion_strength: tibial_nerve_motor
tinel_at_fibular_neck: tinel_fibular_neck
tense_compartment: compartment_tense
pain_on_passive_toe_extension: passive_toe_stretch_pain
body_temperature: body_temperature
generalised_joint_laxity: beighton_score
polyarthritis: other_joints_swollen
psoriatic_plaques: rash
gouty_tophi: tophi
cellulitis: skin_infection
systemically_unwell: rigors_or_unwell
passive_ankle_stretch_pain: passive_toe_stretch_pain
hip_external_rotation_strength: hip_abduction_weak
lower_limb_strength: knee_extension_strength foot_drop tibial_nerve_motor
steppage_gait: foot_drop
ankle_range: ankle_foot_screen
leg_muscle_wasting: quadriceps_wasting
kneeling_pain: pain_on_kneeling
internal_derangement_tests: lachman posterior_drawer valgus_stress_30 varus_stress_30 mcmurray
dynamic_knee_valgus: single_leg_squat
medial_meniscal_cyst: joint_line_lump
mass_popliteal_fossa: popliteal_mass
nail_pitting: rash
"""
SITES = """
tenderness_quadriceps_tendon: tenderness_quadriceps_insertion
superior pole tenderness: tenderness_superior_pole
tenderness_medial_border_of_patella: tenderness_patella
tenderness_mpfl: tenderness_medial_retinaculum
tenderness_adductor_tubercle: tenderness_adductor_tubercle
tenderness_over_inferior_pole_of_patella: tenderness_inferior_pole
point_tenderness_patellar_tendon: tenderness_patellar_tendon
fat_pad_tenderness: tenderness_fat_pad
tenderness_tibial_tuberosity: tenderness_tibial_tubercle
pes_tenderness: tenderness_pes_anserinus
pain_on_palpation_of_medial_tibial_plateau: tenderness_medial_tibial_plateau
tenderness_proximal_lateral_tibia: tenderness_lateral_tibial_plateau
tenderness_gerdys_tubercle: tenderness_gerdy_tubercle
fibular_neck_tenderness: tenderness_fibular_head
tenderness_mcl: tenderness_mcl
tenderness_lcl: tenderness_lcl
tenderness_popliteus: tenderness_posterolateral
itb_tenderness: tenderness_iliotibial_band
tenderness_popliteal_fossa: tenderness_popliteal
tenderness_biceps_femoris: tenderness_hamstrings
tenderness_gastrocnemius: tenderness_calf
tenderness_medial_femoral_condyle: tenderness_medial_femoral_condyle
tenderness_lateral_joint_line: joint_line_tenderness_lateral
MJLT: joint_line_tenderness_medial
tenderness_distal_femur: bony_tenderness tenderness_medial_femoral_condyle tenderness_lateral_femoral_condyle
bony_tenderness_metaphysis: bony_tenderness
tenderness_peripatellar: tenderness_anterior
generalized_tenderness: tenderness_diffuse
tenderness_medial: pain_medial joint_line_tenderness_medial tenderness_mcl
tenderness_groin: groin_pain
tenderness_patellar_retinaculum: tenderness_medial_retinaculum
tenderness_lateral_patellar_retinaculum: pain_lateral
tenderness_suprapatellar_medial: pain_medial
tenderness_lateral_suprapatellar: pain_lateral
tenderness_medial_gastrocnemius_origin: tenderness_calf
"""
ROWS = [line.split(": ") for line in (NAMES + SITES).strip().splitlines() if line]


def signs(name: str) -> set[str]:
    """Every sign that a name can speak of by itself, without the words of a value."""
    meant = named(name, ENTRIES)
    assert meant is not None, name
    return {
        sign
        for entry in meant.entries
        for sign in (*entry.to, *(entry.normal_to or ()), *(entry.abnormal_to or ()))
    }


def test_the_table_is_as_long_as_it_should_be() -> None:
    """At least 120 names beyond those of the packaged cases are tried."""
    assert len(ROWS) >= 120


@pytest.mark.parametrize(("name", "expected"), ROWS)
def test_a_plausible_name_is_understood(name: str, expected: str) -> None:
    """What a case report would call a sign leads to the signs of the protocol that say the same."""
    assert signs(name) == set(expected.split())


@pytest.mark.parametrize(
    "name",
    ["frobnication", "tenderness_medial_wrist", "quux_sign", "", "patellar_osmosis", "hip_of_the_horse"],
)
def test_an_unknown_name_is_reported(name: str) -> None:
    """A name that nobody knows is not taken for the nearest one."""
    assert named(name, ENTRIES) is None


@pytest.mark.parametrize(
    ("slip", "meant"),
    [
        ("mcmuray", "mcmurray"),
        ("patelar_apprehension", "patellar_apprehension"),
        ("thigh_circumfrence", "thigh_girth"),
        ("efusion", "effusion"),
        ("laceratoin", "open_wound"),
        ("apprehention_test", "patellar_apprehension"),
    ],
)
def test_a_small_slip_does_not_matter(slip: str, meant: str) -> None:
    """One misspelt word is corrected when only one known word is near."""
    assert signs(slip) == {meant}


def test_known_words_are_never_taken_for_one_another() -> None:
    """Medial stays medial and 0 degrees stay 0, however alike the names are."""
    assert signs("tenderness_medial_femoral_condyle") != signs("tenderness_lateral_femoral_condyle")
    assert signs("valgus_stress_0") != signs("valgus_stress_30")
    assert signs("varus_stress") != signs("valgus_stress")
    assert signs("posterior_drawer") != signs("anterior_drawer")
    assert signs("hip_internal_rotation") != signs("hip_flexion")


@pytest.mark.parametrize(
    ("name", "side"),
    [
        ("right_lachman", "right"),
        ("lachman_left", "left"),
        ("contralateral_lachman", "contralateral"),
        ("other_knee", "contralateral"),
        ("contralateral_knee_examination", "contralateral"),
        ("lachman", None),
        ("other_joints", None),
        ("other_knee_tests", None),
    ],
)
def test_a_side_may_stand_in_the_name(name: str, side: str | None) -> None:
    """The side in a name is found, and a word such as "other" is only one beside a knee."""
    meant = named(name, ENTRIES)
    assert meant is not None
    assert meant.side == side


def test_two_signs_may_stand_in_one_name() -> None:
    """A name that joins two signs by "and" is both."""
    assert signs("lachman_and_pivot_shift") == {"lachman", "pivot_shift"}
    both = {"joint_line_tenderness_medial", "joint_line_tenderness_lateral"}
    assert signs("medial_and_lateral_joint_line_tenderness") == both


def test_what_has_no_place_is_set_aside_with_a_reason() -> None:
    """Laboratory values, tone and the like are understood and said to have no sign."""
    for name in ("CRP", "babinski_reflex", "homans", "thomas_test", "MRI", "cervical_lymph_nodes"):
        meant = named(name, ENTRIES)
        assert meant is not None, name
        assert [bool(entry.aside) for entry in meant.entries] == [True], name
