"""What is contrasted in one breath: two places, two knees, two joints, then and now."""

import pytest

from fabella.anatomy import Side
from tests.dictation.spoken import ABNORMAL, LEFT, NORMAL, RIGHT, found, read

# ------------------------------------------------------------------ two places


@pytest.mark.parametrize(
    "text", ["Right McMurray medially, lateral negative.", "Right knee: McMurray medial, lateral negative."]
)
def test_a_result_behind_a_second_place_is_of_that_place(text: str) -> None:
    """What was found at the first was not told, and is asked about."""
    assert found(text, RIGHT) == {"mcmurray_lateral": NORMAL}
    assert not read(text).is_complete
    both = found("Right McMurray medially and laterally negative.", RIGHT)
    assert both == {"mcmurray_medial": NORMAL, "mcmurray_lateral": NORMAL}


@pytest.mark.parametrize(
    "text",
    [
        "Right knee: pain on flexion, none on extension.",
        "Right knee: apprehension on lateral glide, none on medial.",
    ],
)
def test_none_on_another_movement_denies_nothing_of_the_first(text: str) -> None:
    """It is asked about."""
    assert NORMAL not in found(text, RIGHT).values()
    assert not read(text).is_complete
    assert found("Right knee: effusion none.", RIGHT) == {"effusion": NORMAL}


@pytest.mark.parametrize("text", ["Left MCL tender, LCL not.", "Left MCL tender but LCL not."])
def test_not_behind_a_ligament_denies_what_was_told_of_the_other(text: str) -> None:
    """It was its tenderness, and no laxity."""
    assert found(text, LEFT) == {"tenderness_mcl": ABNORMAL, "tenderness_lcl": NORMAL}


# ------------------------------------------------------------------ two knees


@pytest.mark.parametrize(
    ("text", "sign", "left", "right"),
    [
        ("Left quads weak, right not.", "knee_extension_strength", ABNORMAL, NORMAL),
        ("Left quads strong, right not.", "knee_extension_strength", NORMAL, ABNORMAL),
        ("Left Lachman positive, right not.", "lachman", ABNORMAL, NORMAL),
    ],
)
def test_a_mere_not_denies_the_result_of_the_other_knee(
    text: str, sign: str, left: object, right: object
) -> None:
    """Not weak is well, whatever a "not" alone would say of a strength."""
    assert (found(text, LEFT)[sign], found(text, RIGHT)[sign]) == (left, right)


def test_a_mere_is_behind_not_tender_is_asked_about() -> None:
    """It means that the other calf is tender, and never that it is not."""
    text = "Left calf not tender, right is."
    assert "tenderness_calf" not in found(text, RIGHT)
    assert not read(text).is_complete


# ------------------------------------------------------------------ two joints


@pytest.mark.parametrize(
    "text",
    ["Hips: right moves normally, left stiff.", "Hips: left stiff.", "Right ankle swollen, left warm."],
)
def test_what_is_said_of_each_hip_is_said_of_no_knee(text: str) -> None:
    """A colon, a comma and a side between do not lead back to the knee."""
    assert not {"range_of_motion_limited", "warmth"} & {each.sign for each in read(text).findings}
    assert not read(text).is_complete


@pytest.mark.parametrize("side", list(Side))
def test_a_knee_named_behind_a_hip_has_its_own_range(side: Side) -> None:
    """The numbers behind it are not those of the hip."""
    text = f"Right hip stiff, {side} knee 0-120."
    assert found(text, side) == {"passive_extension": 0.0, "passive_flexion": 120.0}


# ------------------------------------------------------------------ then and now


@pytest.mark.parametrize(
    ("text", "item"),
    [("Gives way no longer.", "giving_way"), ("Right knee: locks no more.", "locking")],
)
def test_no_longer_may_stand_behind_what_it_denies(text: str, item: str) -> None:
    """It is an answer, and contradicts nothing."""
    assert dict(read(text).history) == {item: False}
    assert read(text).is_complete


def test_of_two_readings_of_one_movement_neither_is_taken_unasked() -> None:
    """The first may be that of another day; two ends of one movement are two readings."""
    text = "Left knee flexion was 90 and is now 120."
    assert found(text, LEFT) == {}
    assert not read(text).is_complete
    assert (
        found("Left knee lacks 5 of full extension and has 125 of flexion.", LEFT)["passive_extension"] == -5
    )


@pytest.mark.parametrize(
    "text",
    [
        "Left knee: large rather than small effusion.",
        "Left knee: small instead of large effusion.",
        "Left knee: swelling has gone.",
    ],
)
def test_what_is_not_there_or_there_no_more_is_not_entered(text: str) -> None:
    """It is asked about."""
    assert found(text, LEFT) == {}
    assert not read(text).is_complete


def test_a_word_is_taken_for_a_misspelt_one_only_where_few_letters_differ() -> None:
    """A sport is no relative."""
    (sport,) = read("Twisted it yodelling.").open_spans
    (slip,) = read("Right knee: efusionn.").open_spans
    assert (sport.nearest, slip.nearest) == ("", "effusion")


@pytest.mark.parametrize(
    "text",
    [
        "Denies locking, reports giving way.",
        "Denies locking and reports giving way.",
        "Denies locking, complains of giving way.",
        "No locking, has giving way.",
    ],
)
def test_a_verb_that_affirms_ends_the_reach_of_a_denial(text: str) -> None:
    """What is reported behind it is told, and not denied."""
    assert dict(read(text).history) == {"locking": False, "giving_way": True}


def test_words_that_are_not_known_end_the_reach_of_a_denial() -> None:
    """What stands behind them is never denied; a list that has a "no" of its own goes on."""
    assert dict(read("Denies locking, xyz giving way.").history) == {"locking": False}
    assert dict(read("No locking, has not given way.").history) == {"locking": False, "giving_way": False}


@pytest.mark.parametrize(
    "text",
    [
        "It did not swell at once but the next day.",
        "Knee did not swell xyz.",
        "Able to weight bear then, not now.",
        "Left lag 10 yesterday, none today.",
        "Left knee anything but stable.",
        "Left Lachman not quite negative.",
        "Left McMurray negative except laterally.",
        "Left knee: medial rather than lateral joint line tenderness.",
    ],
)
def test_what_is_denied_in_part_or_of_another_day_is_asked_about(text: str) -> None:
    """Nothing is entered, neither as there nor as not there."""
    assert (read(text).findings, dict(read(text).history)) == ((), {})
    assert not read(text).is_complete


def test_a_place_told_for_itself_behind_not_tender_is_no_part_of_it() -> None:
    """What was found there is asked about; a second "not" turns nothing round."""
    text = "Left knee: medial joint line not tender but lateral is."
    assert found(text, LEFT) == {"joint_line_tenderness_medial": NORMAL}
    assert not read(text).is_complete
    text = "Left knee: medial joint line not tender, lateral not."
    assert "joint_line_tenderness_lateral" not in found(text, LEFT)


def test_not_before_the_other_direction_is_of_the_same_test() -> None:
    """It tells nothing of the alignment."""
    text = "Left knee opens to valgus, not to varus."
    assert found(text, LEFT) == {"valgus_stress_30": ABNORMAL, "varus_stress_30": NORMAL}


def test_an_illness_that_is_absent_is_not_there() -> None:
    """A level of the same name is that of a power, and no foot drop."""
    text = "Right foot drop absent, left present."
    assert (found(text, RIGHT)["foot_drop"], found(text, LEFT)["foot_drop"]) == (NORMAL, "absent")
    assert found("Right dorsiflexion absent.", RIGHT) == {"foot_drop": "absent"}


@pytest.mark.parametrize(
    "text", ["It is the left not the right that has the effusion.", "Left, not right, has an effusion."]
)
def test_a_choice_between_the_knees_denies_no_sign(text: str) -> None:
    """It is asked about."""
    assert NORMAL not in (*found(text, LEFT).values(), *found(text, RIGHT).values())
    assert not read(text).is_complete


def test_with_alone_behind_a_side_says_the_sign_again() -> None:
    """As "without" does."""
    text = "Right knee without effusion, left with."
    assert (found(text, RIGHT), found(text, LEFT)) == ({"effusion": NORMAL}, {"effusion": ABNORMAL})


def test_a_denied_number_says_nothing_of_its_sign() -> None:
    """A knee that does not hyperextend by ten degrees may do so by five."""
    assert found("Right knee hyperextends 5, not 10.", RIGHT) == {"passive_extension": 5.0}
    assert not read("Right knee hyperextends 5, not 10.").is_complete


def test_what_is_absent_may_be_a_word_that_is_not_known() -> None:
    """Nothing is entered of the sign before it; a weakness that is absent is a good power."""
    assert read("Left quads xyz absent.").findings == ()
    assert found("Left quads weakness absent.", LEFT) == {"knee_extension_strength": NORMAL}
    assert found("Left quads weakness, right none.", RIGHT) == {"knee_extension_strength": NORMAL}


@pytest.mark.parametrize(
    "text",
    [
        "Right Lachman 1+ rather than 2+.",
        "Right Lachman 1+ maybe 2+.",
        "Right effusion small rather than large.",
    ],
)
def test_neither_of_two_results_with_a_doubt_between_is_entered(text: str) -> None:
    """It is asked which of them it is."""
    assert read(text).findings == ()
    assert not read(text).is_complete


def test_what_two_tests_were_before_is_not_what_they_are() -> None:
    """Neither is entered as it was."""
    text = "Left knee: Lachman and pivot negative before, both positive today."
    assert NORMAL not in found(text, LEFT).values()
    assert not read(text).is_complete
