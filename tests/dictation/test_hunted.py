"""Wrong knees, turned meanings and losses hunted by variations of order, negation and punctuation."""

import pytest

from fabella.anatomy import Side
from fabella.record import State
from tests.dictation.corpus import is_open
from tests.dictation.spoken import ABNORMAL, LEFT, NORMAL, RIGHT, found, read

# ------------------------------------------------------------------ letters and words that name no knee


@pytest.mark.parametrize("text", ["R/V 6/52. Effusion.", "MCL r/o. Effusion.", "L5 intact. Effusion."])
def test_letters_with_a_slash_or_a_root_name_no_knee(text: str) -> None:
    """A review, a rule-out and a spinal root are no side of what follows."""
    assert read(text).findings == ()


def test_a_letter_glued_to_a_reading_is_a_knee() -> None:
    """Typed without blanks, "L5-130" is still the left range."""
    assert found("ROM L5-130 R0-140.", LEFT) == {"passive_extension": -5.0, "passive_flexion": 130.0}
    assert found("L2+ Lachman, R1+.", LEFT) == {"lachman": "2+"}


@pytest.mark.parametrize(
    ("text", "state"),
    [
        ("A little effusion is left in the right knee.", State.ABNORMAL),
        ("No effusion left in the right knee.", State.NORMAL),
    ],
)
def test_what_is_left_in_a_knee_is_no_left_knee(text: str, state: State) -> None:
    """Before "in the right knee", left is what remains."""
    assert [(each.side, each.state) for each in read(text).findings] == [(RIGHT, state)]


@pytest.mark.parametrize("text", ["There is no effusion left, right knee.", "Effusion left, right knee."])
def test_two_sides_in_a_row_are_asked_about(text: str) -> None:
    """A side behind a sign and the other knee right behind it leave open whose it is."""
    assert read(text).findings == ()
    assert not read(text).is_complete


# ------------------------------------------------------------------ brackets, dots and pairs


@pytest.mark.parametrize(
    "text",
    [
        "Lachman 2+ (R) 0 (L).",
        "Lachman 2+ [R], 0 [L].",
        "R) Lachman 2+ L) Lachman 0",
        "Right and left Lachman 2+ and 0 respectively.",
        "Lachman is 0 and 2+, left and right respectively.",
        "Lachman 2+ right... 0 left.",
    ],
)
def test_each_of_two_results_is_that_of_its_knee(text: str) -> None:
    """Brackets, dots and an order told once part no side from its result."""
    states = {each.side: each.state for each in read(text).findings if each.sign == "lachman"}
    assert states == {RIGHT: State.ABNORMAL, LEFT: State.NORMAL}


def test_two_readings_of_two_knees_in_their_order() -> None:
    """Without "respectively" the first reading is still that of the knee named first."""
    text = "Right and left knees flex to 130 and 110."
    assert (found(text, RIGHT), found(text, LEFT)) == ({"passive_flexion": 130.0}, {"passive_flexion": 110.0})


def test_dots_before_a_correction_end_no_sentence() -> None:
    """A knee put right behind three dots is put right."""
    assert {each.side for each in read("Effusion on the right... no, the left.").findings} == {LEFT}


@pytest.mark.parametrize(
    "text",
    [
        "Left knee: effusion, warm. Right: neither.",
        "Effusion and warmth left, neither right.",
        "Left knee effusion and warmth, neither on the right.",
    ],
)
def test_neither_denies_all_that_was_told(text: str) -> None:
    """It is said of both signs, not of the nearest."""
    assert found(text, RIGHT) == {"effusion": NORMAL, "warmth": NORMAL}


@pytest.mark.parametrize("text", ["Hop test: painful L, ok R.", "Hop test: L painful, R ok."])
def test_a_word_of_speech_beside_a_side_is_its_result(text: str) -> None:
    """An "ok" that would open a sentence is a result where a knee stands beside it."""
    assert found(text, RIGHT) == {"hop_pain": NORMAL}


@pytest.mark.parametrize(("text", "side"), [("No right knee pain.", None), ("Right knee pain.", Side.RIGHT)])
def test_a_denied_pain_is_no_complaint(text: str, side: Side | None) -> None:
    """The knee of which pain is denied is not the one complained of."""
    assert read(text).context.complaint == ((side,) if side else None)


# ------------------------------------------------------------------ what a "no" turns


@pytest.mark.parametrize("sign", ["effusion", "crepitus", "medial joint line tenderness", "posterior sag"])
@pytest.mark.parametrize("words", ["{} 0", "0 {}", "{} = 0", "lacks {}", "lack of {}", "w/o {}", "no e/o {}"])
def test_nothing_in_any_words_is_never_something(sign: str, words: str) -> None:
    """What is nought or lacking is not there."""
    states = {each.state for each in read(f"Right knee: {words.format(sign)}.").findings}
    assert states == {State.NORMAL}


@pytest.mark.parametrize(
    "sign", ["effusion", "crepitus", "medial joint line tenderness", "patellar apprehension"]
)
@pytest.mark.parametrize(
    "words",
    [
        "no change in the {}", "no improvement in the {}", "no doubt about the {}", "{} not appreciated",
        "{}, not present before", "{} which is not subtle", "{} is not mild",
    ],
)  # fmt: skip
def test_a_denial_of_something_else_is_asked_about(sign: str, words: str) -> None:
    """A "no" of another word, of another time or of the size neither states nor denies the sign."""
    understood = read(f"Right knee: {words.format(sign)}.")
    assert understood.findings == ()
    assert not understood.is_complete


def test_not_so_much_is_no_question_beside_how_much() -> None:
    """Where it was told how much there is, what it is not adds nothing; of the other knee it is asked."""
    assert found("Left knee warm, not hot.", LEFT) == {"warmth": "warm"}
    text = "Left knee large effusion, right not large."
    assert (found(text, LEFT), found(text, RIGHT)) == ({"effusion": "large"}, {})


def test_a_question_ends_its_sentence() -> None:
    """The doubt of "torn?" is not that of the next sentence, and stays with what was doubted."""
    text = "Patellar tendon torn? Cannot SLR right."
    assert found(text, RIGHT) == {"straight_leg_raise": "unable"}
    assert not read("Right Lachman positive?").findings


# ------------------------------------------------------------------ ligaments and movement


def test_a_direction_as_a_label_is_a_stress_test() -> None:
    """Graded at a bend it is no alignment, and each bend has its own grade."""
    text = "Valgus stress: left 1+ at 30, 0 at 0; right 0 at 30."
    assert found(text, LEFT) == {"valgus_stress_30": "1+", "valgus_stress_0": "0"}
    assert found("Valgus: L 1+ at 30.", LEFT) == {"valgus_stress_30": "1+"}
    assert found("Varus L 1.", LEFT) == {}
    assert is_open(read("Varus L 1."), "Varus")


def test_stable_to_one_thing_is_not_stable_to_all() -> None:
    """A knee that is stable to varus and valgus may be lax in other ways."""
    four = dict.fromkeys((f"{way}_stress_{bend}" for way in ("varus", "valgus") for bend in (0, 30)), NORMAL)
    assert found("The right knee is stable to varus and valgus at 0 and 30 degrees.", RIGHT) == four


def test_at_both_means_the_bends_told_before() -> None:
    """Behind bends "at both" names no second knee."""
    text = "Right MCL 2+ at 30, 0 at 0. LCL 0 at both."
    assert found(text, LEFT) == {}
    assert found(text, RIGHT)["varus_stress_0"] == "0"


def test_a_firm_end_point_is_no_firm_test() -> None:
    """That a Lachman test has a firm end point does not say how far it went."""
    assert found("Both Lachmans have a firm end point.", LEFT) == {"lachman_end_point": "firm"}
    assert is_open(read("Both Lachmans have a firm end point."), "Lachmans")


def test_a_range_of_one_small_number_is_asked_about() -> None:
    """What stands between the ends of a range may be an unknown word: no knee is read to bend to 5."""
    assert found("Right knee ROM 5 qxyz to 140.", RIGHT) == {}
    beyond = {"passive_extension": 5.0, "passive_flexion": 140.0}
    assert found("Right knee ROM 5 hyperext to 140.", RIGHT) == beyond


def test_a_normal_compartment_is_no_stable_ligament() -> None:
    """That a compartment is unremarkable does not say in what way."""
    assert found("Right medial compartment unremarkable.", RIGHT) == {}
    assert is_open(read("Right medial compartment unremarkable."), "compartment")


@pytest.mark.parametrize("words", ["lacks 10 degrees full flexion", "lacks 10 of full flexion"])
def test_what_is_missing_from_a_full_bend_is_no_extension(words: str) -> None:
    """It is neither a full bend nor a knee that does not come straight."""
    assert found(f"Right knee: {words}.", RIGHT) == {}


@pytest.mark.parametrize("bound", [">120", "< 90", "at least 120", "at most 100"])
def test_a_bound_is_no_reading(bound: str) -> None:
    """How far a knee bends at least or at most is asked about."""
    assert found(f"Right knee flexion {bound}.", RIGHT) == {}


def test_capillary_refill_within_a_bound_is_normal() -> None:
    """Less than two seconds in signs is the same as in words."""
    assert found("Left knee: capillary refill <2 s.", LEFT) == {"capillary_refill_s": NORMAL}


@pytest.mark.parametrize("words", ["MCL tender but stable", "MCL non-tender, stable"])
def test_stable_behind_a_ligament_that_was_felt_is_that_ligament(words: str) -> None:
    """Of the others nothing was said."""
    assert set(found(f"Right knee: {words}.", RIGHT)) == {"tenderness_mcl", "valgus_stress_30"}


@pytest.mark.parametrize("nothing", ["nil", "no", "0", "negative for"])
def test_nothing_reaches_a_list_in_any_words(nothing: str) -> None:
    """What opens a list with "or" denies all of it."""
    both = {"effusion": NORMAL, "warmth": NORMAL}
    assert found(f"Right knee: {nothing} effusion or warmth.", RIGHT) == both


def test_a_dash_among_pluses_may_be_a_minus() -> None:
    """Written "effusion - warmth +" the dash may deny either: neither is taken for certain."""
    text = "Right knee: Lachman + pivot - posterior sag +."
    assert not read(text).is_complete
    assert found(text, RIGHT) == {"lachman": ABNORMAL, "posterior_sag": ABNORMAL}


def test_from_behind_numbers_is_a_full_range() -> None:
    """At the end of its piece "FROM" leads to nothing."""
    assert found("Right knee 0-130 FROM.", RIGHT)["range_of_motion_limited"] is NORMAL


def test_a_reading_between_two_knees_is_asked_about() -> None:
    """Where sides stand before some results and behind others, "120 R 140" is on neither knee."""
    text = "Gait antalgic L. L effusion small, flexion 120 R 140, Apley positive L."
    assert "passive_flexion" not in {**found(text, LEFT), **found(text, RIGHT)}


def test_a_result_at_another_bend_is_of_the_same_knee() -> None:
    """Behind the result of a named knee, the other bend needs no knee of its own."""
    text = "Valgus stress: L 1+ at 30, 0 at 0; R 0 at 30, 0 at 0."
    assert found(text, LEFT) == {"valgus_stress_30": "1+", "valgus_stress_0": "0"}
    assert found(text, RIGHT) == {"valgus_stress_30": "0", "valgus_stress_0": "0"}


def test_bony_tenderness_at_a_named_site_is_of_that_site() -> None:
    """The place behind it is not lost, with or without a preposition."""
    at = {"joint_line_tenderness_medial": ABNORMAL}
    assert found("Right knee: bony tenderness medial joint line.", RIGHT) == at
    assert found("Right knee tender medially and laterally over the joint line.", RIGHT) == {
        "joint_line_tenderness_medial": ABNORMAL,
        "joint_line_tenderness_lateral": ABNORMAL,
    }


def test_a_result_of_something_unknown_is_not_that_of_the_next_sign() -> None:
    """Behind a comma, what was normal is not the effusion."""
    assert found("Right knee: qxyz normal, effusion.", RIGHT) == {"effusion": ABNORMAL}
    assert found("Right knee effusion none warmth mild.", RIGHT) == {"effusion": NORMAL, "warmth": "warm"}


@pytest.mark.parametrize("joint", ["ankle", "shoulder", "hip"])
def test_the_range_of_another_joint_is_none_of_the_knee(joint: str) -> None:
    """Movement right behind another joint is that joint's."""
    movements = {"range_of_motion_limited", "passive_flexion", "passive_extension"}
    assert not movements & set(found(f"Right {joint} ROM full.", RIGHT))


def test_a_heading_in_running_speech_stays_one() -> None:
    """The second knee opens what follows it, also where "both" comes behind."""
    text = "right knee effusion left knee none both stable"
    assert found(text, RIGHT) == {"effusion": ABNORMAL, "ligament_laxity_any": NORMAL}
    assert found(text, LEFT) == {"effusion": NORMAL, "ligament_laxity_any": NORMAL}


@pytest.mark.parametrize(
    "text",
    [
        "Left knee effusion. Lachman 2+. Sorry, that is all right knee.",
        "| | R | L |\n| effusion | + | - |",
    ],
)
def test_a_knee_that_may_be_the_other_one_is_asked_about(text: str) -> None:
    """Neither a correction of everything nor the head of a table leaves findings on the last knee named."""
    assert {each.sign for each in read(text).findings} <= {"lachman"}
    assert not any(each.side is LEFT for each in read(text).findings)


def test_a_direction_put_right_is_of_the_test_it_was_said_of() -> None:
    """In "valgus, sorry varus, laxity" nothing is said of the alignment."""
    for text in ("Valgus, sorry varus, laxity at 30 right.", "Right valgus laxity, make that varus."):
        assert not {"varus_alignment", "valgus_alignment"} & set(found(text, RIGHT))
        assert not read(text).is_complete


def test_a_minus_behind_a_colon_is_a_result() -> None:
    """What is written "L: -" denies."""
    text = "R: effusion +, L: -."
    assert (found(text, RIGHT), found(text, LEFT)) == ({"effusion": ABNORMAL}, {"effusion": NORMAL})


def test_a_calf_that_is_not_swollen_is_no_knee_that_is_not() -> None:
    """In a list about the calf swelling is the calf's, but the range behind it is the knee's."""
    assert "swelling_visible" not in found("Right calf soft, non tender, not swollen.", RIGHT)
    assert found("Right calf soft, ROM 0-120.", RIGHT)["passive_flexion"] == 120.0
