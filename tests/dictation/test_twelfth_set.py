"""What a twelfth set of dictations showed: a principle a test."""

import pytest

from fabella.record import Mechanism, State
from tests.dictation.spoken import ABNORMAL, LEFT, NORMAL, RIGHT, found, read

BOTH_WAYS = dict.fromkeys((f"{way}_stress_{bend}" for way in ("varus", "valgus") for bend in (0, 30)), NORMAL)


def choices(text: str) -> list[str]:
    """The answers that the only question about a text offers."""
    (span,) = read(text).open_spans
    return [each.words for each in span.choices]


# ------------------------------------------------------------------ sides


@pytest.mark.parametrize(
    "text",
    [
        "Tenderness over the left tibial tubercle.",
        "Tender left tibial tubercle.",
        "TTP L tibial tubercle.",
        "Tender on the left tibial tubercle, no effusion on the right.",
    ],
)
def test_a_side_may_stand_between_tender_and_its_site(text: str) -> None:
    """The site is that of the tenderness and the side that of both."""
    assert found(text, LEFT) == {"tenderness_tibial_tubercle": ABNORMAL}
    assert "tenderness_tibial_tubercle" not in found(text, RIGHT)
    assert read(text).is_complete


def test_a_site_before_tender_and_a_side_is_not_given_to_the_next() -> None:
    """Behind "tender on the right" the site of the other knee is not the first one's."""
    text = "Medial joint line tender on the right, lateral joint line tender on the left."
    assert found(text, RIGHT) == {"joint_line_tenderness_medial": ABNORMAL}
    assert found(text, LEFT) == {"joint_line_tenderness_lateral": ABNORMAL}


@pytest.mark.parametrize("grades", ["0/2+", "0/2"])
def test_nought_and_a_grade_behind_two_sides_are_one_for_each(grades: str) -> None:
    """Neither is nought the first of two bends, nor two of two a power."""
    text = f"Lachman R/L {grades}."
    assert (found(text, RIGHT), found(text, LEFT)) == ({"lachman": "0"}, {"lachman": "2+"})
    text = "Lachman R/L 0/0."
    assert found(text, RIGHT) == found(text, LEFT) == {"lachman": "0"}


def test_a_slash_before_a_side_parts_the_knees() -> None:
    """What stands behind it is of the knee behind it, whatever was told of the first."""
    text = "Lachman R 3+ soft / L 1+ firm. Varus 30 R 0 / L 0. Valgus 30 R 1+ / L 0."
    assert found(text, RIGHT) == {
        "lachman": "3+", "lachman_end_point": "soft", "varus_stress_30": "0", "valgus_stress_30": "1+",
    }  # fmt: skip
    assert found(text, LEFT) == {
        "lachman": "1+", "lachman_end_point": "firm", "varus_stress_30": "0", "valgus_stress_30": "0",
    }  # fmt: skip


def test_varus_with_degrees_alone_is_still_asked_about() -> None:
    """Only a side and a grade behind it make thirty the bend of a test."""
    assert "varus_stress_30" not in found("Right knee varus 30.", RIGHT)


@pytest.mark.parametrize("verb", ["lift", "raise"])
def test_a_side_may_stand_in_a_leg_that_cannot_be_lifted(verb: str) -> None:
    """It names the leg, and its place in the name does not matter."""
    text = f"Can't {verb} right leg. Can't lift right leg off bed."
    assert found(text, RIGHT) == {"straight_leg_raise": "unable"}


# ------------------------------------------------------------------ tenderness


@pytest.mark.parametrize(
    "text", ["Left: tender lateral joint line, medial not tender.", "Left: LJLT, medial not tender."]
)
def test_the_other_joint_line_is_meant_where_one_was_told(text: str) -> None:
    """Behind the lateral joint line "medial" is the medial one; without it, it is asked which place."""
    assert found(text, LEFT) == {
        "joint_line_tenderness_lateral": ABNORMAL,
        "joint_line_tenderness_medial": NORMAL,
    }
    assert found("Left: tender fibular head, medial not tender.", LEFT) == {
        "tenderness_fibular_head": ABNORMAL
    }
    assert found("Left: tender medial joint line, medial not tender.", LEFT) == {
        "joint_line_tenderness_medial": ABNORMAL
    }


def test_a_plus_between_two_tender_sites_joins_them() -> None:
    """Where results stand behind the sites it is one of them, and asked about."""
    both = {"joint_line_tenderness_medial": ABNORMAL, "tenderness_pes_anserinus": ABNORMAL}
    assert found("TTP R med JL + pes.", RIGHT) == both
    assert found("R knee TTP: MJL + LJL -.", RIGHT) != {
        "joint_line_tenderness_medial": ABNORMAL,
        "joint_line_tenderness_lateral": ABNORMAL,
    }


# ------------------------------------------------------------------ movement


@pytest.mark.parametrize("end", ["full extension", "straight", "extension"])
def test_a_range_may_begin_short_of_straight(end: str) -> None:
    """What is said behind the first number belongs to it."""
    text = f"Left knee moves from 5 degrees short of {end} to 110 degrees of flexion."
    assert found(text, LEFT) == {"passive_extension": -5.0, "passive_flexion": 110.0}
    assert read(text).is_complete


def test_degrees_short_behind_a_block_are_missing_from_extension() -> None:
    """Behind anything else it is not known of what they are short."""
    assert found("Left knee springy block 15 degrees short.", LEFT) == {
        "block_to_extension": "springy",
        "passive_extension": -15.0,
    }
    assert "passive_extension" not in found("Left knee flexion 15 degrees short.", LEFT)


@pytest.mark.parametrize("written", ["(-5)-0-130", "-5-0-130", "(-5)/0/130", "minus 5-0-130"])
def test_a_minus_before_nought_is_asked_about(written: str) -> None:
    """It is written of a knee that lacks five degrees and of one that goes beyond straight."""
    assert found(f"Right knee ROM {written}.", RIGHT) == {}
    assert choices(f"Right knee ROM {written}.") == ["5 short of straight", "beyond straight"]


def test_a_greater_range_is_no_limited_one() -> None:
    """Of movement "increased" says nothing bad that has a sign."""
    assert found("Right knee ROM increased.", RIGHT) == {}
    assert found("Right knee ROM 10-80. Hypermobile.", RIGHT) == {
        "passive_extension": -10.0,
        "passive_flexion": 80.0,
    }
    assert not read("Right knee ROM 10-80. Hypermobile.").is_complete


@pytest.mark.parametrize(
    ("text", "pain"),
    [
        ("Right knee flexion 120 with pain at end range.", {"flexion_pain": ABNORMAL}),
        ("Right knee full extension, pain at end range.", {}),
        ("Right knee: no pain at end range.", {"flexion_pain": NORMAL, "forced_extension_pain": NORMAL}),
        ("Right knee flexion 120. Pain at end range.", {}),
    ],
)
def test_pain_at_the_end_of_a_movement_is_of_that_movement(text: str, pain: dict[str, object]) -> None:
    """Of a range nobody knows at which end it hurts; none at all is at neither."""
    read_of = found(text, RIGHT)
    assert {
        sign: how for sign, how in read_of.items() if sign in {"flexion_pain", "forced_extension_pain"}
    } == pain


def test_pain_at_the_end_of_a_range_offers_both_ends() -> None:
    """The question has an answer for each end."""
    assert choices("Right knee ROM 0-130, pain at end range.") == ["flexion", "extension", "both"]


@pytest.mark.parametrize("written", ["4-/5", "4+/5", "4+ out of 5", "4 minus/5"])
def test_grade_four_of_power_is_divided(written: str) -> None:
    """4- and 4+ are parts of grade 4 (Medical Research Council 1976, from memory); no other grade has any."""
    assert found(f"Right quads {written}.", RIGHT) == {"knee_extension_strength": "4"}
    assert found("Right quads 3+/5.", RIGHT) == {}


def test_a_calf_or_a_thigh_with_a_length_is_its_girth() -> None:
    """A few centimetres are those of something at it."""
    text = "Left calf 41 cm, right 37.5. Thigh 47 cm left, 45 cm right."
    assert found(text, LEFT) == {"calf_girth": 41.0, "thigh_girth": 47.0}
    assert found(text, RIGHT) == {"calf_girth": 37.5, "thigh_girth": 45.0}
    assert found("Left calf 2 cm.", LEFT) == {}


# ------------------------------------------------------------------ ligaments


@pytest.mark.parametrize("bends", ["in flexion and extension", "in extension and at 30 degrees of flexion"])
def test_a_knee_stable_straight_and_bent_opens_neither_way(bends: str) -> None:
    """At one bend, or where one way was told of that knee before, it is asked."""
    assert found(f"The left knee is stable {bends}.", LEFT) == BOTH_WAYS
    assert found(f"Right valgus 2+ at 30. The left knee is stable {bends}.", LEFT) == BOTH_WAYS
    valgus = {"valgus_stress_30": "2+"}
    assert found("Right knee valgus 2+ at 30. Stable in flexion and extension.", RIGHT) == valgus
    assert found("Right knee is stable in extension.", RIGHT) == {}


def test_stable_beside_an_unknown_word_is_asked_about() -> None:
    """Nobody knows of what it is said."""
    assert found("Right knee: xyz stable.", RIGHT) == {}
    assert found("Right knee: VV stable.", RIGHT) == {"valgus_stress_30": NORMAL, "varus_stress_30": NORMAL}


def test_one_of_the_collaterals_may_be_told_by_its_side() -> None:
    """A grade of the medial one is its laxity, and "nil" laterally that the other has none."""
    text = "Left: collaterals 1+ medially at 30, nil laterally."
    assert found(text, LEFT) == {"valgus_stress_30": "1+", "varus_stress_30": NORMAL}
    text = "Left: collaterals stable medially, lax laterally."
    assert found(text, LEFT) == {"valgus_stress_30": NORMAL, "varus_stress_30": ABNORMAL}
    assert found("Left collaterals 1+.", LEFT) == {}


@pytest.mark.parametrize(
    "text", ["Right Lachman pseudo positive.", "Right: false positive Lachman.", "Right Lachman falsely +ve."]
)
def test_a_test_that_was_falsely_positive_is_asked_about(text: str) -> None:
    """The speaker does not believe it."""
    assert found(text, RIGHT) == {}
    assert not read(text).is_complete


def test_a_glide_in_quadrants_is_that_of_the_patella() -> None:
    """Its direction is asked for where it was not told."""
    assert found("Right: glide 3 quadrants lateral.", RIGHT) == {"patellar_glide_increased": ABNORMAL}
    (span,) = read("Left knee: glide 2 quadrants.").open_spans
    assert span.why == "medially or laterally?"
    assert found("Right pivot shift glide.", RIGHT) == {"pivot_shift": "glide"}


# ------------------------------------------------------------------ told, not found


def test_the_morning_is_no_time_since_the_onset() -> None:
    """Only this morning is."""
    assert read("Twisted left knee, stiff in the mornings.").context.onset_days is None
    assert read("Left knee pain of gradual onset, worse in the morning.").context.onset_days is None
    assert read("Twisted left knee this morning.").context.onset_days == 0.0


def test_stiffness_of_minutes_in_the_morning_is_told() -> None:
    """A knee that is stiff for a time at another hour is not one that moves too little."""
    text = "Right knee stiff for 10 minutes in the morning."
    assert dict(read(text).history) == {"morning_stiffness_min": 10.0}
    assert found(text, RIGHT) == {}
    assert found("Right knee stiff for 20 minutes after rest.", RIGHT) == {}
    assert not read("Right knee stiff for 20 minutes after rest.").is_complete
    assert found("Right knee stiff.", RIGHT) == {"range_of_motion_limited": ABNORMAL}


@pytest.mark.parametrize(
    ("time", "days"),
    [("over two years", 730.0), ("for the last 3 weeks", 21.0), ("over the past month", None)],
)
def test_a_complaint_may_have_grown_over_a_time(time: str, days: float | None) -> None:
    """A number of weeks or years is needed."""
    assert read(f"Left knee pain {time}.").context.onset_days == days
    assert read("A man over 50 years old with left knee pain.").context.onset_days is None


def test_a_painful_click_of_a_test_is_no_complaint() -> None:
    """Told by itself it is."""
    assert "painful_click" not in read("Left McMurray positive laterally with a painful click.").history
    assert dict(read("Left knee clicks painfully.").history) == {"painful_click": True}


@pytest.mark.parametrize("said", ["pain going downstairs", "worse on stairs", "pain climbing stairs"])
def test_stairs_may_be_told_in_many_words(said: str) -> None:
    """Each is pain on stairs."""
    assert read(f"Left knee {said}.").history["pain_on_stairs"] is True


def test_a_dashboard_is_how_it_happened() -> None:
    """Its own name is enough."""
    assert read("Dashboard right knee.").context.mechanism is Mechanism.DIRECT_BLOW


# ------------------------------------------------------------------ names


def test_a_haemarthrosis_of_some_size_is_an_effusion_of_that_size() -> None:
    """That it is blood, only the aspirate tells."""
    assert found("Left knee big haemarthrosis.", LEFT) == {"effusion": "large"}
    assert found("Left knee haemarthrosis, tense.", LEFT) == {"effusion": "large"}
    assert found("Haemarthrosis aspirated left.", LEFT) == {"haemarthrosis_aspirate": "blood"}


def test_a_kneecap_is_a_patella_in_every_name() -> None:
    """What is known of the one is known of the other."""
    text = "Right knee: gap above the kneecap, kneecap sits low."
    assert found(text, RIGHT) == {"palpable_gap_quadriceps": ABNORMAL, "low_riding_patella": ABNORMAL}


@pytest.mark.parametrize(
    ("text", "sign", "how"),
    [
        ("Left knee every movement agony.", "motion_pain_any", ABNORMAL),
        ("Left: JLs non tender.", "joint_line_tenderness", NORMAL),
        ("Left: DNVI.", "distal_neurovascular", NORMAL),
        ("Left knee: hip abductors weak.", "hip_abduction_weak", ABNORMAL),
        ("VMO bulk down left.", "quadriceps_wasting", ABNORMAL),
        ("Left Noble positive at 30.", "noble_compression", ABNORMAL),
        ("Left PS not poss due to pain.", "pivot_shift", State.UNTESTABLE),
        ("Aspirated pus from left knee.", "haemarthrosis_aspirate", "turbid"),
        ("Left hip moves well.", "hip_rotation_reduced", NORMAL),
    ],
)
def test_words_of_the_trade(text: str, sign: str, how: object) -> None:
    """Each name means its sign and leaves nothing open."""
    assert found(text, LEFT)[sign] == how
    assert read(text).is_complete


def test_a_question_with_one_answer_names_it() -> None:
    """No answer that can be chosen is without words."""
    (span,) = [each for each in read("Right knee: xyz stable.").open_spans if each.choices]
    assert [each.words for each in span.choices] == ["as said here"]


# ------------------------------------------------------------------ what is denied, and what would be lost


@pytest.mark.parametrize(
    "text",
    [
        "Right knee does not flex to 90.",
        "Right knee does not lack 10 degrees.",
        "Right range not 0 to 130.",
        "Right: no fixed flexion of 10 degrees.",
        "Right: no lag of 5 degrees.",
        "Right Lachman not 5 mm.",
        "Right Q angle not 20.",
        "Right hip internal rotation not 10.",
        "Right quads not 5/5.",
        "Right EHL not 5/5.",
        "Right Lachman not 2+.",
        "Right: no grade 2 Lachman.",
    ],
)
def test_a_denied_number_is_no_reading(text: str) -> None:
    """What it was instead, nobody said."""
    assert found(text, RIGHT) == {}
    assert not read(text).is_complete


def test_a_number_put_right_is_not_denied() -> None:
    """Behind "wait" a "no" belongs to the correction."""
    assert found("Right fixed flexion fifteen, wait no ten degrees.", RIGHT) == {"fixed_flexion": 10.0}


@pytest.mark.parametrize(
    "text", ["Right valgus no laxity.", "Right valgus no opening.", "Right valgus: no laxity."]
)
def test_no_laxity_behind_a_direction_is_of_its_test(text: str) -> None:
    """But a knee that stands in valgus is bowed, and stable besides."""
    assert found(text, RIGHT) == {"valgus_stress_30": NORMAL}
    assert found("Right knee in valgus, no laxity.", RIGHT)["valgus_alignment"] is ABNORMAL


def test_what_is_active_is_missing_from_active_extension() -> None:
    """Nothing is said of the extension that the examiner reaches."""
    assert found("Right knee lacks 10 degrees of active extension.", RIGHT) == {"extensor_lag": 10.0}


@pytest.mark.parametrize("text", ["Right full range, painful.", "Right effusion moderate, painful."])
def test_pain_beside_a_sign_that_it_says_nothing_of_is_open(text: str) -> None:
    """It is not taken up by what stands before it."""
    assert [read(text).words(span) for span in read(text).open_spans] == ["painful"]


def test_a_range_without_pain_is_one_in_which_nothing_hurts() -> None:
    """As where no numbers are told."""
    for text in ("Right ROM 0-130 without pain.", "Right range 0 to 130, painless.", "Right ROM painless."):
        assert found(text, RIGHT)["motion_pain_any"] is NORMAL


def test_words_that_are_open_for_one_sign_propose_no_other() -> None:
    """Of "all these negative" nothing is entered where one of them was told otherwise before."""
    text = (
        "Right knee: drawer 2+. Posterior sag present. Quadriceps active test positive. "
        "Reverse pivot negative. Right knee. All these negative."
    )
    proposed = {each for span in read(text).spans if not span.became.is_open for each in span.findings}
    assert set(read(text).findings) == proposed


@pytest.mark.parametrize(
    "text",
    [
        "McMurray's positive left medial and right lateral.",
        "McMurray positive left medially and right laterally.",
        "McMurray positive left medially, right laterally.",
        "Joint line tender left medial, right lateral.",
    ],
)
def test_a_place_behind_each_of_two_sides_is_of_its_own_side(text: str) -> None:
    """Neither place is put down for the other knee."""
    assert not {"mcmurray_lateral", "joint_line_tenderness_lateral"} & set(found(text, LEFT))
    assert not {"mcmurray_medial", "joint_line_tenderness_medial"} & set(found(text, RIGHT))
    assert {"mcmurray_medial", "joint_line_tenderness_medial"} & set(found(text, LEFT))


@pytest.mark.parametrize("text", ["Right hip stiff.", "Right ankle stiff.", "Right hip warm."])
def test_a_hip_that_is_stiff_is_no_stiff_knee(text: str) -> None:
    """What is said of another joint is shown as open, and the knee beside it is told by itself."""
    assert not {"range_of_motion_limited", "warmth"} & set(found(text, RIGHT))
    assert not read(text).is_complete
    assert found("Right hip normal, range 0 to 120.", RIGHT)["passive_flexion"] == 120.0
    assert found("Right knee stiff.", RIGHT) == {"range_of_motion_limited": ABNORMAL}


def test_not_tender_behind_a_sign_at_a_place_is_of_that_place() -> None:
    """It does not tell of the whole knee that it is not tender."""
    text = "Right tibial tubercle prominent but not tender."
    assert found(text, RIGHT) == {"tubercle_prominent": ABNORMAL, "tenderness_tibial_tubercle": NORMAL}


@pytest.mark.parametrize(
    "text",
    [
        "Left: joint line tenderness medially, none laterally.",
        "Left: joint line tender medially, lateral none.",
        "Left JLT med, lat nil.",
        "Left medial joint line tenderness, none lateral.",
    ],
)
def test_nothing_at_the_other_place_denies_that_place_only(text: str) -> None:
    """What was found at the first stands."""
    assert found(text, LEFT) == {
        "joint_line_tenderness_medial": ABNORMAL,
        "joint_line_tenderness_lateral": NORMAL,
    }
    neither = found("Left: joint line tenderness medial and lateral none.", LEFT)
    assert set(neither.values()) == {NORMAL}
