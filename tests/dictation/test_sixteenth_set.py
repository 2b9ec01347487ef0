"""What the sixteenth and seventeenth sets showed, each as a principle, with what must not be read so."""

import pytest

from fabella.record import State
from tests.dictation.spoken import ABNORMAL, LEFT, NORMAL, RIGHT, found, read

NOT_EXAMINED = State.NOT_EXAMINED


@pytest.mark.parametrize(
    ("text", "right", "left"),
    [
        ("Lachman. Right, negative. Left, two plus.", {"lachman": NORMAL}, {"lachman": "2+"}),
        ("Bend. Right one forty. Left one fifteen.", {"passive_flexion": 140.0}, {"passive_flexion": 115.0}),
        ("Effusion. Right, small. Left, none.", {"effusion": "small"}, {"effusion": NORMAL}),
        ("Swelling, right yes, left no.", {"swelling_visible": ABNORMAL}, {"swelling_visible": NORMAL}),
        ("Heat. Left warm. Right cool.", {"warmth": NORMAL}, {"warmth": "warm"}),
        ("Crepitus on the left, coarse. Not on the right.", {"crepitus": NORMAL}, {"crepitus": "coarse"}),
        ("Sweep test. Right, negative. Pivot. Left, glide.",
         {"effusion_sweep": NORMAL}, {"pivot_shift": "glide"}),
        ("Medial joint line. Tender on the left, tender on the right.",
         {"joint_line_tenderness_medial": ABNORMAL}, {"joint_line_tenderness_medial": ABNORMAL}),
        ("Hips. Left stiff, right free.", {}, {}),
        ("Collaterals at thirty. No opening on either knee.",
         {"valgus_stress_30": NORMAL, "varus_stress_30": NORMAL},
         {"valgus_stress_30": NORMAL, "varus_stress_30": NORMAL}),
    ],
)  # fmt: skip
def test_a_sign_alone_is_the_heading_of_the_sentences_behind_it(
    text: str, right: dict[str, object], left: dict[str, object]
) -> None:
    """One knee after the other, each in a sentence of its own, up to the next sign."""
    assert (found(text, RIGHT), found(text, LEFT)) == (right, left)


@pytest.mark.parametrize(
    ("said", "degrees"),
    [("zero", 0.0), ("plus five", 5.0), ("+5", 5.0), ("minus five", -5.0), ("five degrees beyond", 5.0)],
)
def test_degrees_of_extension_as_they_are_spoken(said: str, degrees: float) -> None:
    """A zero is a reading there, and a plus is beyond straight; without either it is asked."""
    assert found(f"Left knee. Extension {said}.", LEFT) == {"passive_extension": degrees}
    assert not found("Left knee. Extension five.", LEFT)
    assert found("Left knee. Extension full, effusion zero.", LEFT)["effusion"] == NORMAL


@pytest.mark.parametrize(
    ("text", "right", "left"),
    [
        ("Lachman right negative, left 2+. Anterior drawer the same.",
         {"lachman": NORMAL, "anterior_drawer": NORMAL}, {"lachman": "2+", "anterior_drawer": "2+"}),
        ("Left MCL tight at thirty, LCL the same.", {},
         {"valgus_stress_30": NORMAL, "varus_stress_30": NORMAL}),
        ("Right knee. Lachman 1+. Left knee. Drawer the same.", {"lachman": "1+"}, {}),
        ("Right Lachman 2+. McMurray the same.", {"lachman": "2+"}, {}),
        ("Right knee. No effusion. Lachman negative, left ditto.",
         {"effusion": NORMAL, "lachman": NORMAL}, {"lachman": NORMAL}),
    ],
)  # fmt: skip
def test_the_same_is_said_of_the_test_before(
    text: str, right: dict[str, object], left: dict[str, object]
) -> None:
    """Of one of its kind on the same knees; a knee named between leaves it open."""
    assert (found(text, RIGHT), found(text, LEFT)) == (right, left)


def test_an_order_that_is_agreed_on_names_the_knees() -> None:
    """Two results only: three, or a result and its end point, are asked."""
    text = "Right then left each time. Effusion, small, none. Thigh girth, 45, 46.5. Lachman, negative, firm."
    assert found(text, RIGHT) == {"effusion": "small", "thigh_girth": 45.0}
    assert found(text, LEFT) == {"effusion": NORMAL, "thigh_girth": 46.5}


@pytest.mark.parametrize(
    "text",
    [
        "Sam's right Lachman is positive.",
        "Mrs Example, the right Lachman is positive, love.",
        "Hello poppet. Right Lachman positive.",
        "Hiya, sweetheart. Thank you. Right Lachman positive.",
    ],
)
def test_what_somebody_is_called_is_not_asked_about(text: str) -> None:
    """Neither names nor endearments can be a finding."""
    understood = read(text)
    assert found(text, RIGHT) == {"lachman": ABNORMAL}
    assert understood.is_complete


@pytest.mark.parametrize("said", ["Slocum's drawer positive.", "Xyz's test positive.", "Mr effusion."])
def test_what_only_looks_like_a_name_is_asked_about(said: str) -> None:
    """Another test has its inventor's name, and a title needs one."""
    understood = read(f"Right knee. {said}")
    assert not understood.findings
    assert not understood.is_complete


@pytest.mark.parametrize(
    ("said", "left"),
    [
        ("Tilt is neutral.", {"patellar_tilt": NORMAL}),
        ("Full movement, nothing sore.", {"range_of_motion_limited": NORMAL}),
        ("Quads, none.", {}),
        ("Valgus and various stress normal.", {}),
        ("It's puffy round the kneecap.", {"swelling_visible": ABNORMAL}),
        ("Valgus at thirty two plus, at zero negative.",
         {"valgus_stress_30": "2+", "valgus_stress_0": NORMAL}),
        ("He's been in the wars but he's fine.", {}),
        ("Valgus at thirty 1+, at nought stable. Make that 2+ at thirty.", {"valgus_stress_30": "2+"}),
        ("I'm testing for a sag, and there is none.", {"posterior_sag": NORMAL}),
        ("I'm testing for a sag. Lachman negative.", {"lachman": NORMAL}),
        ("I haven't tested the Lachman.", {"lachman": NOT_EXAMINED}),
        ("Lachman not tested either.", {"lachman": NOT_EXAMINED}),
        ("Pulses are there.", {"distal_pulses": NORMAL}),
        ("Lachman positive, end point soft as butter.", {"lachman": ABNORMAL, "lachman_end_point": "soft"}),
        ("Knee extension four out of five.", {"knee_extension_strength": "4"}),
        ("Girth at 15 cm, 48.5 on the left.", {"thigh_girth": 48.5}),
    ],
)  # fmt: skip
def test_what_was_read_amiss(said: str, left: dict[str, object]) -> None:
    """Findings that were made up, or that no word of doubt took away."""
    assert found(f"Left knee. {said}", LEFT) == left


def test_a_doubt_of_one_knee_is_none_of_the_other() -> None:
    """What is equivocal is told of its own knee."""
    text = "McMurray is equivocal on the right, negative on the left."
    assert (found(text, RIGHT), found(text, LEFT)) == ({}, {"mcmurray": NORMAL})


def test_a_candidate_examines_where_an_examiner_only_asks() -> None:
    """And what the examiner asks is no finding."""
    text = (
        "Examiner: Is the Lachman positive?\nCandidate: The right knee has a small effusion.\n"
        "Examiner: Thank you.\nCandidate: And the right Lachman is negative."
    )
    assert found(text, RIGHT) == {"effusion": "small", "lachman": NORMAL}
    alone = "Examiner: The right knee has a small effusion.\nStudent: Is it warm?\nExaminer: No warmth."
    assert found(alone, RIGHT)["effusion"] == "small"


def test_everyday_words_are_put_aside_only_where_nothing_tells_of_a_knee() -> None:
    """Beside a sign or a side they may change what it means."""
    assert read("Right knee. No effusion. Everybody in the room can watch the screen.").is_complete
    assert not read("Right knee effusion garden.").is_complete
    assert not read("Right knee. It wobbles.").is_complete
