import pytest

from fabella.audit.entries import load_entries
from fabella.audit.findings import Outcome, read_finding
from fabella.audit.phrase import Draft
from fabella.protocol import load_protocol

PROTOCOL, ENTRIES = load_protocol(), load_entries()

# sign | value | note | what it says: "sign state level", "sign = number", "sign untestable reason"
TABLE = """
lachman | positive | | lachman abnormal
lachman | negative | | lachman normal
lachman | 1+ | | lachman abnormal 1+
lachman | grade 2 | | lachman abnormal 2+
lachman | grade II | | lachman abnormal 2+
lachman | 3+ or more | | lachman abnormal 3+
lachman | ++ | | lachman abnormal 2+
lachman | 2B | | lachman abnormal 2+
lachman | grade 0 | | lachman normal
lachman | trace | | lachman abnormal 1+
lachman | mild | | lachman abnormal 1+
lachman | moderate | | lachman abnormal 2+
lachman | gross laxity | | lachman abnormal 3+
lachman | slight laxity | | lachman abnormal 1+
lachman | no laxity | | lachman normal
lachman | stable | | lachman normal
lachman | 10 mm | | lachman = 10
lachman | 5-7 mm | | lachman = 6
lachman | positive | 8 mm, soft end point | lachman = 8; lachman_end_point abnormal soft
lachman | > 10 mm | | lachman abnormal 3+
lachman | < 3 mm | | lachman normal
lachman | 1+, firm end point | | lachman abnormal 1+; lachman_end_point normal
lachman | 2+ with soft endpoint | | lachman abnormal 2+; lachman_end_point abnormal soft
lachman | soft end point | | lachman_end_point abnormal soft
lachman | firm end point | | lachman_end_point normal
lachman | painful | | lachman untestable pain
lachman | guarded | | lachman untestable guarding
lachman | negative | limited by guarding | lachman untestable guarding
lachman | negative | difficult, swelling and spasm | lachman untestable guarding
lachman | negative | may be false negative | lachman untestable other
lachman | negative | no guarding | lachman normal
lachman | positive | limited by guarding | lachman abnormal
mcmurray | negative | some guarding | mcmurray untestable guarding
effusion | negative | some guarding | effusion normal
lachman | limited by pain | | lachman untestable pain
lachman | not assessable | | lachman untestable pain
lachman | not assessable | large effusion | lachman untestable swelling
lachman | not assessable in plaster | | lachman untestable plaster_or_brace
lachman | refused | | lachman untestable refused
lachman | equivocal | | lachman untestable other
lachman | not done | | lachman not_examined
posterior_drawer | firm end point | | posterior_drawer normal
posterior_drawer | soft end point | | posterior_drawer abnormal
posterior_drawer | grade 2 | | posterior_drawer abnormal 2+
anterior_drawer | 1 cm | | anterior_drawer = 10
valgus_stress | positive | angle not stated | valgus_stress_30 abnormal
valgus_stress | positive | at 0 and 30 deg | valgus_stress_0 abnormal; valgus_stress_30 abnormal
valgus_stress | 3+ in extension | | valgus_stress_0 abnormal 3+
valgus_stress | lax at 30 deg, stable at 0 deg | | valgus_stress_30 abnormal; valgus_stress_0 normal
valgus_stress | grade 1 at 20 deg | | valgus_stress_30 abnormal 1+
valgus_stress | pain, no laxity | | valgus_stress_30 normal; valgus_stress_pain abnormal
varus_stress | severe pain | | varus_stress_pain abnormal
pivot_shift | grade 2 | | pivot_shift abnormal clunk
pivot_shift | glide | | pivot_shift abnormal glide
dial_test | positive at 30 deg | | dial_30 abnormal
dial_test | 15 deg difference at 30 and 90 deg | | dial_30 abnormal; dial_90 abnormal
effusion | large | | effusion abnormal large
effusion | positive | severe | effusion abnormal large
effusion | minimal | | effusion abnormal small
effusion | grade 1 | | effusion abnormal small
effusion | tense | | effusion abnormal large
effusion | none | | effusion normal
effusion | within normal limits | | effusion normal
effusion | notable | | effusion abnormal
lachman | within normal limits | | lachman normal
range_of_motion | within normal limits | | range_of_motion_limited normal
range_of_motion | within limits of pain | | range_of_motion_limited abnormal
active_knee_extension | within normal limits | | active_knee_extension normal
catching | occasional | | catching abnormal
quadriceps_gap | 5 cm | | palpable_gap_quadriceps abnormal
patellar_tendon_gap | 2 cm | | palpable_gap_patellar_tendon abnormal
resisted_extension | able | some discomfort | resisted_extension_pain abnormal
resisted_extension | full strength | no pain | resisted_extension_pain normal
gait | quad-minus | | stiff_knee_gait abnormal
knee_contour | misshapen | | deformity abnormal
knee_contour | lost | | swelling_visible abnormal
effusion | | moderate | effusion abnormal moderate
effusion_sweep | trace | | effusion_sweep abnormal trace
swelling | positive | prepatellar | prepatellar_swelling abnormal
swelling | popliteal fossa | | posterior_swelling abnormal
warmth | slightly warm | | warmth abnormal warm
haemarthrosis_aspirate | 45 mL bloody fluid | | haemarthrosis_aspirate abnormal blood
aspirate | blood with fat globules | | haemarthrosis_aspirate abnormal blood_with_fat
aspirate | turbid | | haemarthrosis_aspirate abnormal turbid
aspirate | straw-coloured | | haemarthrosis_aspirate abnormal clear
flexion_range | 135 deg | | passive_flexion = 135
flexion_range | limited | 90 deg | passive_flexion = 90
flexion_range | full | | passive_flexion normal
flexion_range | full but painful | | passive_flexion normal; flexion_pain abnormal
flexion_range | restricted by swelling | | passive_flexion abnormal
flexion_range | lacks 20 deg | | passive_flexion abnormal
flexion_range | 0 to 120 deg | | passive_extension = 0; passive_flexion = 120
flexion_range | painful beyond 90 deg | | flexion_pain abnormal
extension_range | -8 deg | as reported | passive_extension = -8
extension_range | 0 deg | | passive_extension = 0
extension_range | limited | lacks 10 deg | passive_extension = -10
extension_range | lacks 5 deg | | passive_extension = -5
extension_range | 5 deg of hyperextension | | passive_extension = 5
extension_range | 20 deg | | passive_extension = -20
hyperextension | 25 deg | | passive_extension = 25
hyperextension | positive | | recurvatum abnormal
fixed_flexion | 30 deg | | fixed_flexion = 30
block_to_extension | 5 deg at 2 weeks | | fixed_flexion = 5
block_to_extension | springy, 20 deg | | fixed_flexion = 20; block_to_extension abnormal springy
range_of_motion | 30-110 | | passive_extension = -30; passive_flexion = 110
range_of_motion | 0-135 deg | | passive_extension = 0; passive_flexion = 135
range_of_motion | 5-0-140 | | passive_extension = 5; passive_flexion = 140
range_of_motion | 0/10/90 | | passive_extension = -10; passive_flexion = 90
range_of_motion | -5 to 130 deg | | passive_extension = 5; passive_flexion = 130
range_of_motion | full extension, flexion to 110 deg | | passive_extension normal; passive_flexion = 110
range_of_motion | good | | range_of_motion_limited normal
range_of_motion | limited by pain | | range_of_motion_limited abnormal
range_of_motion | markedly limited | | range_of_motion_limited abnormal marked
active_knee_extension | unable | | active_knee_extension abnormal unable
active_knee_extension | markedly limited | | active_knee_extension abnormal weak
active_knee_extension | negative | | active_knee_extension abnormal unable
active_knee_extension | able | | active_knee_extension normal
active_knee_extension | limited by pain | | active_knee_extension untestable pain
straight_leg_raise | unable | | straight_leg_raise abnormal unable
straight_leg_raise | 10 deg lag | | straight_leg_raise abnormal lag; extensor_lag = 10
straight_leg_raise | negative | | nerve_tension normal
quadriceps_contraction_transmitted | negative | | quadriceps_contraction abnormal absent
knee_extension_strength | 5/5 | | knee_extension_strength normal
knee_extension_strength | 4/5 | | knee_extension_strength abnormal 4
distal_pulses | absent | | distal_pulses abnormal absent
distal_pulses | 2+ | | distal_pulses normal
distal_pulses | not palpable | | distal_pulses abnormal absent
distal_pulses | diminished | | distal_pulses abnormal weak
limb_temperature | cool | | cool_foot abnormal
capillary_refill | < 2 s | | capillary_refill_s normal
capillary_refill | 4 s | | capillary_refill_s = 4
sensation_distal | reduced | first web space | peroneal_sensation abnormal
sensation_distal | reduced | | tingling_or_numbness abnormal
foot_drop | absent | | foot_drop normal
ankle_dorsiflexion | absent | | foot_drop abnormal absent
mcmurray | pain and click | | mcmurray abnormal
mcmurray | positive | medial pain | mcmurray_medial abnormal
mcmurray | positive lateral | | mcmurray_lateral abnormal
tenderness_tibial_tubercle | non-tender | | tenderness_tibial_tubercle normal
patellar_glide | 3+ or more | limited by apprehension | patellar_glide_increased abnormal
patellar_mobility | decreased | | patellar_glide_reduced abnormal
patellar_mobility | 2 quadrants | | patellar_glide_increased normal; patellar_glide_reduced normal
patellar_apprehension | 3+ | | patellar_apprehension abnormal marked
single_leg_squat | poor control | | single_leg_squat abnormal poor_control
single_leg_squat | difficult | | single_leg_squat abnormal poor_control
rest_position | held near 90 deg | | held_flexed abnormal
beighton_score | positive | 6 of 9 | beighton_score = 6
beighton_score | 5/9 | | beighton_score = 5
temperature | 37.8 C | | body_temperature = 37.8
temperature | raised | 38.6 C | body_temperature = 38.6
temperature | 101 F | | body_temperature = 38.3
palpable_mass | 5 x 4 cm, hard | | palpable_mass abnormal; mass_size = 5; mass_firm_fixed abnormal
hip_internal_rotation | reduced | | hip_rotation_reduced abnormal
hip_internal_rotation | 10 deg | | hip_internal_rotation = 10
hip_internal_rotation | painful and limited | | hip_rotation_reduced abnormal; hip_rotation_pain abnormal
gait | antalgic | | antalgic_gait abnormal
gait | unable to walk | | unable_to_weight_bear abnormal
weight_bearing | unable | | unable_to_weight_bear abnormal
weight_bearing | full | | unable_to_weight_bear normal
alignment | 5 deg valgus | | tibiofemoral_angle = 5
alignment | neutral | | varus_alignment normal; valgus_alignment normal
valgus_deformity | 30 deg fixed | | tibiofemoral_angle = 30
varus_deformity | 15 deg | | tibiofemoral_angle = -15
genu_varum | 12 degrees | | tibiofemoral_angle = -12
varus_deformity | 0 deg | | varus_alignment normal
valgus_deformity | correctable | | valgus_alignment abnormal
varus_deformity | mild, passively correctable | | varus_alignment abnormal mild
varus_deformity | not correctable | | varus_alignment abnormal
varus_deformity | none | | varus_alignment normal
patellar_tracking | midline | | patellar_tracking normal
patellar_tracking | centred | | patellar_tracking normal
patellar_tracking | lateral to the midline | | patellar_tracking abnormal
distal_neurovascular | non-focal | | distal_neurovascular normal
gait | non-antalgic | | antalgic_gait normal
effusion | +1 | | effusion abnormal small
effusion | 1+ | | effusion abnormal small
extension_range | +3 deg | | passive_extension = 3
sensation_distal | paraesthesia | | tingling_or_numbness abnormal
sensation_distal | no paraesthesia | | peroneal_sensation normal; tibial_nerve_sensation normal
weight_bearing | toe-touch only | | antalgic_gait abnormal
deformity | posterior displacement of tibia | | deformity abnormal
cystic_swelling | popliteal | | popliteal_mass abnormal
nodules | tophi | | tophi abnormal
mass | no popliteal mass | | popliteal_mass normal
rash | erythema migrans | | rash abnormal
snapping | lateral | | lateral_snap abnormal
erythema | spreading | | erythema abnormal
leg_length | 1 cm short | | leg_length_difference = -1
morning_stiffness | 1 hour | | morning_stiffness_min = 60
capillary_refill_delayed | positive | | capillary_refill_s abnormal
compartment_soft | positive | | compartment_tense normal
mass | solid, does not move | | palpable_mass abnormal; mass_firm_fixed abnormal
mass | deep under the muscle | | palpable_mass abnormal; mass_firm_fixed abnormal
mass | firm, fluctuant | | palpable_mass abnormal; mass_firm_fixed normal
mass | firm | | palpable_mass abnormal; mass_firm_fixed abnormal
hip_rotation_pain | worst pain here, not at the knee | | hip_rotation_pain abnormal
hip_rotation_pain | severe pain, none at the knee | | hip_rotation_pain abnormal
active_knee_extension | anti-gravity only | | active_knee_extension abnormal weak
gait | non-weight-bearing | | antalgic_gait abnormal
active_knee_extension | raises the leg only with her hands | | active_knee_extension abnormal unable
straight_leg_raise | lifts the leg with a stick | | straight_leg_raise abnormal unable
thessaly | unable to perform, painful | | thessaly_20 untestable pain
apley | could not be done | pain | apley untestable pain
tinel | positive | Hunter canal | tingling_or_numbness abnormal
tinel | positive | behind the fibular head | tinel_fibular_neck abnormal
oedema | about the knee | | swelling_visible abnormal
oedema | pitting, ankle | | pitting_oedema abnormal
varus_stress | very painful | | varus_stress_pain abnormal
varus_stress | slight laxity, same as the other knee | | varus_stress_30 normal
lachman | 1+, equal on both sides | | lachman normal
lachman | 2+, symmetric | | lachman abnormal 2+
lachman | 1+, asymmetric | | lachman abnormal 1+
cruciate_laxity | slight laxity, symmetric | | lachman normal; posterior_drawer normal
swelling | lower leg | | calf_girth abnormal
lower_leg_swelling | positive | | calf_girth abnormal
leg_swelling | positive | | whole_leg_swollen abnormal
sensation | diminished | outer leg and back of the foot | peroneal_sensation abnormal
weight_bearing | will not put the foot down | | unable_to_weight_bear abnormal
gait | carried by his mother | | unable_to_weight_bear abnormal
unable_to_weight_bear | refuses | | unable_to_weight_bear abnormal
knee_reflex | 2/4 | | knee_jerk normal
ankle_reflex | not elicitable | | ankle_jerk abnormal absent
patellar_reflex | diminished | | knee_jerk abnormal reduced
pulse_with_ankle_movement | not palpable | | pulse_lost_on_foot_movement abnormal
pulse_with_ankle_movement | stays palpable | | pulse_lost_on_foot_movement normal
patella_tests | negative | | patellar_grind normal; patellar_apprehension normal
flexion_range | full | pain at the extreme | passive_flexion normal; flexion_pain abnormal
flexion_range | 95 deg | by swelling, no pain | passive_flexion = 95; flexion_pain normal
flexion_range | 110/140 | | passive_flexion = 110
extension_range | full | painful | passive_extension normal; forced_extension_pain abnormal
extension_range | slight hyperextension | | recurvatum abnormal
range_of_motion | 15 deg hyperextension to 10 deg flexion | | passive_extension = 15; passive_flexion = 10
range_of_motion | full extension to 90 deg | | passive_extension = 0; passive_flexion = 90
passive_range | resisted | | range_of_motion_limited abnormal
active_range | unable | | range_of_motion_limited abnormal marked
alignment | mild genu varum | | varus_alignment abnormal mild
alignment | slight genu valgum | | valgus_alignment abnormal mild
alignment | physiological valgus | | varus_alignment normal; valgus_alignment normal
leg_length | right longer than left | | leg_length_difference abnormal
leg_length | equal | | leg_length_difference normal
squat | pain-free to 90 deg | | deep_squat abnormal limited; pain_on_squatting normal
squat | uncomfortable | | pain_on_squatting abnormal
squat | limited by pain | | deep_squat abnormal limited; pain_on_squatting abnormal
single_leg_squat | pain-free | | single_leg_squat normal
single_leg_squat | positive | painful | single_leg_squat abnormal painful_or_unable
dynamic_valgus | positive | | single_leg_squat abnormal poor_control
lunge | positive | reproduces pain | pain_on_squatting abnormal
hop_test | pain-free | | hop_pain normal
pivot_shift | unable | | pivot_shift untestable pain
lachman | unable | apprehension | lachman untestable not_able_to_cooperate
ankle_dorsiflexion | unable | | foot_drop abnormal absent
lachman | not assessed | | lachman not_examined
lachman | 2/3 | | lachman abnormal 2+
lachman | +/- | | lachman untestable other
lachman | 1+ on both sides | | lachman normal
valgus_stress | negative | painful | valgus_stress_30 normal; valgus_stress_pain abnormal
ligament_test_pain | positive | | valgus_stress_pain abnormal; varus_stress_pain abnormal
mcmurray | painful, no click | | mcmurray abnormal
mcmurray | no pain or click | | mcmurray normal
knee_extension_strength | 4 out of 5 | | knee_extension_strength abnormal 4
vmo_strength | underactive | | quadriceps_contraction abnormal weak
great_toe_extension_strength | 5/5 | | foot_drop normal
ankle_eversion_strength | 1/5 | | foot_drop abnormal absent
lower_leg_strength | weak | | distal_neurovascular abnormal
swelling | positive | in front of the kneecap | prepatellar_swelling abnormal
swelling | positive | below the kneecap | prepatellar_swelling abnormal
swelling | positive | knee to mid-calf | swelling_visible abnormal; calf_girth abnormal
swelling | positive | whole limb | whole_leg_swollen abnormal
swelling | gone | | swelling_visible normal
palpable_mass | 3 x 2 cm | behind the knee | popliteal_mass abnormal; mass_size = 3
palpable_mass | positive | lateral joint line, hard | joint_line_lump abnormal; mass_firm_fixed abnormal
popliteal_mass | 4 cm | | popliteal_mass abnormal; mass_size = 4
palpable_gap | positive | above the kneecap | palpable_gap_quadriceps abnormal
palpable_gap_tibial_tubercle | positive | | tubercle_prominent abnormal
psoriatic_skin | positive | | rash abnormal; psoriasis abnormal
open_wound | laceration | | open_wound abnormal
deformity | of the kneecap | | patella_dislocated_now abnormal
patellar_dislocated | positive | each time the knee bends to 60 degrees | patellar_tracking abnormal
patellar_dislocated | positive | in flexion beyond 45 degrees | patellar_tracking abnormal
patellar_dislocated | positive | laterally, before reduction | patella_dislocated_now abnormal
patellar_dislocated | positive | the knee is held in flexion | patella_dislocated_now abnormal
deformity | fixed flexion 20 deg | | fixed_flexion = 20
figure_of_four_pain | positive | at the fibular head | pain_lateral abnormal
tenderness_distal_femur | positive | | bony_tenderness abnormal
crossed_sciatic_stretch | positive | | nerve_tension abnormal
temperature | normal | afebrile | fever normal
resisted_flexion_pain | lateral | | resisted_flexion_pain abnormal
flexion_range | full | last 10 to 15 deg painful | passive_flexion normal; flexion_pain abnormal
range_of_motion | 10-15 deg short of full bending | | range_of_motion_limited abnormal
range_of_motion_limited | positive | negligible movement | range_of_motion_limited abnormal marked
movement_pain | positive | | flexion_pain abnormal
movement_pain | positive | bending and straightening | flexion_pain abnormal; forced_extension_pain abnormal
movement_pain | positive | on straightening | forced_extension_pain abnormal
movement_pain | positive | severe with any movement | motion_pain_any abnormal
pain_with_any_movement | positive | | motion_pain_any abnormal
patellar_apprehension | mild pain | | patellar_apprehension normal
patellar_apprehension | positive | with pain | patellar_apprehension abnormal
patellar_glide | increased, painful | | patellar_glide_increased abnormal
vmo_strength | absent | | quadriceps_contraction abnormal weak
haemarthrosis_aspirate | positive | with fat droplets | haemarthrosis_aspirate abnormal blood_with_fat
haemarthrosis_aspirate | positive | no fat | haemarthrosis_aspirate abnormal blood
popliteal_mass | fullness | back outer side | posterior_swelling abnormal
popliteal_swelling | fullness | | posterior_swelling abnormal
fluctuation | positive | | cross_fluctuation abnormal
fluctuance | positive | over the patella | prepatellar_swelling abnormal
hamstring_tightness | popliteal angle 35 deg | | popliteal_angle = 35
hip_external_rotation_range | reduced | | hip_rotation_reduced abnormal
sensation_medial_knee | reduced | | tingling_or_numbness abnormal
joint_line_tenderness | positive | most on the inner side | joint_line_tenderness_medial abnormal
gait | with a stick | | walking_aid abnormal stick
knee_flexion_strength | normal, painless | | resisted_flexion_pain normal
"""
ROWS = [[cell.strip() for cell in line.split("|")] for line in TABLE.strip().splitlines()]


def read(sign: str, value: str, note: str = "", *, sided: bool = False) -> Outcome:
    """One finding of an acute injury as it is read."""
    return read_finding(sign, value, note, entries=ENTRIES, protocol=PROTOCOL, fresh=True, sided=sided)


def told(draft: Draft) -> str:
    """A draft in the notation of the table; the only level of a yes-or-no sign is left out."""
    reading = draft.reading
    if reading.value is not None:
        return f"{draft.sign} = {reading.value:g}"
    level = None if reading.level == "yes" else reading.level
    words = (
        draft.sign,
        reading.state and reading.state.value,
        level,
        reading.reason and reading.reason.value,
    )
    return " ".join(filter(None, words))


def test_the_table_is_as_long_as_it_should_be() -> None:
    """At least 80 phrases are tried."""
    assert len(ROWS) >= 80


@pytest.mark.parametrize(("sign", "value", "note", "expected"), ROWS)
def test_a_phrase_is_read(sign: str, value: str, note: str, expected: str) -> None:
    """A value in the words of a case report says of our signs what a doctor understands by it."""
    outcome = read(sign, value, note)
    assert "; ".join(map(told, outcome.drafts)) == expected, outcome


@pytest.mark.parametrize(
    ("sign", "value"),
    [("lachman", "purple"), ("effusion", "see text"), ("tenderness", "positive"), ("lachman", "")],
)
def test_what_is_not_understood_is_said(sign: str, value: str) -> None:
    """A value without a known word or site, and an empty value, are reported and not guessed."""
    outcome = read(sign, value)
    assert outcome.drafts == ()
    assert outcome.unread


@pytest.mark.parametrize(
    ("sign", "value", "note", "added"),
    [
        (
            "tenderness_tibial_tubercle",
            "positive",
            "prominent, warm, swollen",
            {"tubercle_prominent", "warmth"},
        ),
        ("tenderness_tibial_tubercle", "negative", "prominent but not tender", {"tubercle_prominent"}),
        ("tenderness_tibial_tubercle", "positive", "not prominent", set()),
        ("hip_internal_rotation", "reduced", "painful", {"hip_rotation_pain"}),
        ("swelling", "positive", "warm and red", {"warmth", "erythema"}),
        ("effusion", "positive", "aspirate was blood-stained", {"haemarthrosis_aspirate"}),
        ("effusion", "negative", "warm", set()),
        ("range_of_motion_limited", "positive", "locked knee", {"block_to_extension"}),
        ("squat", "full", "pain at the bottom", {"pain_on_squatting"}),
        ("tenderness_anterior", "positive", "tibial tubercle", set()),
        ("palpable_mass", "positive", "single, just below the patella", {"prepatellar_swelling"}),
        ("palpable_mass", "positive", "beside the patellar tendon", set()),
        ("palpable_mass", "positive", "moves under the patella when bent", {"loose_body_felt"}),
        (
            "palpable_mass",
            "hard",
            "slips from the front to the outer side on straightening",
            {"loose_body_felt"},
        ),
        ("palpable_mass", "positive", "does not move under the patella", set()),
        ("palpable_mass", "5 x 4 cm", "smooth, firm, moves sideways", set()),
    ],
)
def test_a_note_adds_what_it_plainly_says(sign: str, value: str, note: str, added: set[str]) -> None:
    """A note adds another finding only where it states it, and only beside an abnormal one."""
    assert {draft.sign for draft in read(sign, value, note).added} == added


@pytest.mark.parametrize(
    ("sign", "value", "note", "sites"),
    [
        (
            "joint_line_tenderness",
            "medial and lateral",
            "",
            "joint_line_tenderness_medial joint_line_tenderness_lateral",
        ),
        (
            "tenderness",
            "positive",
            "medial joint line and pes",
            "joint_line_tenderness_medial tenderness_pes_anserinus",
        ),
        ("bony_tenderness", "positive", "medial femoral condyle", "tenderness_medial_femoral_condyle"),
        ("tenderness_medial", "positive", "over the MCL", "tenderness_mcl"),
        ("tenderness_medial", "positive", "", "pain_medial"),
        ("tenderness_patella", "positive", "lower pole", "tenderness_inferior_pole"),
        ("tenderness_patella", "positive", "and the quadriceps tendon", "tenderness_patella"),
        ("tenderness_anterior", "positive", "tibial tubercle", "tenderness_tibial_tubercle"),
    ],
)
def test_a_site_in_the_value_or_the_note_counts(sign: str, value: str, note: str, sites: str) -> None:
    """Tenderness lands on the sites that are named, the most exact ones."""
    drafts = read(sign, value, note).drafts
    assert {draft.sign for draft in drafts} == set(sites.split())
    assert {draft.reading.state for draft in drafts} == {"abnormal"}


@pytest.mark.parametrize(
    ("sign", "value", "note"),
    [
        ("wound", "healing, dry", ""),
        ("erythema_medial_thigh", "slight", ""),
        ("pain", "none", ""),
        ("skin", "shiny", ""),
        ("ecchymosis", "positive", "crescent below the ankle"),
        ("lcl_palpable_cord", "negative", "not felt in the figure-of-four position"),
        ("tenderness_femoral_shaft", "negative", ""),
        ("tenderness_lateral_thigh", "positive", "over the swelling"),
        ("lumbar_tenderness", "positive", "L5/S1"),
        ("knee_flexion_strength", "normal", "same on both sides"),
        ("knee_extension_strength", "0/5", "as before, stroke"),
        ("patellar_displacement", "medial", "pushed by the mass"),
        ("gait", "circumduction", "slight"),
        ("mass_change_with_flexion", "no change", ""),
        ("resisted_external_rotation_pain", "positive", "back outer side"),
        ("pelvic_level", "left iliac crest high", ""),
    ],
)
def test_what_the_protocol_has_no_place_for_is_set_aside(sign: str, value: str, note: str) -> None:
    """A wound that heals is no open wound, a bruise at the ankle none of the knee: said, not recorded."""
    outcome = read(sign, value, note)
    assert (outcome.drafts, outcome.unread) == ((), "")
    assert outcome.aside


def test_a_painful_glide_is_neither_much_nor_little() -> None:
    """Pain on moving the patella says nothing of how far it goes."""
    assert read("patellar_glide", "painful", "to the outer side").drafts == ()


def test_a_painless_range_hurt_nowhere() -> None:
    """Who moves a knee fully without pain has found no pain at either end."""
    said = {draft.sign: draft.reading.state for draft in read("range_of_motion", "full, pain-free").drafts}
    assert said == dict.fromkeys(
        ("range_of_motion_limited", "flexion_pain", "forced_extension_pain", "motion_pain_any"), "normal"
    )


def test_a_negative_at_one_bone_says_nothing_of_the_others() -> None:
    """Condyles that are not tender leave the tibial plateau open; a tender "femur" is bony tenderness."""
    condyles = {draft.sign for draft in read("tenderness_femoral_condyles", "negative").drafts}
    assert condyles == {"tenderness_medial_femoral_condyle", "tenderness_lateral_femoral_condyle"}
    assert {draft.sign for draft in read("tenderness_femur", "positive").drafts} == {"bony_tenderness"}


def test_a_test_that_pain_prevented_is_no_negative() -> None:
    """Not assessable, guarded or refused never reads as normal for any ligament test."""
    for sign in (
        "lachman",
        "anterior_drawer",
        "posterior_drawer",
        "pivot_shift",
        "varus_stress",
        "valgus_stress",
    ):
        for value in (
            "not assessable",
            "guarded",
            "could not be tested because of pain",
            "refused",
            "too painful",
        ):
            states = {draft.reading.state for draft in read(sign, value).drafts}
            assert states == {"untestable"}, (sign, value)


def test_positive_and_negative_are_opposites_for_every_sign_of_the_protocol() -> None:
    """Whatever name of the protocol is used, "positive" and "negative" never say the same."""
    for sign in PROTOCOL.signs:
        if sign.kind == "courtesy":
            continue
        yes = {(draft.sign, draft.reading.state) for draft in read(sign.id, "positive").drafts}
        no = {(draft.sign, draft.reading.state) for draft in read(sign.id, "negative").drafts}
        assert not yes & no, sign.id


def test_every_level_of_the_protocol_is_read_back() -> None:
    """The protocol's own name and level of an examined sign come back as that level."""
    wrong = []
    for sign in PROTOCOL.signs:
        if sign.kind in {"courtesy", "history"} or sign.is_summary or sign.id == "walking_aid":
            continue
        for level in sign.scale.levels:
            if level.id in {"yes", "no"} or (sign.id, level.id) == ("foot_drop", "absent"):
                continue  # an absent foot drop is a foot that does not drop
            own = [draft.reading for draft in read(sign.id, level.id).drafts if draft.sign == sign.id]
            expected = ("normal", None) if level.rank == 0 else ("abnormal", level.id)
            if [(reading.state, reading.level) for reading in own] != [expected]:
                wrong.append((sign.id, level.id, own))
    assert wrong == []


@pytest.mark.parametrize(
    ("sign", "value", "note"),
    [
        ("open_wound", "abrasion", "below the knee"),
        ("open_wound", "abrasion", "3 x 3 cm over the lower pole"),
        ("skin", "grazed, scratches", ""),
        ("abrasion", "positive", ""),
    ],
)
def test_a_graze_is_no_open_wound(sign: str, value: str, note: str) -> None:
    """It lets germs in and does not go through: another sign, which opens no joint."""
    drafts = read(sign, value, note).drafts
    assert [(draft.sign, draft.reading.state) for draft in drafts] == [("graze", "abnormal")]
