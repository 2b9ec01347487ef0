"""What the fourteenth set showed, each as a principle, with what looks like it and must not be read so."""

import pytest

from tests.dictation.spoken import ABNORMAL, LEFT, NORMAL, RIGHT, found, read


@pytest.mark.parametrize(
    ("text", "right"),
    [
        (
            "Medial joint line tender. The lateral side is fine.",
            {"joint_line_tenderness_medial": ABNORMAL, "joint_line_tenderness_lateral": NORMAL},
        ),
        (
            "McMurray positive medially. The lateral side is fine.",
            {"mcmurray_medial": ABNORMAL, "mcmurray_lateral": NORMAL},
        ),
        ("Effusion. Lateral side is good.", {"effusion": ABNORMAL}),
        ("Lateral side stable.", {"varus_stress_30": NORMAL}),
        ("Medial side opens 1+ at 30.", {"valgus_stress_30": "1+"}),
        ("MCL 2+ at 30. Lateral side is fine.", {"valgus_stress_30": "2+", "varus_stress_30": NORMAL}),
    ],
)
def test_a_side_of_the_knee_is_a_ligament_where_stability_is_told(
    text: str, right: dict[str, object]
) -> None:
    """What is said: "Fine" behind tenderness is no stress test."""
    assert found(f"Right knee. {text}", RIGHT) == right


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("Varus, valgus stable.", {"varus_stress_30": NORMAL, "valgus_stress_30": NORMAL}),
        ("Valgus, varus: stable.", {"varus_stress_30": NORMAL, "valgus_stress_30": NORMAL}),
        ("Valgus and varus: stable.", {"varus_stress_30": NORMAL, "valgus_stress_30": NORMAL}),
        ("Varus: mild.", {"varus_alignment": "mild"}),
        ("Varus, stable.", {"varus_stress_30": NORMAL}),
        ("Varus, effusion.", {"varus_alignment": ABNORMAL, "effusion": ABNORMAL}),
    ],
)
def test_a_direction_before_a_comma_may_be_a_stress_test(text: str, left: dict[str, object]) -> None:
    """It is no alignment where it is told at once how stable the knee is in it."""
    assert found(f"Left knee. {text}", LEFT) == left


@pytest.mark.parametrize("correction", ["No, make that 2+, soft.", "No, 2+, soft.", "Sorry, 2+, soft."])
def test_a_correction_puts_right_what_it_can_be_told_of(correction: str) -> None:
    """No end point is 2+, and no grade is soft."""
    text = f"Left knee. Lachman 1+ with a firm end point. {correction}"
    assert found(text, LEFT) == {"lachman": "2+", "lachman_end_point": "soft"}


def test_a_denial_is_no_correction() -> None:
    """What is said: "No, no effusion" puts nothing right."""
    assert found("Left knee. Lachman 1+. No, no effusion.", LEFT) == {"lachman": "1+"}


def test_an_interruption_puts_nothing_right() -> None:
    """Before words that tell nothing "excuse me" is no correction; before a side it is one."""
    text = "Left knee. Solid ligaments. Excuse me, can someone get the door? The right. Moderate effusion."
    assert found(text, LEFT) == {"ligament_laxity_any": NORMAL}
    assert found(text, RIGHT) == {"effusion": "moderate"}
    assert found("Left knee effusion. Excuse me, the right.", RIGHT) == {"effusion": ABNORMAL}


def test_a_contrast_ends_with_its_side() -> None:
    """In speech without marks "not on the right" denies no sign that follows."""
    text = "warm on the left not on the right patellar tap positive on the left"
    assert found(text, RIGHT) == {"warmth": NORMAL}
    assert found(text, LEFT) == {"warmth": "warm", "patellar_tap": ABNORMAL}


def test_normal_to_look_at_is_said_of_no_sign_behind_it() -> None:
    """A knee that looks normal is not for that reason cool."""
    text = "the right knee looks normal warm on the left"
    assert found(text, LEFT) == {"warmth": "warm"}
    assert not found(text, RIGHT)


def test_a_knee_only_compared_with_does_not_hold() -> None:
    """What follows "compared to the left" may be of either."""
    text = "Right Lachman 1+. Compared to the left, which is 0. Posterior drawer negative."
    assert found(text, RIGHT) == {"lachman": "1+"}
    assert not found(text, LEFT)


@pytest.mark.parametrize(
    ("text", "right"),
    [
        ("Tender at the inferior pole on the left. Right not tender.", {"tenderness_inferior_pole": NORMAL}),
        ("Tender over the left MCL. The right is not tender.", {"tenderness_mcl": NORMAL}),
        (
            "Left knee: tender medial joint line. Right knee not tender.",
            {"joint_line_tenderness": NORMAL, "tenderness_anterior": NORMAL, "bony_tenderness": NORMAL},
        ),
    ],
)
def test_the_other_side_is_not_tender_at_the_same_place(text: str, right: dict[str, object]) -> None:
    """Where the knee itself is named, it is tender nowhere."""
    assert found(text, RIGHT) == right


def test_bending_it_fully_is_asked_for_and_not_found() -> None:
    """What is said: "Right knee: bend it fully" tells no flexion; "right knee: bends fully" does."""
    assert not read("Right knee: bend it fully, rotate, and straighten.").findings
    assert found("Right knee: bends fully.", RIGHT) == {"passive_flexion": NORMAL}


def test_with_no_pain_is_without_pain() -> None:
    """Each is said of the hop."""
    assert found("Right knee. Hops with no pain. Left knee hops with pain.", RIGHT) == {"hop_pain": NORMAL}


@pytest.mark.parametrize("joint", [", and", " and", ","])
def test_each_bend_has_its_own_result(joint: str) -> None:
    """Opening at 30 is none at 0, where the knee is said to be stable."""
    text = f"Right knee. Valgus opens 8 mm at 30{joint} at 0 it's stable."
    assert found(text, RIGHT) == {"valgus_stress_30": 8.0, "valgus_stress_0": NORMAL}
    both = found("Right knee. Valgus stable at 0 and at 30.", RIGHT)
    assert both == {"valgus_stress_0": NORMAL, "valgus_stress_30": NORMAL}


def test_a_range_before_a_stress_test_is_not_lost() -> None:
    """No ligament opens from 0 to 110."""
    left = found("Left: no effusion, 0 to 110, stable in valgus.", LEFT)
    assert left == {
        "effusion": NORMAL, "passive_extension": 0.0, "passive_flexion": 110.0, "valgus_stress_30": NORMAL,
    }  # fmt: skip


def test_the_drawer_is_the_one_that_was_named() -> None:
    """Where both were named, or neither, one word is said of both."""
    assert found("Left. Posterior drawer: no sag. The drawer is negative.", LEFT) == {
        "posterior_sag": NORMAL,
        "posterior_drawer": NORMAL,
    }
    assert found("Left drawer negative.", LEFT) == {"anterior_drawer": NORMAL, "posterior_drawer": NORMAL}


def test_the_other_reading_may_stand_behind_another_sign() -> None:
    """What is said: "130 on the left" is still said of the movement that was asked for a sentence before."""
    text = "Bend. 115 on the right with crepitus, 130 on the left."
    assert found(text, RIGHT)["passive_flexion"] == 115.0
    assert found(text, LEFT)["passive_flexion"] == 130.0


@pytest.mark.parametrize("named", ["", "Thigh "])
def test_a_height_above_the_patella_with_two_readings_is_of_the_thigh(named: str) -> None:
    """A lump or a wound may be there as well."""
    text = f"{named}15 cm above the patella, 48 on the right and 46 on the left."
    assert (found(text, RIGHT), found(text, LEFT)) == ({"thigh_girth": 48.0}, {"thigh_girth": 46.0})
    assert "thigh_girth" not in found("Right: a wound 15 cm above the patella, 3 cm on the right.", RIGHT)


def test_neither_of_something_good_is_asked_about() -> None:
    """What is said: "MCL stable, tender. LCL neither" says that it is not lax, or that it is not stable."""
    text = "Left MCL stable, tender. LCL neither."
    assert found(text, LEFT) == {"valgus_stress_30": NORMAL}
    assert not read(text).is_complete
    lax = "Left MCL tender and lax. LCL neither."
    assert found(lax, LEFT)["varus_stress_30"] == NORMAL


def test_neither_lax_nor_tender_is_said_of_one_ligament() -> None:
    """It does not say that nothing at all is tender."""
    assert found("Left LCL neither lax nor tender.", LEFT) == {
        "varus_stress_30": NORMAL,
        "tenderness_lcl": NORMAL,
    }


def test_straight_to_zero_is_where_extension_ends() -> None:
    """From straight to 130 is still a range."""
    both = {"passive_extension": 0.0, "passive_flexion": 140.0}
    assert found("Left knee. Bends to 140, straight to zero.", LEFT) == both
    assert found("Left knee. Straight to 140.", LEFT) == both


def test_a_knee_that_is_the_subject_is_no_side_of_the_sign_before_it() -> None:
    """Speech without marks, as it is recognised; "of the right knee is" still belongs to its ligament."""
    text = "left knee large effusion he can't lift the leg off the bed the right knee has no effusion"
    assert found(text, LEFT) == {"effusion": "large", "straight_leg_raise": "unable"}
    assert found(text, RIGHT) == {"effusion": NORMAL}
    assert not read("he can't lift the leg off the bed the right knee has a scar").is_complete
    assert found("The MCL of the right knee is tender.", RIGHT) == {"tenderness_mcl": ABNORMAL}
