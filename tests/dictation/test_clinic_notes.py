"""What terse notes showed: grades for both knees, the bend of a test, how a knee is held."""

import pytest

from tests.dictation.spoken import ABNORMAL, LEFT, NORMAL, RIGHT, found, read


@pytest.mark.parametrize(
    "text",
    ["Lachman right/left 2+/0.", "Lachman R/L: 2+/0.", "Lachman 2+/0 right/left."],
)
def test_two_grades_beside_two_sides_are_one_for_each(text: str) -> None:
    """With the knees named in the same order the slash parts two results."""
    assert found(text, RIGHT) == {"lachman": "2+"}
    assert found(text, LEFT) == {"lachman": "0"}
    assert read(text).is_complete


@pytest.mark.parametrize("text", ["Right Lachman 1+/2+.", "Right knee: Lachman grade 1/2."])
def test_two_grades_of_one_knee_are_still_asked_about(text: str) -> None:
    """Without two sides nobody knows which of two grades was meant."""
    assert "lachman" not in found(text, RIGHT)
    assert not read(text).is_complete


@pytest.mark.parametrize("text", ["apprehension positive at 30", "patellar apprehension at 20 degrees"])
def test_apprehension_is_felt_for_at_a_bend(text: str) -> None:
    """The bend at which the patella was pushed belongs to the test and is not asked about."""
    assert found(f"Right knee: {text}.", RIGHT) == {"patellar_apprehension": ABNORMAL}
    assert read(f"Right knee: {text}.").is_complete


@pytest.mark.parametrize(
    ("text", "sign"),
    [
        ("Left patellar glide 3 quadrants laterally", {"patellar_glide_increased": ABNORMAL}),
        ("Left patellar glide 2 quadrants laterally", {"patellar_glide_increased": NORMAL}),
        ("Left patellar glide 1 quadrant medially", {"patellar_glide_reduced": ABNORMAL}),
    ],
)
def test_which_way_a_patella_glides_may_stand_behind_how_far(text: str, sign: dict[str, object]) -> None:
    """Behind the quarters as before them, the direction makes it one sign or the other."""
    assert found(text, LEFT) == sign
    assert read(text).is_complete


def test_a_grade_of_fluid_on_a_named_test_is_that_of_the_test() -> None:
    """A "2+ effusion on sweep" grades the sweep test, on whose scale the plus signs are."""
    assert found("Right knee: 2+ effusion on sweep.", RIGHT)["effusion_sweep"] == "2+"


@pytest.mark.parametrize(
    "text",
    [
        "Right knee. Holding knee flexed 20. Large effusion.",
        "Keeps the right knee flexed at 20 degrees, large effusion.",
        "The right knee is held in 20 degrees of flexion. Large effusion.",
        "Right knee held flexed at 30, large effusion.",
    ],
)
def test_a_knee_held_bent_is_no_range(text: str) -> None:
    """How far it is held bent is not how far it bends, and the knee named so stays the knee spoken of."""
    assert found(text, RIGHT).items() >= {"held_flexed": ABNORMAL, "effusion": "large"}.items()
    assert "passive_flexion" not in found(text, RIGHT)


def test_a_lump_behind_a_place_and_a_side_lies_at_the_place() -> None:
    """A heading for a place holds for the side behind it: a lump there is that of the popliteal fossa."""
    assert found("Popliteal fossa: R soft cystic swelling 4 cm. L nil.", RIGHT)["popliteal_mass"] == ABNORMAL


@pytest.mark.parametrize("how", ["", "slightly ", "very "])
@pytest.mark.parametrize("denied", ["lateral not", "lateral no", "not lateral"])
def test_the_other_side_of_the_joint_may_be_denied_however_tender_the_first_was(
    how: str, denied: str
) -> None:
    """A "not" behind a place is said of the place, whether or not it was said how tender the first one is."""
    assert found(f"Right knee. Medial joint line {how}tender, {denied}. No effusion.", RIGHT) == {
        "joint_line_tenderness_medial": ABNORMAL, "joint_line_tenderness_lateral": NORMAL, "effusion": NORMAL,
    }  # fmt: skip
