"""What the fifteenth set showed, each as a principle, with what looks like it and must not be read so."""

import pytest

from fabella.record import State
from tests.dictation.spoken import ABNORMAL, LEFT, NORMAL, RIGHT, found, read

NOT_EXAMINED = State.NOT_EXAMINED


@pytest.mark.parametrize(
    "said",
    [
        "I'll not do her McMurray today.",
        "I don't do McMurray.",
        "McMurray I'm leaving out.",
        "Not doing McMurray.",
    ],
)
def test_a_test_that_is_left_out_is_not_negative(said: str) -> None:
    """A "not" before "do" denies the deed, and no finding."""
    assert found(f"Right knee. {said}", RIGHT) == {"mcmurray": NOT_EXAMINED}


def test_painless_is_not_negative() -> None:
    """A denied pain was read as pain; on the knee that does not hurt it makes no test positive."""
    text = "McMurray on the right hurts on the inside. On the left it doesn't hurt."
    assert found(text, RIGHT) == {"mcmurray_medial": ABNORMAL}
    assert ABNORMAL not in found(text, LEFT).values()
    for test in ("McMurray", "Lachman", "Pivot shift"):
        assert not found(f"Left. {test} doesn't hurt.", LEFT)


def test_nil_of_the_other_knee_denies_no_denial() -> None:
    """What is said: "not tender. Left nil" says that neither is tender."""
    text = "Right. Medial joint line not tender. Left nil."
    assert found(text, LEFT) == {"joint_line_tenderness_medial": NORMAL}
    assert found("Right. Lachman positive. Left nil.", LEFT) == {"lachman": NORMAL}


def test_the_back_of_the_knee_is_a_place() -> None:
    """It sounds like a name of recurvatum."""
    assert not found("Now feel here, in the back of the right knee.", RIGHT)


@pytest.mark.parametrize(
    ("text", "right"),
    [
        ("Medial joint line, tender.", {"joint_line_tenderness_medial": ABNORMAL}),
        (
            "Medial joint line, lateral joint line, not tender.",
            {"joint_line_tenderness_medial": NORMAL, "joint_line_tenderness_lateral": NORMAL},
        ),
        ("MCL, LCL, not tender.", {"tenderness_mcl": NORMAL, "tenderness_lcl": NORMAL}),
        ("Patella, tender tibial tubercle.", {"tenderness_tibial_tubercle": ABNORMAL}),
        ("The medial joint line is sore.", {"joint_line_tenderness_medial": ABNORMAL}),
        ("The medial joint line is not sore.", {"joint_line_tenderness_medial": NORMAL}),
        ("The patella is sore on stairs.", {}),
        ("Tender at the top of the kneecap.", {"tenderness_superior_pole": ABNORMAL}),
    ],
)
def test_where_it_is_tender(text: str, right: dict[str, object]) -> None:
    """A comma may stand for a colon; sore to touch is tender, sore on stairs is not."""
    assert found(f"Right: {text}", RIGHT) == right


def test_a_label_of_both_knees_is_where_the_other_is_not_tender() -> None:
    """It does not say that nothing at all is tender."""
    text = "Medial joint line, tender on the right, and on the other side it isn't."
    assert found(text, RIGHT) == {"joint_line_tenderness_medial": ABNORMAL}
    assert found(text, LEFT) == {"joint_line_tenderness_medial": NORMAL}


def test_the_same_of_what_is_not_known_is_asked() -> None:
    """What is said: "left side, same bump, but it's not tender" copies nothing and denies nothing."""
    text = "Right tibial tubercle prominent, tender. Left side, same bump, but it's not tender."
    assert not found(text, LEFT)
    assert not read(text).is_complete


@pytest.mark.parametrize("well", ["fine", "grand", "stable"])
def test_what_is_well_is_said_of_what_stands_before(well: str) -> None:
    """In speech without marks "lateral side's grand tender along the MCL" is tender."""
    text = f"left knee stable at zero the lateral side's {well} tender along the m c l"
    assert found(text, LEFT)["tenderness_mcl"] == ABNORMAL


def test_now_the_left_opens_the_left_knee() -> None:
    """Speech without marks, as it is recognised: what stands before "now the left" is of the right knee."""
    text = "right knee collaterals stable at zero and thirty now the left big effusion"
    stable = {"valgus_stress_0", "valgus_stress_30", "varus_stress_0", "varus_stress_30"}
    assert found(text, RIGHT) == dict.fromkeys(stable, NORMAL)
    assert found(text, LEFT) == {"effusion": "large"}
    assert found("Lachman right two plus now the left one plus", LEFT) == {"lachman": "1+"}


@pytest.mark.parametrize(
    ("text", "right", "left"),
    [
        ("Tap negative on the right, same on the left.", {"patellar_tap": NORMAL}, {"patellar_tap": NORMAL}),
        ("Drawer, symmetrical, negative.", "same", "same"),
        ("Effusion on the right, small, none on the left.", {"effusion": "small"}, {"effusion": NORMAL}),
        ("Both knees. Gait antalgic on the right, mild.", {"antalgic_gait": "mild"}, {}),
        ("Flat feet, both of them.", {"flat_foot": ABNORMAL}, {"flat_foot": ABNORMAL}),
        ("Right effusion. Calves, thirty seven and the same on the left.", {"effusion": ABNORMAL}, {}),
    ],
)
def test_what_is_said_of_each_knee(text: str, right: object, left: object) -> None:
    """Sides behind a result and a comma, and words that name both knees."""
    drawers = {"anterior_drawer": NORMAL, "posterior_drawer": NORMAL}
    assert found(text, RIGHT) == (drawers if right == "same" else right)
    assert found(text, LEFT) == (drawers if left == "same" else left)


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("Right calf measures 36.5, left is one centimetre less.", {"calf_girth": 35.5}),
        ("Right thigh 46, left a centimetre more.", {"thigh_girth": 47.0}),
        ("Flexion 140 on the right, and the left is ten degrees less.", {"passive_flexion": 130.0}),
        ("Lachman right 3 mm, left 1 mm more.", {"lachman": 4.0}),
        ("Right thigh 46 cm. Left 3 cm thinner.", {}),
        ("Left thigh 3 cm thinner.", {}),
        ("Extension -5 on the right, 5 degrees less on the left.", {}),
    ],
)
def test_a_difference_from_the_reading_just_told(text: str, left: dict[str, object]) -> None:
    """It is the reading of this knee; alone, over a stop, or of what counts downwards it is asked about."""
    assert {sign: value for sign, value in found(text, LEFT).items() if isinstance(value, float)} == left


def test_a_gap_is_of_the_tendon_named_before_it() -> None:
    """It says nothing of the other tendon."""
    text = "Left. The patellar tendon is intact, no gap there."
    assert found(text, LEFT) == {"palpable_gap_patellar_tendon": NORMAL}
    assert "palpable_gap_quadriceps" in found("Left. No palpable gap.", LEFT)


@pytest.mark.parametrize("moved", ["as she straightens", "with full extension", "on flexion"])
def test_a_movement_with_which_there_is_crepitus_is_no_finding(moved: str) -> None:
    """It only tells when."""
    text = f"Right. Crepitus under the kneecap {moved}."
    assert found(text, RIGHT) == {"crepitus_patellofemoral": ABNORMAL}
    assert found("Right. Crepitus on flexion to 120.", RIGHT)["passive_flexion"] == 120.0


def test_a_range_that_was_told_was_tried() -> None:
    """What is said: "he won't let me go further" is said of more than that."""
    text = "left range is fifteen to about eighty he won't let me go further"
    assert found(text, LEFT) == {"passive_extension": -15.0, "passive_flexion": 80.0}


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("Flexion a hundred and thirty.", {"passive_flexion": 130.0}),
        ("It bends, hundred and thirty.", {"passive_flexion": 130.0}),
        ("There's a wave, a small one.", {"effusion_sweep": "trace"}),
        ("Lachman is, uh, negative.", {"lachman": NORMAL}),
        ("Lachman negative with a firm stop.", {"lachman": NORMAL, "lachman_end_point": "firm"}),
        ("Glide two quadrants medially and laterally.", {
            "patellar_glide_reduced": NORMAL, "patellar_glide_increased": NORMAL,
        }),
        ("Glide two quadrants.", {}),
    ],
)  # fmt: skip
def test_numbers_and_pauses_as_they_are_spoken(text: str, left: dict[str, object]) -> None:
    """A hundred without its "one" is no less, and "a small one" is no grade."""
    assert found(f"Left knee. {text}", LEFT) == left


@pytest.mark.parametrize(
    ("heard", "left"),
    [
        ("mick murray negative", {"mcmurray": NORMAL}),
        ("a rhythm a none", {"erythema": NORMAL}),
        ("call at orals stable", {"valgus_stress_30": NORMAL, "varus_stress_30": NORMAL}),
        ("val gus stress stable", {"valgus_stress_30": NORMAL}),
        ("very gus stress stable", {}),
        ("pop little fossa empty", {"posterior_swelling": NORMAL}),
        ("crew shit present", {"crepitus": ABNORMAL}),
    ],
)
def test_what_a_recogniser_makes_of_names(heard: str, left: dict[str, object]) -> None:
    """Certain slips only; between varus and valgus nothing is guessed."""
    assert found(f"left knee {heard}", LEFT) == left


@pytest.mark.parametrize(
    "said",
    [
        "I heard a crack.",
        "Ligaments, I'd say they're solid, but I'm only guessing.",
        "My wife's had hers swollen.",
    ],
)
def test_what_only_a_patient_says_and_what_is_guessed_is_asked(said: str) -> None:
    """Neither is a finding, nor told by the examiner."""
    understood = read(f"Left knee. {said}")
    assert not understood.findings
    assert not understood.history
    assert not understood.is_complete


@pytest.mark.parametrize(
    ("text", "right", "left"),
    [
        ("Lachman left two plus, now the right then, negative.", {"lachman": NORMAL}, {"lachman": "2+"}),
        ("left knee cool now the right so there's a big effusion", {"effusion": "large"}, {"warmth": NORMAL}),
        ("Left knee. It's tender right there over the patella.", {}, {"tenderness_patella": ABNORMAL}),
        ("Small effusion on the right. In the left one nothing is there. Calf soft.", {"effusion": "small"}, {
            "effusion": NORMAL,
        }),
        ("Left knee: small effusion. Right there's a scar.", {"scar": ABNORMAL}, {"effusion": "small"}),
        ("Effusion, a big one on the right.", {"effusion": "large"}, {}),
        ("Right. I'm not doing the Lachman, it was 2+.", {}, {}),
        ("Right calf raises 25.", {}, {}),
        ("Right: a fullness, a bit tender. On the left nothing.", {}, {}),
    ],
)  # fmt: skip
def test_words_that_only_sound_like_a_side_or_a_reading(
    text: str, right: dict[str, object], left: dict[str, object]
) -> None:
    """Hunted around the rules of this set: "the right so" names a knee, and "right there" does not."""
    assert (found(text, RIGHT), found(text, LEFT)) == (right, left)
