"""What patients tell and how they walk: how long, where, what was before; the hip beside the knee."""

import pytest

from fabella.record import Mechanism
from tests.dictation.spoken import ABNORMAL, LEFT, NORMAL, RIGHT, found, read

# ------------------------------------------------------------------ how long


@pytest.mark.parametrize(
    ("text", "days"),
    [
        ("Five days of worsening swelling of the right knee.", 5),
        ("3 weeks of lateral left knee pain.", 21),
        ("Four months of progressive right knee pain.", 120),
        ("Two weeks on. Left knee small effusion.", 14),
        ("9 weeks on, still locks.", 63),
    ],
)
def test_the_time_of_a_complaint_is_that_since_its_onset(text: str, days: float) -> None:
    """Whatever tells of the complaint between the time and its name, the time is kept."""
    assert read(text).context.onset_days == days
    assert not any("week" in read(text).words(each) for each in read(text).open_spans)


@pytest.mark.parametrize(
    "text", ["Six weeks of no pain.", "Three weeks of physiotherapy.", "Two weeks on crutches."]
)
def test_a_time_of_something_else_is_no_onset(text: str) -> None:
    """A time without pain, or of a treatment, tells nothing of the onset."""
    assert read(text).context.onset_days is None


def test_the_side_of_the_knee_before_the_knee_is_where_it_hurts() -> None:
    """The pain of "lateral left knee pain" is lateral, and that of the left knee."""
    said = read("Lateral left knee pain.")
    assert said.history["pain_lateral"] is True
    assert said.context.complaint == (LEFT,)
    assert said.is_complete


# ------------------------------------------------------------------ groin, thigh and hip


@pytest.mark.parametrize(
    "text",
    [
        "Pain in the left groin.",
        "Pain in the left thigh and knee.",
        "Pain in the left groin and the front of the thigh.",
    ],
)
def test_pain_above_the_knee_is_told(text: str) -> None:
    """Groin and thigh are where a hip is felt: the question of the history is answered, on its side."""
    said = read(text)
    assert said.history["groin_pain"] is True
    assert said.context.complaint == (LEFT,)
    assert said.is_complete


def test_no_pain_in_the_groin_is_not_taken_for_pain() -> None:
    """A pain that is denied is no pain of the groin."""
    assert read("No pain in the right groin.").history.get("groin_pain") is not True


def test_a_thigh_behind_a_comma_is_not_where_it_hurts() -> None:
    """What follows the pain of a knee behind a comma is another statement."""
    said = read("Pain in the left knee, thigh thinner.")
    assert "groin_pain" not in said.history
    assert said.open_spans


def test_a_labelled_hip_is_of_its_side_though_both_knees_were_named_before() -> None:
    """The side before "hip:" holds for its sentence and no longer."""
    text = "Both knees no effusion. Left hip: internal rotation limited and painful, rolls out on flexion."
    hip = dict.fromkeys(("hip_rotation_reduced", "hip_rotation_pain", "obligate_external_rotation"), ABNORMAL)
    assert found(text, LEFT) == {"effusion": NORMAL, **hip}
    assert found(text, RIGHT) == {"effusion": NORMAL}
    assert read(f"{text} Lachman 2+.").open_spans


def test_a_free_hip_is_normal_and_one_free_of_something_is_not_taken() -> None:
    """Behind what moves "free" says how; with more behind it, it denies that."""
    assert found("Right knee: no effusion. Hips free.", LEFT) == {"hip_rotation_reduced": NORMAL}
    assert found("Left knee no effusion, hip free.", LEFT)["hip_rotation_reduced"] == NORMAL
    assert read("Left knee: hip free of symptoms.").open_spans


def test_a_foot_that_turns_out_is_asked_about() -> None:
    """Only degrees can be recorded of it; it is named and never dropped."""
    (span,) = read("Right knee no effusion. Left foot turned out.").open_spans
    assert "degrees" in span.why


# ------------------------------------------------------------------ walking


@pytest.mark.parametrize("limp", ["Walks with a limp.", "Limping.", "Antalgic gait."])
def test_a_limp_is_of_the_only_knee_complained_of(limp: str) -> None:
    """Gait is of the person: where one knee is complained of it is that of the limp, else it is asked."""
    one = f"Pain in the right knee for a month. {limp}"
    assert found(one, RIGHT) == {"antalgic_gait": ABNORMAL}
    assert read(one).is_complete
    for text in (limp, f"Pain in both knees for a month. {limp} Right knee no effusion."):
        assert found(text, LEFT).get("antalgic_gait") == found(text, RIGHT).get("antalgic_gait")


@pytest.mark.parametrize(
    "text", ["Able to take weight.", "Takes full weight on both legs.", "Hops on either leg."]
)
def test_who_takes_weight_can_stand_on_it(text: str) -> None:
    """That the leg carries is a finding of both, where nobody says of which."""
    assert set(found(text, LEFT).values()) == {NORMAL}
    assert found(text, LEFT) == found(text, RIGHT)
    assert read(text).is_complete


# ------------------------------------------------------------------ what was before, and how it began


def test_a_past_without_anything_is_answered() -> None:
    """Nothing in the past is neither an injury nor an operation of the knee."""
    assert dict(read("Past history clear, no previous surgery.").history) == {
        "previous_injury": False,
        "previous_surgery": False,
    }


def test_what_came_on_while_running_without_a_twist_has_no_injury() -> None:
    """A pain that began in a run, with a twist denied, came without an injury."""
    said = read("Came on while running, no twisting.")
    assert said.context.mechanism is Mechanism.INSIDIOUS
    assert said.is_complete


def test_a_healed_wound_is_no_item_of_a_denial() -> None:
    """Behind "no fever" nobody asks whether a wound that healed was denied; none is open."""
    understood = read("Left knee: no fever, wound healed well.")
    assert understood.is_complete
    assert understood.history["fever"] is False
    assert found("Left knee: no fever, wound healed well.", LEFT) == {"open_wound": NORMAL, "scar": ABNORMAL}


# ------------------------------------------------------------------ single words of the trade


@pytest.mark.parametrize(
    ("text", "state"), [("Holds the knee at 20 degrees", ABNORMAL), ("Holds it at 45", ABNORMAL)]
)
def test_a_knee_held_at_a_bend_is_held_flexed(text: str, state: object) -> None:
    """How far it is held bent says that it is."""
    assert found(f"Right knee: {text}.", RIGHT) == {"held_flexed": state}


def test_silent_menisci_are_negative_tests() -> None:
    """Where the menisci are silent no test of them hurts; a tender one is not recorded as a test."""
    assert found("Left knee: menisci quiet.", LEFT) == {"mcmurray": NORMAL}
    assert "mcmurray" not in found("Left knee: medial meniscus tender.", LEFT)


@pytest.mark.parametrize(
    "opens", ["Opens in mid flexion, laterally grade 2 at 30 degrees", "Opens at 30, laterally 2+ at 30"]
)
def test_an_opening_told_again_with_how_much_is_told_once(opens: str) -> None:
    """Where and how far is told behind the bend: one finding, and another at full extension."""
    text = f"Left knee: {opens}, stable in full extension."
    assert found(text, LEFT) == {"varus_stress_30": "2+", "varus_stress_0": NORMAL}
    assert read(text).is_complete


@pytest.mark.parametrize(
    "text", ["foot drop, weakness unchanged for years", "foot drop, weakness is old and unchanged"]
)
def test_an_old_weakness_is_told_beside_the_foot_that_drops(text: str) -> None:
    """That it is old is an answer; the foot is weak all the same."""
    understood = read(f"Left {text}.")
    assert understood.history["old_nerve_loss"] is True
    assert found(f"Left {text}.", LEFT)["foot_drop"] == "absent"
    assert understood.is_complete
