"""Differences between the knees, pain and power: what they enter, and what they only ask."""

import pytest

from fabella.record import Reason, State
from tests.dictation.spoken import ABNORMAL, LEFT, NORMAL, RIGHT, found, read


def asked(text: str) -> dict[str, str]:
    """The words that are left open, each with its question."""
    return {read(text).words(span): span.why for span in read(text).open_spans}


# ------------------------------------------------------------------ differences between the knees


@pytest.mark.parametrize(
    ("text", "sign", "note"),
    [
        ("Right Lachman 5 mm more than the left.", "lachman", "5 mm more than the left"),
        ("Posterior drawer 6 mm more on the right.", "posterior_drawer", "6 mm more than the other"),
        ("Dial test 15 degrees more on the right at 30.", "dial_30", "15 deg more than the other"),
        ("Right dial test at 90 12 degrees more than the left.", "dial_90", "12 deg more than the left"),
        (
            "Right knee: valgus opens 4 mm more than the left at 30.",
            "valgus_stress_30",
            "4 mm more than the left",
        ),
    ],
)
def test_a_difference_that_no_two_healthy_knees_have_is_abnormal(text: str, sign: str, note: str) -> None:
    """The difference is noted; it is no reading of the knee that has more."""
    assert found(text, RIGHT) == {sign: ABNORMAL}
    assert found(text, LEFT) == {}
    assert [each.note for each in read(text).findings] == [note]
    assert read(text).is_complete


@pytest.mark.parametrize(
    ("text", "understood"),
    [
        ("Right calf is 1.5 cm smaller.", "1.5 cm less than the other"),
        ("Right knee: 5 degrees less extension than the left.", "5 deg less than the left"),
        ("Right knee: 10 degrees less flexion than the left.", "10 deg less than the left"),
        ("Right knee lacks 5 degrees of extension compared to the left.", "5 deg less than the left"),
        ("Right Lachman 2 mm more than the left.", "2 mm more than the left"),
        ("Right dial test at 30 5 degrees more than the left.", "5 deg more than the left"),
        ("Right knee: valgus opens 5 mm more at 30 than at 0.", "5 mm more"),
        ("Right Lachman 4 mm more than normal.", "4 mm more"),
    ],
)
def test_any_other_difference_asks_once_for_the_readings(text: str, understood: str) -> None:
    """The question repeats what was understood, and nothing is entered."""
    assert found(text, RIGHT) == found(text, LEFT) == {}
    assert [why for why in asked(text).values() if why.startswith(understood)]


def test_a_thinner_thigh_is_offered_as_wasted() -> None:
    """One question, of both girths, with the one finding that the difference may be."""
    text = "Right thigh 3 cm thinner than left."
    (span,) = read(text).open_spans
    assert read(text).words(span) == "thigh 3 cm thinner than left"
    assert span.why == "3 cm less than the left: a difference; what is the reading of each knee?"
    assert [(each.sign, each.side) for each in span.choices[0].findings] == [("quadriceps_wasting", RIGHT)]


@pytest.mark.parametrize("text", ["Right thigh 3 cm thicker than left.", "Right calf 2 cm bigger."])
def test_a_thicker_leg_is_no_wasting(text: str) -> None:
    """Which of the two knees is the worse, only the readings tell."""
    assert len(asked(text)) == 1
    assert [span.choices for span in read(text).open_spans] == [()]


def test_more_without_a_measure_is_not_understood() -> None:
    """Only a number beside it makes "more" a difference."""
    assert asked("Left knee more, no effusion.") == {"more": "it is not said what is compared with what"}
    assert found("Left knee more, no effusion.", LEFT) == {"effusion": NORMAL}


# ------------------------------------------------------------------ what one word is said of


@pytest.mark.parametrize("text", ["Right knee Lachman firm.", "Lachman firm on the right."])
def test_a_firm_lachman_has_a_firm_end_point_and_no_grade(text: str) -> None:
    """It is the end point that is firm; how far the tibia went is asked about."""
    assert found(text, RIGHT) == {"lachman_end_point": "firm"}
    assert asked(text) == {"Lachman": "positive or negative?"}


def test_a_painful_range_keeps_its_numbers_and_asks_where_it_hurts() -> None:
    """Pain behind a range is not dropped; of a flexion it is that of bending."""
    text = "Right knee: range 5 to 100, painful, no effusion."
    assert found(text, RIGHT) == {"passive_extension": -5.0, "passive_flexion": 100.0, "effusion": NORMAL}
    assert asked(text) == {"painful": "painful all the way, or only at the ends?"}
    assert found("Right knee flexion to 100, painful.", RIGHT) == {
        "passive_flexion": 100.0,
        "flexion_pain": ABNORMAL,
    }


@pytest.mark.parametrize("heading", ["R PFPS", "R knee OA", "Right patellofemoral pain syndrome"])
def test_a_diagnosis_as_a_heading_does_not_cost_the_note(heading: str) -> None:
    """It is no finding, but names the knee of what follows."""
    text = f"{heading}. No effusion. Clarke's positive."
    assert found(text, RIGHT) == {"effusion": NORMAL, "clarke_sign": ABNORMAL}
    assert found(text, LEFT) == {}


def test_a_plus_tells_no_kind_of_crepitus() -> None:
    """One plus is there, and neither fine nor coarse; a drawer has pluses for grades."""
    assert found("R knee crepitus plus.", RIGHT) == {"crepitus": ABNORMAL}
    assert found("R anterior drawer plus.", RIGHT) == {"anterior_drawer": "1+"}


@pytest.mark.parametrize("words", ["SLR not possible due to pain", "unable to SLR because of pain"])
def test_a_leg_that_pain_kept_down_could_not_be_tested(words: str) -> None:
    """Without a reason it could not be raised, which is a finding."""
    (finding,) = read(f"Right knee: {words}.").findings
    assert (finding.sign, finding.state, finding.reason) == (
        "straight_leg_raise",
        State.UNTESTABLE,
        Reason.PAIN,
    )
    assert found("Right knee: SLR not possible.", RIGHT) == {"straight_leg_raise": "unable"}


# ------------------------------------------------------------------ power


def test_power_alone_is_that_of_the_knee() -> None:
    """Of a knee, power out of five is that of straightening it."""
    assert found("Right knee: power 5/5.", RIGHT) == {"knee_extension_strength": "5"}
    text = "Strength right 5/5, left 4/5."
    assert (found(text, RIGHT), found(text, LEFT)) == (
        {"knee_extension_strength": "5"},
        {"knee_extension_strength": "4"},
    )


@pytest.mark.parametrize(
    "text",
    [
        "Right knee: ankle power 4/5.",
        "Right knee: hip flexor strength 4/5.",
        "Right knee: NV intact, power 4/5.",
        "Right knee: power reduced.",
    ],
)
def test_power_of_something_else_is_asked_about(text: str) -> None:
    """Beside another part, behind the nerves of the foot, or without a number it may be any muscle's."""
    assert "knee_extension_strength" not in found(text, RIGHT)
    assert not read(text).is_complete


def test_muscles_of_the_foot_are_those_of_its_nerves() -> None:
    """What lifts foot and toe is of one nerve, what presses down of the other; a row shares its power."""
    assert found("Right: FHL/EHL 5/5, TA 5/5.", RIGHT) == {"foot_drop": NORMAL, "tibial_nerve_motor": NORMAL}
    assert found("Left EHL and FHL 4/5.", LEFT) == {"foot_drop": "weak", "tibial_nerve_motor": "weak"}


# ------------------------------------------------------------------ of one knee, and not of the other


@pytest.mark.parametrize("told", ["Lachman 1+", "Lachman negative", "range full"])
def test_a_heading_outlives_what_is_the_same_on_the_other_knee(told: str) -> None:
    """What is the same as on the left the end of a sentence says nothing of the next ones."""
    text = f"Right knee: {told}, same as the left. Moderate effusion. Posterior drawer negative."
    assert found(text, RIGHT).items() >= {"effusion": "moderate", "posterior_drawer": NORMAL}.items()
    assert not {"effusion", "posterior_drawer"} & set(found(text, LEFT))
    assert len(found(text, LEFT)) == 1


def test_a_hip_that_moves_is_one_hip() -> None:
    """The s of a verb makes no plural; hips are both."""
    assert found("Right hip moves freely.", LEFT) == {}
    assert found("Right hip moves freely.", RIGHT) == {"hip_rotation_reduced": NORMAL}
    assert found("Hips move freely.", LEFT) == {"hip_rotation_reduced": NORMAL}


def test_not_tender_behind_the_other_knee_is_said_of_the_same_place() -> None:
    """A mere "not tender" is of the place that was tender; "no tenderness" is of the knee."""
    text = "Tender inferior pole on the right, left not tender."
    assert found(text, LEFT) == {"tenderness_inferior_pole": NORMAL}
    wide = "Tender inferior pole on the right, no tenderness on the left."
    assert "joint_line_tenderness" in found(wide, LEFT)


def test_a_swelling_that_is_not_tender_leaves_the_knee_open() -> None:
    """Behind a swelling, "non-tender" may be said of it alone."""
    text = "Popliteal swelling on the right, non-tender."
    assert found(text, RIGHT) == {"posterior_swelling": ABNORMAL}
    assert asked(text) == {"non-tender": "only the swelling, or nowhere?"}


@pytest.mark.parametrize("words", ["won't come straight", "will not straighten fully"])
def test_what_will_not_straighten_is_not_straight(words: str) -> None:
    """It was read as full extension."""
    assert found(f"Left knee {words}, flexes to 110.", LEFT) == {
        "passive_extension": ABNORMAL,
        "passive_flexion": 110.0,
    }


def test_an_unknown_word_before_what_is_well_leaves_it_open() -> None:
    """It may deny it: what "won't get fully straight" was read as full extension."""
    text = "Left knee won't get fully straight."
    assert found(text, LEFT) == {}
    assert not read(text).is_complete
    assert found("Left knee fully straight.", LEFT) == {"passive_extension": NORMAL}
