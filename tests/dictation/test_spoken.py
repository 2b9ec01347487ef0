"""How surgeons speak, a principle a test: what a "no" reaches, what is the same, how numbers are written."""

import pytest

from fabella.record import Mechanism, Reason, Sex, State
from tests.dictation.spoken import ABNORMAL, LEFT, NORMAL, RIGHT, found, read

# ------------------------------------------------------------------ what a "no" reaches


@pytest.mark.parametrize(
    "text",
    [
        "Right knee no wounds, deformity or ecchymosis.",
        "Right knee: no wounds, no deformity, no ecchymosis.",
        "R knee - no wounds, deformity, or ecchymosis.",
    ],
)
def test_a_no_inside_a_name_reaches_the_list_behind_it(text: str) -> None:
    """The name "no wounds" denies the rest of its list as well."""
    assert found(text, RIGHT) == dict.fromkeys(("open_wound", "deformity", "ecchymosis"), NORMAL)


def test_a_no_that_found_no_place_says_nothing_of_the_sentence_before() -> None:
    """A "no" before a word that is not known belongs to its own sentence: what follows is asked about."""
    text = "No night pain. No xyz or groin pain."
    assert "groin_pain" not in read(text).history
    assert read(text).history["night_pain"] is False
    assert read(text).open_spans


def test_an_answer_that_is_asked_about_is_not_taken() -> None:
    """An answer of the history that carries a question is in no history before it was answered."""
    assert "groin_pain" not in read("No xyz, groin pain.").history


def test_a_denial_of_what_is_well_is_not_well() -> None:
    """What "could hop on the right but not on the left" says is normal and abnormal."""
    text = "She could hop on the right but not on the left."
    assert (found(text, RIGHT), found(text, LEFT)) == ({"hop_pain": NORMAL}, {"hop_pain": ABNORMAL})


@pytest.mark.parametrize("text", ["Without aids.", "Fully weight bearing without aids.", "No walking aid."])
def test_nobody_without_an_aid_walks_with_one(text: str) -> None:
    """Whatever else opens the sentence, "without aids" is no walking aid."""
    assert found(text, None) == {"walking_aid": NORMAL}


# ------------------------------------------------------------------ the same, with an exception


@pytest.mark.parametrize(
    "text",
    [
        "Left knee as the right except no effusion.",
        "Left knee the same but no effusion.",
        "Left: as above but without effusion.",
        "The left knee is like the right apart from no effusion.",
    ],
)
def test_what_is_excepted_from_the_same_is_as_it_is_said(text: str) -> None:
    """The other knee is the same in everything but the exception, which is said of it alone."""
    text = f"Right knee small effusion, Lachman 2+, flexion 130. {text}"
    assert found(text, RIGHT) == {"effusion": "small", "lachman": "2+", "passive_flexion": 130.0}
    assert found(text, LEFT) == {"effusion": NORMAL, "lachman": "2+", "passive_flexion": 130.0}
    assert read(text).is_complete


def test_the_same_with_something_else_behind_a_comma_is_asked_about() -> None:
    """Without a word for the exception it may be a slip: neither is taken."""
    left = found("Right knee small effusion, Lachman 2+. Left knee the same, moderate effusion.", LEFT)
    assert "effusion" not in left


def test_symmetrical_with_the_other_knee_is_the_same() -> None:
    """A reading that is symmetrical is the reading of both knees."""
    assert found("Left knee flexion 140, symmetrical with the right.", RIGHT) == {"passive_flexion": 140.0}


def test_a_contrast_on_the_other_knee_leaves_the_next_sentence_open() -> None:
    """After "Ober tight on the left, right fine" nobody knows of which knee the next sentence speaks."""
    text = "Ober tight on left, right fine. No joint line tenderness."
    assert (found(text, RIGHT), found(text, LEFT)) == ({"ober": NORMAL}, {"ober": ABNORMAL})
    assert not read(text).is_complete


def test_the_left_one_is_a_knee_and_no_grade() -> None:
    """Behind a side "one" is the knee where a verb follows, and a grade where a result would stand."""
    assert found("The knee is swollen, the left one that is.", LEFT).get("swelling_visible") != "slight"
    assert found("The left one has a small effusion.", LEFT) == {"effusion": "small"}
    assert found("Lachman right two, left one.", LEFT) == {"lachman": "1+"}


# ------------------------------------------------------------------ numbers


@pytest.mark.parametrize("grade", ["II", "grade II", "gd II", "gd 2", "2", "II°"])
def test_a_grade_in_roman_numerals_is_a_grade(grade: str) -> None:
    """A Roman numeral behind a test grades it, with or without the word grade."""
    assert found(f"Right knee Lachman {grade} firm, LCL ok.", RIGHT) == {
        "lachman": "2+",
        "lachman_end_point": "firm",
        "varus_stress_30": NORMAL,
    }


@pytest.mark.parametrize("words", ["ROM 10/80", "range 10/80 degrees", "ROM: 10-80"])
def test_a_slash_parts_the_ends_of_a_range(words: str) -> None:
    """Behind "range", 10/80 is from 10 to 80 and no bend of 10."""
    assert found(f"Right knee {words}.", RIGHT) == {"passive_extension": -10.0, "passive_flexion": 80.0}


def test_nil_of_a_distance_is_nought() -> None:
    """A heel that reaches the buttock is no bad sign."""
    text = "Heel to buttock distance 15 cm on the right and nil on the left."
    assert (found(text, RIGHT), found(text, LEFT)) == ({"heel_to_buttock": 15.0}, {"heel_to_buttock": 0.0})


@pytest.mark.parametrize("bends", ["at 0 and 30", "in extension and 30", "in extension and at 30 degrees"])
def test_two_bends_of_one_test_may_be_said_in_two_ways(bends: str) -> None:
    """Two bends are "in extension and 30", as "at 0 and 30" are."""
    both = {"varus_stress_0": NORMAL, "varus_stress_30": NORMAL}
    assert found(f"Right knee: varus stress stable {bends}.", RIGHT) == both
    assert found(f"Varus stress: stable both sides {bends}.", LEFT) == both


def test_laxity_to_a_stress_names_the_stress() -> None:
    """To say "no laxity to varus/valgus stress at 0 or 30" denies four tests and nothing else."""
    four = [f"{way}_stress_{bend}" for way in ("varus", "valgus") for bend in (0, 30)]
    text = "Right knee: no laxity to varus/valgus stress at 0 or 30."
    assert found(text, RIGHT) == dict.fromkeys(four, NORMAL)


# ------------------------------------------------------------------ where, who and since when


def test_a_gap_is_where_the_knee_was_tender_last() -> None:
    """The words "no gap" behind a tender tendon are said of that tendon only; behind none, of both."""
    assert "palpable_gap_quadriceps" not in found("Left patellar tendon tender. No gap.", LEFT)
    assert "palpable_gap_patellar_tendon" in found("Left patellar tendon tender. No gap.", LEFT)
    assert {"palpable_gap_quadriceps", "palpable_gap_patellar_tendon"} <= set(
        found("Left knee no gap.", LEFT)
    )


def test_the_foot_that_is_turned_in_a_drawer_is_no_hip() -> None:
    """Rotation behind a drawer test is the position of the foot, and is left open."""
    text = "Right knee anterior drawer 2+, increased in external rotation."
    assert "hip_rotation_reduced" not in found(text, RIGHT)
    assert not read(text).is_complete


@pytest.mark.parametrize(
    ("text", "days"),
    [
        ("Left knee pain and swelling for 3 days.", 3.0),
        ("Six weeks of pain in the right knee.", 42.0),
        ("Seen two days after a twisting injury to her left knee.", 2.0),
    ],
)
def test_how_long_a_complaint_has_lasted(text: str, days: float) -> None:
    """It is the time since onset, never the hours in which the knee swelled."""
    assert read(text).context.onset_days == days
    assert "swelling_onset_hours" not in read(text).history


@pytest.mark.parametrize(
    "text",
    [
        "Right knee in a cast for 6 weeks.",
        "Left knee pain, on warfarin for 3 years.",
        "No pain for three weeks in the right knee.",
        "Swelling for two hours after football in the left knee.",
    ],
)
def test_another_time_is_left_open(text: str) -> None:
    """What lasted is not the complaint, so that nothing is taken and somebody must look."""
    assert read(text).context.onset_days is None
    assert "swelling_onset_hours" not in read(text).history
    assert not read(text).is_complete


@pytest.mark.parametrize("text", ["72 yo F with left knee pain.", "72F, left knee pain.", "A 72 y/o F."])
def test_a_letter_behind_an_age_is_the_sex(text: str) -> None:
    """Behind an age, F is female; behind a temperature it is Fahrenheit."""
    assert (read(text).patient.age_years, read(text).patient.sex) == (72.0, Sex.FEMALE)
    assert read("Temperature 101F.").patient.age_years is None


# ------------------------------------------------------------------ said once for several


@pytest.mark.parametrize(
    ("words", "signs"),
    [
        ("anterior and posterior drawers negative", {"anterior_drawer", "posterior_drawer"}),
        ("anterior/posterior drawer negative", {"anterior_drawer", "posterior_drawer"}),
        ("thigh and calf girth equal", {"thigh_girth", "calf_girth"}),
        (
            "no tenderness of the patella or collaterals",
            {"tenderness_patella", "tenderness_mcl", "tenderness_lcl"},
        ),
    ],
)
def test_a_noun_said_once_is_that_of_both(words: str, signs: set[str]) -> None:
    """The first of two names that share their noun is as much a sign as the second."""
    assert found(f"Right knee: {words}.", RIGHT) == dict.fromkeys(signs, NORMAL)


def test_a_denied_list_of_pains_is_denied_throughout() -> None:
    """The words "no back, hip or groin pain" deny all of them, and "no history of" is told by the patient."""
    history = read("No back, hip or groin pain. No history of locking, giving way or swelling.").history
    denied = ("back_pain", "groin_pain", "locking", "giving_way", "swelling_noticed")
    assert dict(history.items()) == dict.fromkeys(denied, False)


def test_active_and_passive_is_both() -> None:
    """A range of both movements is the reading of both."""
    both = found("Right knee active and passive movement zero to 120.", RIGHT)
    assert both == {"passive_extension": 0.0, "passive_flexion": 120.0, "active_flexion": 120.0}


def test_both_sides_behind_a_result_is_said_of_the_result() -> None:
    """Without a break, too, "both sides" closes what was said and opens nothing."""
    text = "right knee no effusion cruciates solid both sides patella tracks well"
    assert found(text, LEFT) == dict.fromkeys(("lachman", "posterior_drawer"), NORMAL)
    assert found(text, RIGHT)["patellar_tracking"] == NORMAL


@pytest.mark.parametrize("close", ["That's the left knee.", "This is all on the left.", "All on the left."])
def test_a_sentence_that_points_back_gives_the_side(close: str) -> None:
    """What was said of no knee yet is of the one that is named at the end; what had the other is asked."""
    before = "Minimal effusion. Flexion 140. "
    assert found(before + close, LEFT) == {"effusion": "small", "passive_flexion": 140.0}
    assert found("Left knee: " + before + close, LEFT) == {"effusion": "small", "passive_flexion": 140.0}
    assert (found("Right knee: " + before + close, RIGHT), found("Right knee: " + before + close, LEFT)) == (
        {},
        {},
    )


# ------------------------------------------------------------------ what could not be done, and what can


@pytest.mark.parametrize(
    "text",
    [
        "pivot refused",
        "patient declined the pivot shift",
        "she refused pivot shift",
        "would not allow the pivot",
    ],
)
def test_a_refusal_is_a_reason_by_itself(text: str) -> None:
    """Whoever declines a test makes it untestable, before or behind its name."""
    finding = next(
        each for each in read(f"Right knee: {text}. Lachman 2+.").findings if each.sign == "pivot_shift"
    )
    assert (finding.state, finding.reason) == (State.UNTESTABLE, Reason.REFUSED)


@pytest.mark.parametrize(
    ("text", "sign", "state"),
    [
        ("Cannot lift the leg off the bed on the right.", "straight_leg_raise", "unable"),
        ("Will not put weight on the right leg.", "unable_to_weight_bear", ABNORMAL),
        ("Right knee: he can walk on it.", "unable_to_weight_bear", NORMAL),
        ("The right knee extends to zero.", "passive_extension", 0.0),
        ("Right knee 3 degrees beyond straight.", "passive_extension", 3.0),
        ("Right thigh girth 20 inches.", "thigh_girth", 50.8),
        ("Left knee flexes to 90 whereas the right reaches 130.", "passive_flexion", 130.0),
        ("Right Thessaly positive medially at 20.", "thessaly_20", ABNORMAL),
    ],
)
def test_other_words_for_the_same(text: str, sign: str, state: object) -> None:
    """Inches, reaching a number, walking on it: said otherwise, and read all the same."""
    assert found(text, RIGHT)[sign] == state


@pytest.mark.parametrize("text", ["Fully weight bearing.", "Left knee no effusion. Leg lengths equal."])
def test_what_is_well_of_the_person_is_said_of_both_legs(text: str) -> None:
    """Full weight bearing and equal legs without a side concern both."""
    assert NORMAL in found(text, RIGHT).values()
    assert NORMAL in found(text, LEFT).values()


@pytest.mark.parametrize(
    ("text", "mechanism"),
    [
        ("Direct blow to the front of the left knee.", Mechanism.DIRECT_BLOW),
        ("He fell on to his left knee.", Mechanism.FALL_ON_KNEE),
        ("No direct blow to the left knee.", None),
    ],
)
def test_an_answer_may_tell_the_mechanism_too(text: str, mechanism: Mechanism | None) -> None:
    """A fall on the knee is an answer of the history and how it happened; denied, it is neither."""
    assert read(text).context.mechanism == mechanism


# ------------------------------------------------------------------ right behind a test


def test_unable_behind_a_test_is_no_finding_of_the_range() -> None:
    """A Lachman "unable because of pain" could not be tested, and says nothing of the range."""
    text = "Right knee range 20 to 75, Lachman unable because of pain."
    finding = next(each for each in read(text).findings if each.sign == "lachman")
    assert (finding.state, finding.reason) == (State.UNTESTABLE, Reason.PAIN)
    assert set(found(text, RIGHT)) == {"passive_extension", "passive_flexion", "lachman"}


def test_pain_that_a_test_provokes_is_its_result() -> None:
    """Behind "McMurray" medial pain is where the test hurts, and no answer of the history."""
    text = "McMurray: right medial pain, left lateral pain."
    assert found(text, RIGHT) == {"mcmurray_medial": ABNORMAL}
    assert found(text, LEFT) == {"mcmurray_lateral": ABNORMAL}
    assert not dict(read(text).history.items())
    assert read("Medial pain in the right knee.").history["pain_medial"] is True


def test_bony_tenderness_is_where_it_is_said_to_be() -> None:
    """The word "bony" adds nothing to a site that is named."""
    text = "No bony tenderness at the fibular head or patella of the left knee."
    assert found(text, LEFT) == {"tenderness_fibular_head": NORMAL, "tenderness_patella": NORMAL}


def test_what_the_other_knee_can_is_said_of_the_other_knee() -> None:
    """To say "on the right she can" closes a contrast: well on the right, as it was said on the left."""
    text = "On the left she can't straighten the last 10 degrees, on the right she can."
    assert (found(text, RIGHT), found(text, LEFT)) == (
        {"passive_extension": NORMAL},
        {"passive_extension": -10.0},
    )


def test_beyond_a_number_is_no_reading() -> None:
    """A knee that bends beyond 90 degrees was not measured to bend 90."""
    assert found("Left knee flexes beyond 90 degrees.", LEFT) == {}
    assert not read("Left knee flexes beyond 90 degrees.").is_complete


def test_an_identical_sign_is_the_same_in_that_sign_only() -> None:
    """An "identical range" is the range of the other knee, whatever else follows."""
    text = "Right knee small effusion, range 0 to 140. Left knee: identical range, no effusion."
    assert found(text, LEFT) == {"passive_extension": 0.0, "passive_flexion": 140.0, "effusion": NORMAL}


# ------------------------------------------------------------------ "not" behind what is tender


@pytest.mark.parametrize(
    ("text", "tender", "free"),
    [
        (
            "tender over the medial joint line but not over the MCL",
            {"joint_line_tenderness_medial"},
            {"tenderness_mcl"},
        ),
        (
            "tenderness over the medial joint line but not the lateral, and not over the MCL",
            {"joint_line_tenderness_medial"},
            {"joint_line_tenderness_lateral", "tenderness_mcl"},
        ),
        (
            "not tender over the joint line, and not over the patella",
            set(),
            {"joint_line_tenderness", "tenderness_patella"},
        ),
    ],
)
def test_not_over_a_place_is_said_of_tenderness(text: str, tender: set[str], free: set[str]) -> None:
    """A place that is denied behind a tender one is not tender; it is no stable ligament."""
    assert found(f"Left knee {text}.", LEFT) == dict.fromkeys(tender, ABNORMAL) | dict.fromkeys(free, NORMAL)


def test_a_result_behind_a_measured_difference_is_of_the_same_knee() -> None:
    """The knee that is only compared with in "15 degrees more than the right" has no result of its own."""
    text = "L knee dial test +ve at 30 (15 deg more ER than R), -ve at 90."
    assert found(text, RIGHT) == {}
    assert found(text, LEFT) == {"dial_30": ABNORMAL, "dial_90": NORMAL}


def test_the_end_point_is_of_the_knees_of_its_test() -> None:
    """Behind "Lachman 1+ both" a side belongs to the test, and its end point to the same knees."""
    assert found("Lachman 1+ both with firm end points.", LEFT)["lachman"] == "1+"


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("Left pivot not attempted as apprehensive.", Reason.GUARDING),
        ("Could not do a pivot on the left as too sore.", Reason.PAIN),
    ],
)
def test_as_gives_a_reason_for_what_was_not_done(text: str, reason: Reason) -> None:
    """The word "as" behind something that was not done is "because", and no comparison."""
    assert [(each.sign, each.reason) for each in read(text).findings] == [("pivot_shift", reason)]


# ------------------------------------------------------------------ put right, alike, and in brackets


@pytest.mark.parametrize("close", ["Sorry, right.", "I mean the right.", "No, sorry, the right."])
def test_a_side_behind_a_sign_is_put_right_in_the_next_sentence(close: str) -> None:
    """A correction that is nothing but a side belongs to the side said last, and leaves its sign in place."""
    text = f"Lachman positive on the left. {close}"
    assert (found(text, RIGHT), found(text, LEFT)) == ({"lachman": ABNORMAL}, {})


def test_a_symmetrical_reading_is_that_of_both() -> None:
    """A "flexion symmetrical at 140" is 140 on both sides; so is what is symmetrical with the other knee."""
    assert found("Left knee flexion symmetrical at 140.", RIGHT) == {"passive_flexion": 140.0}
    text = "Left knee no lag. Left knee 5 degrees of hyperextension to 140, symmetrical with the right."
    assert found(text, RIGHT) == {"passive_extension": 5.0, "passive_flexion": 140.0}


def test_signs_in_brackets_are_results() -> None:
    """To write "(-) McMurray, (+) Lachman" is negative and positive."""
    assert found("Right: (-) McMurray. (+) Lachman.", RIGHT) == {"mcmurray": NORMAL, "lachman": ABNORMAL}


def test_all_stable_is_every_test_at_every_bend() -> None:
    """To say "all stable" leaves none of the tests named out, nor one of two bends."""
    text = "right knee valgus stress 2+ at thirty 1+ in extension lachman 1+ left knee all stable"
    assert found(text, LEFT) == dict.fromkeys(("valgus_stress_30", "valgus_stress_0", "lachman"), NORMAL)


def test_a_word_that_says_nothing_of_a_range_is_left_open() -> None:
    """Straight may be the leg or the knee: before a range without a name it is asked about, not dropped."""
    text = "Right knee straight, 0 to 125."
    assert found(text, RIGHT) == {"passive_extension": 0.0, "passive_flexion": 125.0}
    assert not read(text).is_complete


@pytest.mark.parametrize(
    "text",
    [
        "Calf girth 12 cm below the tubercle 36 left and 38.5 right.",
        "Calf girth 12 cm below the tubercle 38.5 right, 36 left.",
    ],
)
def test_both_girths_of_one_height_keep_it(text: str) -> None:
    """The height at which two girths were measured is that of both."""
    girths = {each.side: (each.value, each.method) for each in read(text).findings}
    height = "12 cm below the tubercle"
    assert girths == {RIGHT: (38.5, height), LEFT: (36.0, height)}
