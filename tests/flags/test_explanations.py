"""What else explains a pain or an open question: it takes away what nobody need ask, never what was found."""

import pytest

from fabella.flags import cannot_wait
from fabella.record import Answer, Examination, Mechanism
from tests.flags.build import LEFT, MET, OPEN, PROTOCOL, RIGHT, Found, exam, verdict
from tests.flags.examples import GOOD_HIP, HOT_JOINT, STABLE

NONE, TWIST, OVERUSE = Mechanism.INSIDIOUS, Mechanism.TWIST, Mechanism.OVERUSE
DRY: dict[str, Found] = {"effusion_sweep": "zero", "patellar_tap": False, "effusion": "none"}
HOT_BURSA: dict[str, Found] = {
    "prepatellar_swelling": True,
    "warmth": "hot",
    "erythema": "marked",
    "swelling_visible": "marked",
    "passive_flexion": 95,
    "joint_line_tenderness": False,
}
ILL: dict[str, Answer] = {"fever": True, "swelling_noticed": True}
NO_CANCER: dict[str, Answer] = {"cancer_history": False, "active_cancer": False, "weight_loss": False}


def changed(found: dict[str, Found], **more: Found) -> dict[str, Found]:
    """Findings with some more, or others."""
    return {**found, **more}


# An infected bursa over a dry joint: Coakley 2006 speaks of a hot swollen joint.


def test_no_needle_goes_through_a_bursa_into_a_dry_joint() -> None:
    """Fever, heat and a stiff bend over a joint found dry are the bursa's rule alone, adult or child."""
    walks: dict[str, Found] = {"motion_pain_any": False, "unable_to_weight_bear": False}
    for age, rule in ((39, "septic_joint_adult"), (11, "septic_joint_child")):
        sick = exam({**HOT_BURSA, **DRY, **walks}, said=ILL, days=3, age=age)
        assert verdict(sick, rule) is None
        assert verdict(sick, "septic_bursitis") is MET


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        ({}, MET),  # nobody felt for fluid: hot, restricted and feverish
        (changed(DRY, effusion="small", patellar_tap=True, effusion_sweep="1+"), MET),
        (changed(DRY, motion_pain_any=True), MET),
        (changed(DRY, held_flexed=True), MET),
        (changed(DRY, haemarthrosis_aspirate="turbid"), MET),
    ],
)
def test_a_bursa_explains_nothing_of_a_joint_that_speaks(found: dict[str, Found], expected: object) -> None:
    """With fluid, pus, pain on the slightest movement or a joint nobody felt, it is met."""
    assert verdict(exam({**HOT_BURSA, **found}, said=ILL, days=3), "septic_joint_adult") is expected


def test_swelling_seen_beside_a_bursa_is_not_the_joint() -> None:
    """Beside a bursa, with sweep and tap normal, the joint is not swollen: false, and not unknown."""
    sick = exam({**HOT_BURSA, **DRY, "motion_pain_any": True}, said=ILL, days=3)
    (alarm,) = [a for a in cannot_wait(sick, protocol=PROTOCOL) if a.rule == "septic_joint_adult"]
    assert "swollen" in {each.id for each in alarm.unmet}


def test_a_fresh_injury_asks_about_fever_only_when_the_knee_is_warm() -> None:
    """A child's swollen knee that does not walk after a fall is silent until heat, fever or pus is there."""
    hurt: dict[str, Found] = {"effusion": "moderate", "active_flexion": 60, "unable_to_weight_bear": True}
    rule = "septic_joint_child"
    assert verdict(exam(hurt, days=1, age=10, mechanism=TWIST), rule) is None
    assert verdict(exam(hurt, days=1, age=10, mechanism=TWIST, said={"fever": True}), rule) is MET
    assert verdict(exam(changed(hurt, warmth="warm"), days=1, age=10, mechanism=TWIST), rule) is OPEN
    assert verdict(exam(hurt, days=1, age=10, mechanism=NONE), rule) is MET
    assert verdict(exam(hurt, days=1, age=10), rule) is MET  # no injury known


def test_a_diabetic_with_a_torn_tendon_needs_heat_or_fever() -> None:
    """Swollen, stiff and diabetic after an injury is silent; without one, or with a needle, it is met."""
    hurt: dict[str, Found] = {"effusion": "large", "active_flexion": 60}
    said: dict[str, Answer] = {"diabetes": True}
    rule = "septic_joint_adult"
    assert verdict(exam(hurt, days=3, mechanism=TWIST, said=said), rule) is None
    assert verdict(exam(hurt, days=3, mechanism=NONE, said=said), rule) is MET
    needle: dict[str, Answer] = {"recent_injection_or_aspiration": True}
    assert verdict(exam(hurt, days=3, mechanism=TWIST, said=needle), rule) is MET


def test_nobody_aspirates_a_quiet_knee_to_close_a_rule() -> None:
    """With every bedside sign denied the septic joint and the replaced knee are closed; pus is met."""
    cool: dict[str, Found] = {
        "warmth": "none",
        "erythema": "none",
        "effusion": "small",
        "active_flexion": 140,
    }
    straight: dict[str, Found] = {"passive_extension": 0, "open_wound": False, "sinus": False}
    said: dict[str, Answer] = {"fever": False, "rigors_or_unwell": False}
    calm: dict[str, Found] = {"body_temperature": 36.6}
    knee = {**cool, **straight}
    pus = changed(knee, haemarthrosis_aspirate="turbid")
    replaced: dict[str, Answer] = {**said, "knee_prosthesis": True}
    assert verdict(exam(knee, person=calm, said=said, days=3), "septic_joint_adult") is None
    assert verdict(exam(pus, person=calm, said=said, days=3), "septic_joint_adult") is MET
    assert verdict(exam(knee, person=calm, said=replaced), "prosthetic_joint_infection") is None
    assert verdict(exam(pus, person=calm, said=replaced), "prosthetic_joint_infection") is MET
    assert verdict(exam(said=replaced), "prosthetic_joint_infection") is OPEN


def test_a_bruised_bursa_is_not_held_open() -> None:
    """Swelling in front of the patella after a fresh blow asks nothing until it is hot, red or broken."""
    rule = "septic_bursitis"
    blow: dict[str, Found] = {"prepatellar_swelling": True}
    assert verdict(exam(blow, days=1, mechanism=Mechanism.DIRECT_BLOW), rule) is None
    assert verdict(exam(changed(blow, warmth="warm"), days=1, mechanism=Mechanism.DIRECT_BLOW), rule) is OPEN
    assert verdict(exam(blow, days=1), rule) is OPEN


# Bone pain: persistent, non-mechanical, at night or at rest (Scottish guideline); unexplained (NICE NG12).


@pytest.mark.parametrize(
    ("examination", "expected"),
    [
        (exam(HOT_JOINT, said={"night_pain": True}, days=2), None),
        (exam(HOT_JOINT, said={"night_pain": True}, days=28), MET),  # no longer an acute joint
        (exam(HOT_JOINT, said={"night_pain": True}, days=15), OPEN),  # neither acute nor four weeks old
        (exam({"effusion": "large"}, said={"night_pain": True}, days=2), OPEN),  # not hot, and fresh
        (exam(HOT_JOINT, said={"night_pain": True, "cancer_history": True}, days=2), MET),
        (exam(changed(HOT_JOINT, bony_enlargement=True), days=2), MET),
        (exam(HOT_JOINT, said={"night_pain": True, "known_inflammatory_arthritis": True}, days=90), None),
        (exam(said={"night_pain": True, "known_inflammatory_arthritis": True}, days=90), MET),  # cold and dry
    ],
)
def test_pain_at_night_of_a_hot_joint_is_no_bone_pain(examination: Examination, expected: object) -> None:
    """An acutely hot swollen joint explains pain at night, unless it lasts, is cold, or cancer speaks."""
    assert verdict(examination, "tumour_bone_pain") is expected


TORN: dict[str, Found] = {"joint_line_tenderness_medial": True, "mcmurray_medial": True}
WORN: dict[str, Found] = {"crepitus": "coarse", "bony_enlargement": True}


@pytest.mark.parametrize(
    ("found", "said", "days", "age", "expected"),
    [
        ({}, {}, 27, 60, OPEN),  # fresh pain
        ({}, {}, 28, 60, MET),
        ({"bony_tenderness": True}, {}, 10, 60, MET),  # bone that is tender needs no weeks
        ({}, {"weight_loss": True}, 10, 60, MET),
        ({"palpable_mass": True}, {}, 10, 60, MET),
        (TORN, {}, 120, 58, OPEN),
        ({"joint_line_tenderness_medial": True, "mcmurray_medial": False}, {}, 120, 58, MET),
        (TORN | {"tenderness_medial_tibial_plateau": True}, {}, 120, 58, MET),
        (TORN, {"cancer_history": True}, 120, 58, MET),
        (WORN, {}, 2000, 67, OPEN),
        (WORN, {}, 2000, 44, MET),  # bone enlarged too young to be worn
        ({"crepitus": "coarse"}, {}, 2000, 67, MET),
        (WORN | {"bony_tenderness": True}, {}, 2000, 67, MET),
    ],
)
def test_pain_at_night_alone_is_open_beside_a_sore_joint_or_while_it_is_fresh(
    found: dict[str, Found], said: dict[str, Answer], days: float, age: float, expected: object
) -> None:
    """A torn or worn joint, or pain under four weeks, leaves it open; tender bone or cancer makes it met."""
    told: dict[str, Answer] = {"night_pain": True, **said}
    assert verdict(exam(found, said=told, days=days, age=age, mechanism=NONE), "tumour_bone_pain") is expected


def test_the_young_with_a_bleeding_joint_have_no_bone_tumour_alarm() -> None:
    """Under 25 rest pain of an acutely hot swollen joint is silent; tender bone in it is met."""
    assert verdict(exam(HOT_JOINT, said={"rest_pain": True}, days=1, age=17), "tumour_bone_young") is None
    sore = changed(HOT_JOINT, bony_tenderness=True)
    assert verdict(exam(sore, said={"rest_pain": True}, days=1, age=17), "tumour_bone_young") is MET


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        ({"noble_compression": True, "tenderness_lateral_femoral_condyle": True}, None),
        ({"noble_compression": False, "tenderness_lateral_femoral_condyle": True}, MET),
        ({"tenderness_lateral_femoral_condyle": True}, MET),
        (
            {
                "noble_compression": True,
                "tenderness_lateral_femoral_condyle": True,
                "tenderness_medial_femoral_condyle": True,
            },
            MET,
        ),
        (
            {
                "noble_compression": True,
                "tenderness_lateral_femoral_condyle": True,
                "bony_tenderness": True,
            },
            MET,
        ),
    ],
)
def test_the_condyle_under_a_sore_band_is_the_band(found: dict[str, Found], expected: object) -> None:
    """Noble's test explains a tender lateral condyle, and nothing else that is tender."""
    said: dict[str, Answer] = {"night_pain": False, "rest_pain": False, "training_increase": True}
    runner = exam(found, said={**said, **NO_CANCER}, days=40, mechanism=OVERUSE)
    assert verdict(runner, "tumour_bone_pain") is expected
    assert verdict(runner, "stress_fracture") is expected


@pytest.mark.parametrize(
    ("found", "said", "age", "expected"),
    [
        ({"hip_rotation_reduced": True, "hip_rotation_pain": True}, {}, 69, None),
        ({"hip_rotation_reduced": True, "hip_rotation_pain": True}, {"weight_loss": True}, 69, MET),
        ({"hip_rotation_reduced": True, "hip_rotation_pain": True}, {}, 44, MET),
        ({"hip_rotation_reduced": True, "hip_rotation_pain": False}, {}, 69, MET),
        ({"nerve_tension": True, "knee_jerk": "reduced"}, {"back_pain": True}, 49, None),
        (
            {"nerve_tension": True, "knee_jerk": "reduced"},
            {"back_pain": True, "active_cancer": True},
            49,
            MET,
        ),
        ({"nerve_tension": True}, {"back_pain": True}, 49, MET),
    ],
)
def test_pain_from_the_hip_or_the_back_is_no_bone_pain_of_the_knee(
    found: dict[str, Found], said: dict[str, Answer], age: float, expected: object
) -> None:
    """A worn hip or a whole picture of a root explains pain at night; cancer or weight loss takes it back."""
    told = {"night_pain": True, **said}
    assert verdict(exam(found, said=told, days=200, age=age, mechanism=NONE), "tumour_bone_pain") is expected


@pytest.mark.parametrize(
    ("found", "said", "expected"),
    [
        ({"tenderness_tibial_tubercle": True}, {}, None),
        ({}, {"giving_way": True}, None),
        ({"hip_rotation_reduced": True}, {}, None),
        ({"tenderness_tibial_tubercle": True}, {"night_pain": True}, MET),
        ({"tenderness_tibial_tubercle": True, "bony_enlargement": True}, {}, MET),
        ({"joint_line_tenderness": True}, {}, OPEN),
    ],
)
def test_a_young_knee_with_a_cause_at_hand_is_not_held_open(
    found: dict[str, Found], said: dict[str, Answer], expected: object
) -> None:
    """A sore tubercle, giving way or the hip answers for an unasked bone; what is found there is met."""
    assert verdict(exam(found, said=said, age=13, mechanism=NONE), "tumour_bone_young") is expected


@pytest.mark.parametrize(
    ("level", "said", "expected"),
    [
        ("mild", {"catching": True}, None),
        ("mild", {"painful_click": True}, None),
        ("marked", {"catching": True}, MET),
        ("marked", {"giving_way": True}, None),
        ("mild", {}, MET),
    ],
)
def test_a_thin_thigh_beside_a_click_is_no_tumour(
    level: str, said: dict[str, Answer], expected: object
) -> None:
    """Mild wasting with catching or a click is mechanical, marked wasting is not (judgement)."""
    wasted = exam({"quadriceps_wasting": level}, said=said, days=200, age=13, mechanism=NONE)
    assert verdict(wasted, "tumour_wasting_young") is expected


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        ({"prepatellar_swelling": True}, None),
        ({"loose_body_felt": True}, None),
        ({"prepatellar_swelling": True, "palpable_mass": True}, OPEN),
        ({"prepatellar_swelling": True, "mass_size": 6}, MET),
        ({}, OPEN),
    ],
)
def test_a_lump_that_has_a_name_is_not_held_open(found: dict[str, Found], expected: object) -> None:
    """A bursa or a loose body is the lump the patient noticed; a mass felt as well, or 5 cm, speaks."""
    assert verdict(exam(found, said={"lump_noticed": True}), "tumour_mass") is expected


# Hips, ligaments, blood, clots and films.


def test_a_hip_that_turns_freely_without_pain_answers_for_its_side() -> None:
    """Free painless rotation closes the painful side; a short leg, groin pain or a rolling thigh opens it."""
    free: dict[str, Found] = {"hip_rotation_reduced": False, "hip_rotation_pain": False}
    assert verdict(exam(free, age=12), "child_hip") is None
    assert verdict(exam({"hip_rotation_reduced": False}, age=12), "child_hip") is OPEN
    assert verdict(exam(changed(free, obligate_external_rotation=True), age=12), "child_hip") is MET
    assert verdict(exam(free, age=12, said={"groin_pain": True}), "child_hip") is MET
    assert verdict(exam(GOOD_HIP, age=12, said={"groin_pain": True}), "child_hip") is OPEN


def test_a_long_stiff_hip_is_not_held_open_for_a_fracture() -> None:
    """At 69 a hip painful and stiff for a year asks nothing; with a rise in training it is met."""
    stiff: dict[str, Found] = {"hip_rotation_pain": True, "hip_rotation_reduced": True}
    assert verdict(exam(stiff, age=69, days=400), "adult_hip") is None
    assert verdict(exam(stiff, age=69, days=400, said={"training_increase": True}), "adult_hip") is MET
    assert verdict(exam(stiff, age=30, days=400), "adult_hip") is OPEN


def test_one_lax_ligament_among_firm_ones_is_no_dislocation() -> None:
    """Once the others hold an unasked dimple keeps nothing open; a dimple or a story is met."""
    one: dict[str, Found] = {**STABLE, "lachman": "2+"}
    rule = "knee_dislocation"
    assert verdict(exam(one, days=1, mechanism=TWIST), rule) is None
    assert verdict(exam(changed(one, dimple_sign=True), days=1, mechanism=TWIST), rule) is MET
    assert verdict(exam(one, days=1, said={"dislocation_reported": True}), rule) is MET
    assert verdict(exam({"lachman": "2+"}, days=1, mechanism=TWIST), rule) is OPEN


@pytest.mark.parametrize(
    ("hours", "effusion", "expected"),
    [(12, "small", None), (None, "small", OPEN), (12, "large", MET), (5, "small", MET)],
)
def test_a_small_late_effusion_is_not_aspirated_to_see(
    hours: float | None, effusion: str, expected: object
) -> None:
    """Small and later than 6 hours is answered; an unasked hour is not."""
    said: dict[str, Answer] = {} if hours is None else {"swelling_onset_hours": float(hours)}
    swelled = exam({"effusion": effusion, "effusion_sweep": "1+"}, said=said, days=1, mechanism=TWIST)
    if effusion == "large":
        swelled = exam({"effusion": effusion}, said=said, days=1, mechanism=TWIST)
    assert verdict(swelled, "acute_haemarthrosis") is expected


def test_a_twist_of_which_no_fall_was_told_is_left_to_ottawa() -> None:
    """Seaberg 1994: a fall or blow comes first; an injury of unknown kind still asks about it."""
    unable: dict[str, Found] = {"unable_to_weight_bear": True}
    assert verdict(exam(unable, days=1, mechanism=TWIST), "pittsburgh_knee") is None
    told: dict[str, Answer] = {"penetrating_injury": True}
    assert verdict(exam(unable, days=1, said=told), "pittsburgh_knee") is OPEN
    fell: dict[str, Answer] = {"fall_or_blunt_trauma": True}
    assert verdict(exam(unable, days=1, mechanism=TWIST, said=fell), "pittsburgh_knee") is MET
    assert verdict(exam(unable, days=1, said=fell), "pittsburgh_knee") is MET


def test_a_leg_that_walks_now_is_not_one_that_cannot() -> None:
    """ACR: inability to bear weight; who could not then and walks now can."""
    sore: dict[str, Found] = {"tenderness_lateral_tibial_plateau": True}
    then: dict[str, Answer] = {"unable_to_weight_bear_at_injury": True}
    rule = "tender_bone_not_weight_bearing"
    assert verdict(exam(sore, days=1, mechanism=TWIST, said=then), rule) is MET
    walks = exam(changed(sore, unable_to_weight_bear=False), days=1, mechanism=TWIST, said=then)
    assert verdict(walks, rule) is None


def test_one_sign_of_a_clot_that_has_a_cause_is_not_held_open() -> None:
    """Veins over a mass or calf pain on exertion ask for no D-dimer; a second sign does."""
    over: dict[str, Found] = {"superficial_veins": True, "palpable_mass": True}
    assert verdict(exam(over), "dvt_2003") is None
    assert verdict(exam({"superficial_veins": True}), "dvt_2003") is OPEN
    assert verdict(exam(changed(over, tenderness_calf=True)), "dvt_suspected") is MET
    exertion: dict[str, Answer] = {"calf_pain": True, "activity_pain": True}
    assert verdict(exam(said=exertion), "dvt_suspected") is None
    assert verdict(exam({"tenderness_calf": True}, said=exertion), "dvt_suspected") is MET
    assert verdict(exam({"whole_leg_swollen": True}, said={"calf_pain": False}), "dvt_2003") is OPEN


def test_risks_of_the_person_say_nothing_of_the_sound_leg() -> None:
    """Plaster and surgery make the leg complained of ask for an examination, and not the other."""
    said: dict[str, Answer] = {"major_surgery_12_weeks": True, "active_cancer": True}
    assert verdict(exam(said=said), "dvt_2003", RIGHT) is OPEN
    assert verdict(exam(said=said), "dvt_2003", LEFT) is None
    assert verdict(exam({}, {"whole_leg_swollen": True}, said=said), "dvt_2003", LEFT) is MET


def test_a_patella_seen_in_its_place_is_in_its_place() -> None:
    """A patella that went out and is back keeps nothing open for an unasked deformity; a deformity is met."""
    said: dict[str, Answer] = {"patella_seen_displaced": True}
    back: dict[str, Found] = {"patella_dislocated_now": False}
    assert verdict(exam(back, days=0, said=said), "patella_still_displaced") is None
    assert verdict(exam(changed(back, deformity=True), days=0, said=said), "patella_still_displaced") is MET


# The lateral side, the old block, the stress fracture.


@pytest.mark.parametrize(
    ("found", "days", "expected"),
    [
        ({"varus_stress_30": "3+"}, 42, MET),
        ({"varus_stress_30": "3+"}, 43, None),
        ({"varus_stress_0": "2+"}, 5, MET),
        ({"varus_stress_30": "2+", "dial_30": True}, 5, MET),
        ({"varus_stress_30": "2+", "external_rotation_recurvatum": True}, 5, MET),
        ({"varus_stress_30": "2+", "dial_30": False}, 5, None),
        ({"varus_stress_30": "1+"}, 5, None),
        ({"varus_stress_30": True}, 5, OPEN),  # not graded
        ({"varus_stress_30": "2+"}, 5, OPEN),
    ],
)
def test_a_torn_lateral_side(found: dict[str, Found], days: float, expected: object) -> None:
    """Grade 3, open in extension, or grade 2 with the corner, within six weeks (common practice)."""
    injured = exam(found, days=days, mechanism=Mechanism.VARUS_FORCE)
    assert verdict(injured, "lateral_side_torn") is expected


@pytest.mark.parametrize(
    ("days", "locking", "rule"),
    [
        (42, False, "locked_knee"),
        (43, False, "block_that_stayed"),
        (43, True, "locked_knee"),
        (43, None, "locked_knee"),
    ],
)
def test_a_block_of_months_is_no_emergency(days: float, locking: bool | None, rule: str) -> None:
    """After six weeks a block that does not come as true locking has its own, slower rule, and only that."""
    said: dict[str, Answer] = {} if locking is None else {"locking": locking}
    blocked = exam({"block_to_extension": "rigid"}, said=said, days=days, mechanism=TWIST)
    rules = {"locked_knee", "block_that_stayed"}
    assert verdict(blocked, rule) is MET
    assert all(verdict(blocked, each) is None for each in rules - {rule})


def test_a_knee_that_locks_and_is_straight_now_is_not_locked() -> None:
    """Locking that comes and goes is silent in a knee that comes straight, and met in one that does not."""
    said: dict[str, Answer] = {"locking": True}
    free: dict[str, Found] = {"block_to_extension": "none", "passive_extension": 0}
    assert verdict(exam(free, said=said, days=250), "locked_knee") is None
    assert verdict(exam({"passive_extension": -15}, said=said, days=250), "locked_knee") is MET
    assert verdict(exam(said=said, days=250), "locked_knee") is OPEN


@pytest.mark.parametrize(
    ("found", "said", "days", "expected"),
    [
        ({"tenderness_medial_tibial_plateau": True}, {"training_increase": True}, 28, MET),
        ({"tenderness_medial_tibial_plateau": True, "hop_pain": True}, {}, 28, MET),
        ({"tenderness_medial_tibial_plateau": True}, {}, 28, None),
        ({"hop_pain": True}, {"training_increase": True}, 28, OPEN),
        ({"hop_pain": True, "tenderness_patellar_tendon": True}, {"training_increase": True}, 28, None),
    ],
)
def test_tender_bone_in_a_leg_that_was_loaded_is_unloaded(
    found: dict[str, Found], said: dict[str, Answer], days: float, expected: object
) -> None:
    """Tender bone with a rise in training or pain on hopping (common practice); never a sore tendon alone."""
    assert verdict(exam(found, said=said, days=days, mechanism=OVERUSE), "stress_fracture") is expected


def test_a_fresh_injury_is_no_stress_fracture() -> None:
    """A blow of yesterday makes bone tender by itself."""
    sore: dict[str, Found] = {"tenderness_medial_tibial_plateau": True}
    said: dict[str, Answer] = {"training_increase": True}
    blow = exam(sore, said=said, days=1, mechanism=Mechanism.DIRECT_BLOW)
    assert verdict(blow, "stress_fracture") is None


def test_an_open_rule_is_left_out_beside_a_met_one_that_asks_for_the_same() -> None:
    """Ottawa met by flexion, Pittsburgh's four steps unasked: one radiograph, one alarm."""
    bent: dict[str, Found] = {"active_flexion": 60}
    hurt = exam(bent, days=1, mechanism=Mechanism.FALL_ON_KNEE)
    assert verdict(hurt, "ottawa_knee") is MET
    assert verdict(hurt, "pittsburgh_knee") is None
    both = exam(changed(bent, unable_to_weight_bear=True), days=1, mechanism=Mechanism.FALL_ON_KNEE)
    assert verdict(both, "pittsburgh_knee") is MET
    assert verdict(exam(days=1, mechanism=Mechanism.FALL_ON_KNEE), "pittsburgh_knee") is OPEN


@pytest.mark.parametrize(("days", "expected"), [(1, MET), (14, MET), (35, None)])
def test_what_swelled_weeks_ago_is_no_blood_to_aspirate(days: float, expected: object) -> None:
    """Blood in a joint is taken up within weeks; only an aspirate still shows it (common practice)."""
    said: dict[str, Answer] = {"swelling_onset_hours": 3.0}
    swelled: dict[str, Found] = {"effusion": "moderate", "haemarthrosis_aspirate": "clear"}
    told = exam(swelled, said=said, days=days, mechanism=TWIST)
    assert verdict(told, "acute_haemarthrosis") is expected
    bloody = exam({"haemarthrosis_aspirate": "blood"}, said=said, days=days, mechanism=TWIST)
    assert verdict(bloody, "acute_haemarthrosis") is MET


def test_a_needle_for_relief_gives_way_to_what_forbids_it() -> None:
    """A tense knee that bleeds on an anticoagulant is not to be aspirated without a word of warning."""
    tense: dict[str, Found] = {"effusion": "large"}
    bleeds = exam(tense, said={"anticoagulant": True}, age=79, days=0, mechanism=Mechanism.MINOR_FALL)
    alarms = {each.rule: each for each in cannot_wait(bleeds, protocol=PROTOCOL) if each.verdict is MET}
    assert {each.deed for each in alarms["bleeding_joint"].withholds} == {"aspiration"}
    assert alarms["acute_haemarthrosis"].action.endswith("unless something forbids the needle.")


def test_a_hip_measured_stiff_is_as_stiff_as_one_called_so() -> None:
    """Five degrees of internal rotation at 72 are a worn hip, not a question about training (judgement)."""
    measured: dict[str, Found] = {"hip_internal_rotation": 5.0, "hip_rotation_pain": True}
    assert verdict(exam(measured, age=72, days=500, mechanism=NONE), "adult_hip") is None
    free = changed(measured, hip_internal_rotation=35.0)
    assert verdict(exam(free, age=72, days=500, mechanism=NONE), "adult_hip") is OPEN


def test_a_patella_tested_for_its_hold_lies_in_its_place() -> None:
    """Who pushes the patella to the side has seen it in its groove; a knee still deformed is met."""
    told: dict[str, Answer] = {"patella_seen_displaced": True}
    tested: dict[str, Found] = {"patellar_apprehension": "marked", "effusion": "large"}
    rule = "patella_still_displaced"
    assert verdict(exam({"effusion": "large"}, said=told, days=0, mechanism=TWIST), rule) is OPEN
    assert verdict(exam(tested, said=told, days=0, mechanism=TWIST), rule) is None
    assert verdict(exam(changed(tested, deformity=True), said=told, days=0, mechanism=TWIST), rule) is MET


# What fifty invented patients showed: alarms beside an explanation at hand (judgement).


def test_an_operation_explains_a_thin_stiff_leg() -> None:
    """Months after a reconstruction a block is the surgeon's business, not a search for a tumour."""
    stiff: dict[str, Found] = {
        "quadriceps_wasting": "mild",
        "passive_flexion": 95,
        "block_to_extension": "rigid",
    }
    told: dict[str, Answer] = {"previous_surgery": True, "locking": False}
    after = exam(stiff, said=told, age=20, days=200)
    assert verdict(exam(stiff, age=20, days=200), "tumour_wasting_young") is MET
    assert verdict(after, "tumour_wasting_young") is None
    assert verdict(after, "tumour_bone_young") is None
    assert verdict(after, "block_that_stayed") is MET


@pytest.mark.parametrize(("minutes", "expected"), [(60, None), (10, MET)])
def test_a_warm_joint_stiff_for_an_hour_explains_pain_at_rest(minutes: float, expected: object) -> None:
    """Pain at rest of a warm, swollen, stiff joint is the joint's; with a tender bone it is asked again."""
    said: dict[str, Answer] = {"rest_pain": True, "morning_stiffness_min": minutes}
    warm: dict[str, Found] = {"warmth": "warm", "effusion": "moderate"}
    assert verdict(exam(warm, said=said, days=56, mechanism=NONE), "tumour_bone_pain") is expected
    tender = exam(changed(warm, bony_tenderness=True), said=said, days=56, mechanism=NONE)
    assert verdict(tender, "tumour_bone_pain") is MET


def test_calf_pain_beside_a_wide_pulse_is_the_artery_s() -> None:
    """A vein is not asked about where the artery answers, unless the leg is swollen."""
    said: dict[str, Answer] = {"calf_pain": True}
    wide: dict[str, Found] = {"popliteal_pulsation": True}
    for rule in ("dvt_2003", "dvt_suspected"):
        assert verdict(exam(said=said, days=180, mechanism=NONE), rule) is OPEN
        assert verdict(exam(wide, said=said, days=180, mechanism=NONE), rule) is None
    swollen = exam(changed(wide, whole_leg_swollen=True), said=said, days=180, mechanism=NONE)
    assert verdict(swollen, "dvt_suspected") is MET


@pytest.mark.parametrize(("hours", "expected"), [(2.0, None), (24.0, OPEN)])
def test_a_knee_that_bled_after_an_injury_asks_for_no_hip(hours: float, expected: object) -> None:
    """A girl whose knee filled in two hours has her pain there; a sore groin speaks as ever."""
    said: dict[str, Answer] = {"swelling_onset_hours": hours}
    full: dict[str, Found] = {"effusion": "large"}
    assert verdict(exam(full, said=said, age=15, days=0, mechanism=TWIST), "child_hip") is expected
    groin = exam(full, said={**said, "groin_pain": True}, age=15, days=0, mechanism=TWIST)
    assert verdict(groin, "child_hip") is MET


@pytest.mark.parametrize(("hours", "expected"), [(2.0, None), (48.0, OPEN)])
def test_a_warm_knee_that_bled_is_not_held_open_for_infection(hours: float, expected: object) -> None:
    """Blood warms a knee; fever, redness or a needle still speak."""
    said: dict[str, Answer] = {"swelling_onset_hours": hours, "fever": False}
    warm: dict[str, Found] = {"warmth": "warm", "effusion": "large", "passive_flexion": 75}
    assert verdict(exam(warm, said=said, days=0, mechanism=TWIST), "septic_joint_adult") is expected
    red = exam(changed(warm, erythema="mild"), said=said, days=0, mechanism=TWIST)
    assert verdict(red, "septic_joint_adult") is MET


@pytest.mark.parametrize(("days", "expected"), [(1, OPEN), (9, None)])
def test_a_compartment_is_held_open_for_three_days(days: float, expected: object) -> None:
    """Beside a suspected dislocation; a tense calf is met on any day."""
    lax: dict[str, Found] = {"lachman": "3+", "valgus_stress_0": "2+", "valgus_stress_30": "3+"}
    rule = "compartment_syndrome"
    assert verdict(exam(lax, days=days, mechanism=TWIST), "knee_dislocation") is MET
    assert verdict(exam(lax, days=days, mechanism=TWIST), rule) is expected
    assert verdict(exam(changed(lax, compartment_tense=True), days=days, mechanism=TWIST), rule) is MET


@pytest.mark.parametrize(
    ("age", "days", "steroids", "expected"),
    [(78, 12, False, MET), (50, 12, True, MET), (50, 12, False, None), (78, 400, False, None)],
)
def test_weak_bone_gives_way_without_training(
    age: int, days: float, steroids: bool, expected: object
) -> None:
    """Tender bone and a marked limp of weeks in the old or on steroids; a limp of years is wear."""
    lame: dict[str, Found] = {
        "tenderness_medial_tibial_plateau": True,
        "antalgic_gait": "marked",
        "hop_pain": False,
    }
    said: dict[str, Answer] = {"steroid_or_quinolone": steroids, "training_increase": False}
    assert verdict(exam(lame, said=said, age=age, days=days, mechanism=NONE), "stress_fracture") is expected


def test_a_stiff_sore_hip_explains_a_child_s_limp() -> None:
    """The hip has a rule of its own, today; a child that limps with a free hip is searched further."""
    limp: dict[str, Found] = {"antalgic_gait": "mild"}
    hip = changed(limp, hip_rotation_reduced=True, hip_rotation_pain=True)
    assert verdict(exam(limp, age=13, days=38, mechanism=NONE), "illness_young") is MET
    assert verdict(exam(hip, age=13, days=38, mechanism=NONE), "illness_young") is None
    assert verdict(exam(hip, age=13, days=38, mechanism=NONE), "child_hip") is MET


def test_what_is_on_record_is_not_asked_again() -> None:
    """A replaced knee without fever or rigors: only the thermometer is left to ask for."""

    def asked(said: dict[str, Answer], **found: Found) -> set[str]:
        alarms = cannot_wait(exam(found, said={"knee_prosthesis": True, **said}), protocol=PROTOCOL)
        rule = next(each for each in alarms if each.rule == "prosthetic_joint_infection")
        return {each.ask for each in rule.unknown if each.id == "fever_or_unwell"}

    assert asked({}) == {"ask about fever and rigors; take the temperature"}
    assert asked({"fever": False}) == {"ask about fever and rigors; take the temperature"}
    assert asked({"fever": False, "rigors_or_unwell": False}) == {"take the temperature"}
    assert asked({}, body_temperature=36.8) == {"ask about fever and rigors"}


def test_a_hot_joint_limps_and_is_tender_beside_it_without_a_stress_fracture() -> None:
    """On steroids a marked limp of four days is the hot swollen joint's; in a cool one it is the bone's."""
    said: dict[str, Answer] = {"steroid_or_quinolone": True}
    sore: dict[str, Found] = {"tenderness_lateral_femoral_condyle": True, "antalgic_gait": "marked"}
    hot: dict[str, Found] = {**sore, "warmth": "warm", "effusion": "large"}
    assert verdict(exam(hot, said=said, age=63, days=4, mechanism=NONE), "stress_fracture") is None
    cool: dict[str, Found] = {**sore, "warmth": "none", "effusion": "none"}
    assert verdict(exam(cool, said=said, age=63, days=4, mechanism=NONE), "stress_fracture") is MET


def test_an_injury_of_weeks_ago_is_no_question_about_a_tumour() -> None:
    """Six weeks after a blow to the side bone is not asked for swelling; pain at night still speaks."""
    well: dict[str, Found] = {"tenderness_medial_femoral_condyle": False, "bony_enlargement": False}
    valgus = Mechanism.VALGUS_FORCE
    assert verdict(exam(well, age=23, days=40, mechanism=valgus), "tumour_bone_young") is None
    night: dict[str, Answer] = {"night_pain": True}
    assert verdict(exam(well, said=night, age=23, days=40, mechanism=valgus), "tumour_bone_young") is MET
    assert verdict(exam(well, age=23, days=40, mechanism=NONE), "tumour_bone_young") is OPEN
