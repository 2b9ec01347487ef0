"""How emergency departments, physiotherapists and recognisers write: a principle a test."""

import pytest

from fabella.record import Mechanism, State
from tests.dictation.spoken import ABNORMAL, LEFT, NORMAL, RIGHT, found, read

# ------------------------------------------------------------------ dictated punctuation


def test_a_dictated_full_stop_is_no_full_range() -> None:
    """Marks that are said as words part sentences and say nothing of the knee."""
    text = (
        "Right knee colon moderate effusion comma medial joint line tender full stop new paragraph "
        "Left knee colon no effusion comma stable full stop"
    )
    assert found(text, RIGHT) == {"effusion": "moderate", "joint_line_tenderness_medial": ABNORMAL}
    assert found(text, LEFT) == {"effusion": NORMAL, "ligament_laxity_any": NORMAL}
    assert read(text).is_complete


@pytest.mark.parametrize("name", ["pivot shift", "pivot-shift"])
def test_a_hyphen_inside_a_name_is_skipped(name: str) -> None:
    """A name is the same with and without its hyphen, and leaves no half of itself over."""
    assert found(f"Right knee {name} glide.", RIGHT) == {"pivot_shift": "glide"}
    assert read(f"Right knee {name} glide.").is_complete


# ------------------------------------------------------------------ times as parts of a week or a year


@pytest.mark.parametrize(
    ("time", "days"), [("3/7", 3.0), ("2/52", 14.0), ("6/12", 180.0), ("12/24", 0.5), ("three days", 3.0)]
)
def test_a_part_of_a_week_or_a_year_is_a_time(time: str, days: float) -> None:
    """Behind a number, /24, /7, /52 and /12 are hours, days, weeks and months."""
    assert read(f"Twisted R knee {time} ago.").context.onset_days == days


def test_a_time_is_no_grade_of_what_stands_before_it() -> None:
    """How long a knee has been swollen is not how much; of what has no complaint before it is asked."""
    text = "Hot swollen R knee 1/7."
    assert found(text, RIGHT)["swelling_visible"] is ABNORMAL
    assert read(text).context.onset_days == 1.0
    assert read("Limping L 2/7.").context.onset_days == 2.0
    assert not read("Seen 6/52 post op.").is_complete
    assert read("Seen 6/52 post op.").context.onset_days is None


# ------------------------------------------------------------------ short for a word of a name


@pytest.mark.parametrize(
    ("text", "sign"),
    [
        ("R knee lat tibial plateau TTP.", "tenderness_lateral_tibial_plateau"),
        ("R knee med retinaculum TTP.", "tenderness_medial_retinaculum"),
        ("R knee TTP lat fem condyle.", "tenderness_lateral_femoral_condyle"),
        ("R knee med JL tender.", "joint_line_tenderness_medial"),
        ("R knee PFJ crep.", "crepitus_patellofemoral"),
        ("R knee Q'ceps wasting.", "quadriceps_wasting"),
        ("R knee tight hams.", "hamstring_tightness"),
        ("R knee: unable to WB.", "unable_to_weight_bear"),
    ],
)
def test_a_word_of_a_name_may_be_shortened(text: str, sign: str) -> None:
    """What is short for a word is the word, in whatever name it stands."""
    assert found(text, RIGHT) == {sign: ABNORMAL}
    assert read(text).is_complete


def test_b_with_a_slash_and_l_is_both() -> None:
    """Written "B/L", both knees are meant."""
    assert found("Mild varus B/L.", LEFT) == found("Mild varus B/L.", RIGHT) == {"varus_alignment": "mild"}


def test_a_fall_onto_a_side_is_a_fall_onto_that_knee() -> None:
    """The side may stand inside the name without an article."""
    for text in ("Fell onto L knee.", "Fell onto her left knee."):
        assert read(text).context.mechanism is Mechanism.FALL_ON_KNEE


# ------------------------------------------------------------------ one knee told by the other


@pytest.mark.parametrize("rest", ["rest as R", "otherwise same as right", "the rest is as on the right"])
def test_the_rest_is_what_was_said_of_the_other_knee_and_not_of_this(rest: str) -> None:
    """What this knee has of its own stays, also where the other one's was said in a wider word."""
    text = f"R knee: eff mod, Lach neg, no JLT. L knee: LJLT, trace eff, {rest}."
    assert found(text, LEFT) == {
        "effusion": "small",
        "joint_line_tenderness_lateral": ABNORMAL,
        "lachman": NORMAL,
    }


def test_the_rest_as_a_knee_of_which_nothing_was_said_is_asked_about() -> None:
    """Nothing is taken for the same as what was never told."""
    assert not read("L knee: trace eff, rest as R.").is_complete


def test_right_equals_left() -> None:
    """Between two sides an equals sign is no label: what follows is said of both, else it is asked about."""
    text = "R=L for collaterals, both stable."
    stable = {"valgus_stress_30": NORMAL, "varus_stress_30": NORMAL}
    assert (found(text, RIGHT), found(text, LEFT)) == (stable, stable)
    assert not read("R knee R=L.").is_complete


def test_where_behind_a_side_is_where_of_that_side() -> None:
    """A compartment behind a side is of the result before it and not of the next knee's alone."""
    text = "McMurray positive right medially, negative left."
    assert found(text, RIGHT) == {"mcmurray_medial": ABNORMAL}


def test_both_before_a_plural_is_both_knees() -> None:
    """Two things that "and" joins behind "both tubercles" are not the two that "both" counts."""
    both = {"tubercle_prominent": ABNORMAL, "tenderness_tibial_tubercle": ABNORMAL}
    text = "Both tibial tubercles are prominent and tender."
    assert (found(text, RIGHT), found(text, LEFT)) == (both, both)


@pytest.mark.parametrize(
    "close", ["That was the right knee.", "No actually, all of that was the right knee."]
)
def test_what_was_the_other_knee_is_asked_about(close: str) -> None:
    """A sentence that says of what went before that it was the other knee leaves it on neither."""
    text = f"Medial joint line tenderness on the left. Effusion moderate on the left. {close}"
    assert (found(text, RIGHT), found(text, LEFT)) == ({}, {})
    assert not read(text).is_complete


# ------------------------------------------------------------------ tests and their results


@pytest.mark.parametrize("words", ["did not attempt", "didn't perform", "did not carry out"])
def test_a_test_that_was_not_attempted_is_not_negative(words: str) -> None:
    """Whoever did not do a test found nothing."""
    assert found(f"I {words} a McMurray on the left.", LEFT) == {"mcmurray": State.NOT_EXAMINED}


def test_a_not_before_an_unknown_word_denies_no_test() -> None:
    """What was not done to a test may be not doing it."""
    assert found("I did not xyz a McMurray on the left.", LEFT) == {}
    assert not read("I did not xyz a McMurray on the left.").is_complete


@pytest.mark.parametrize(
    "text", ["Lachman right 0, firm.", "Right Lachman: 0, firm.", "Lachman left 2+ soft, right 0 firm."]
)
def test_firm_behind_the_grade_of_a_lachman_test_is_its_end_point(text: str) -> None:
    """Behind a colon, a comma, or the other knee, "firm" still tells the end point."""
    assert found(text, RIGHT) == {"lachman": "0", "lachman_end_point": "firm"}


@pytest.mark.parametrize("said", ["two b", "2B", "2 b"])
def test_the_end_point_may_be_a_letter_that_was_said(said: str) -> None:
    """A letter before a pause is the end point; "a" before a word is an article."""
    assert found(f"Left Lachman {said}.", LEFT) == {"lachman": "2+", "lachman_end_point": "soft"}
    assert found("Lachman one a right knee.", RIGHT) == {"lachman": "1+"}


def test_two_bends_need_no_at() -> None:
    """Behind a stress test, "0 and 30" are both bends."""
    four = [f"{way}_stress_{bend}" for way in ("varus", "valgus") for bend in (0, 30)]
    assert found("R knee collaterals stable 0 and 30.", RIGHT) == dict.fromkeys(four, NORMAL)


def test_what_could_not_be_done_on_the_other_side_is_the_test_before() -> None:
    """A result on one knee does not keep the reason on the other from the test that both are of."""
    text = "Lachman: right negative, left could not be assessed because of guarding."
    assert (found(text, RIGHT), found(text, LEFT)) == ({"lachman": NORMAL}, {"lachman": State.UNTESTABLE})


def test_a_place_on_the_other_knee_is_asked_about() -> None:
    """A mere place behind the other knee's tenderness is not left out silently."""
    text = "Tenderness: right nil, left lateral joint line."
    assert any("lateral joint line" in read(text).words(span) for span in read(text).open_spans)


@pytest.mark.parametrize("text", ["R knee FROM, Lach neg.", "R knee: Lach neg, FROM."])
def test_from_that_leads_to_nothing_is_a_full_range(text: str) -> None:
    """The abbreviation is known by what stands around it, not by its capitals."""
    assert found(text, RIGHT) == {"range_of_motion_limited": NORMAL, "lachman": NORMAL}
    assert found("R knee pain from behind, Lach neg.", RIGHT) == {"lachman": NORMAL}


def test_power_out_of_five_and_a_temperature_have_short_names() -> None:
    """The muscle with a power out of five, and T with a number."""
    assert found("L knee Q'ceps 4/5.", LEFT) == {"knee_extension_strength": "4"}
    assert found("T 37.9.", None) == {"body_temperature": 37.9}


def test_the_side_before_an_injury_is_that_complained_of() -> None:
    """A note may name the knee first, and then how it was hurt."""
    assert read("L knee dashboard injury.").context.complaint == (LEFT,)
    assert read("Right knee normal. Twisted left knee.").context.complaint == (LEFT,)


def test_a_site_before_a_colon_gives_way_to_the_one_behind_the_sign() -> None:
    """A heading names the structure, the sign its place."""
    assert found("L ITB: TTP lateral femoral condyle.", LEFT) == {
        "tenderness_lateral_femoral_condyle": ABNORMAL
    }


def test_a_cystic_swelling_is_a_lump() -> None:
    """What is said of it, its tenderness too, is not said of the knee."""
    text = "Right popliteal fossa: soft cystic swelling 4 cm, non tender."
    assert found(text, RIGHT) == {"popliteal_mass": ABNORMAL, "mass_size": 4.0, "mass_firm_fixed": NORMAL}


def test_a_squat_on_one_leg_with_poor_control() -> None:
    """It is no deep squat, and its control is a level of its own."""
    text = "SL squat poor control L, good R."
    assert (found(text, LEFT), found(text, RIGHT)) == (
        {"single_leg_squat": "poor_control"},
        {"single_leg_squat": NORMAL},
    )


def test_pf_with_a_power_is_plantarflexion() -> None:
    """Behind "EHL 5/5", "PF 5/5" is the ankle; before crepitus or a joint it is patellofemoral."""
    assert found("EHL 5/5, PF 4/5 on the left.", LEFT) == {"foot_drop": NORMAL, "tibial_nerve_motor": "weak"}
    assert found("PF 5/5 both sides.", RIGHT) == {"tibial_nerve_motor": NORMAL}
    assert found("PF crepitus on the left.", LEFT) == {"crepitus_patellofemoral": ABNORMAL}
    assert not read("Right PF normal.").findings
    assert not read("PF pain on the right.").is_complete


def test_a_swelling_behind_the_knee_is_told_of_like_a_lump() -> None:
    """Its size and feel belong to it; on the other knee "nil" denies the swelling alone."""
    text = "Right popliteal swelling, soft, 5 cm. Left nil."
    assert found(text, RIGHT) == {"posterior_swelling": ABNORMAL, "mass_size": 5.0, "mass_firm_fixed": NORMAL}
    assert found(text, LEFT) == {"posterior_swelling": NORMAL}
    assert read(text).is_complete


@pytest.mark.parametrize(
    "text", ["Dislocated left patella 3 weeks ago.", "She dislocated her left kneecap 3 weeks ago."]
)
def test_a_side_may_stand_inside_a_dislocation(text: str) -> None:
    """What was dislocated, on which side and when are all told by it."""
    understood = read(text)
    assert dict(understood.history) == {"patella_seen_displaced": True}
    assert (understood.context.complaint, understood.context.onset_days) == ((LEFT,), 21.0)
    assert understood.is_complete


@pytest.mark.parametrize("nothing", ["Left nil.", "Left knee nil.", "Left: nil."])
def test_nil_of_a_knee_denies_all_that_the_other_had(nothing: str) -> None:
    """A sentence that says no more is of every sign of the one before, not of its last alone."""
    text = f"Right effusion 2+, McMurray positive medially, tender medial joint line. {nothing}"
    assert found(text, LEFT) == {
        "effusion": NORMAL, "mcmurray_medial": NORMAL, "joint_line_tenderness_medial": NORMAL,
    }  # fmt: skip


def test_nil_in_a_list_is_of_its_own_sign() -> None:
    """Behind the sign of its own sentence, or where the other knee was measured, it reaches no further."""
    assert found("Effusion 2+ on the right. Warmth right 1+, left nil.", LEFT) == {"warmth": NORMAL}
    assert "passive_flexion" not in found("Right flexion 100, effusion 2+. Left nil.", LEFT)


def test_nil_after_what_was_not_understood_denies_what_was() -> None:
    """Where the tenderness that is denied has no place, "nil" still denies the swelling, and is not open."""
    text = "Popliteal fossa: R soft cystic swelling 4 cm, non tender. L nil."
    assert found(text, LEFT) == {"popliteal_mass": NORMAL}


def test_bowed_both_ways_is_asked_about_however_often_it_is_said() -> None:
    """Of a knee told twice to be bowed in and out nothing is proposed."""
    assert (
        not {"varus_alignment", "valgus_alignment"}
        & found("Both knees varus, valgus. Varus, valgus.", LEFT).keys()
    )
