"""What a "but" takes back, and who the patient is: nothing is normal that was only half understood."""

import pytest

from fabella.dictation.contradicted import BUT_WHAT
from fabella.record import Setting, Sex, State
from tests.dictation.spoken import LEFT, NORMAL, RIGHT, found, read


@pytest.mark.parametrize(
    "text",
    [
        "Left knee. Foot pulses present but harder to find than right.",
        "Left knee. Foot pulses present but weaker than right.",
        "Left knee. Pulses present, though faint.",
        "Left knee. Anterior drawer negative but hard to judge.",
        "Left knee. Lachman, pivot shift and anterior drawer negative but hard to judge.",
        "Left knee. Sensation intact but reduced over the saphenous nerve.",
        "Left knee normal but wobbly.",
        "Left foot warm but paler than right.",
        "Left knee. Dorsalis pedis present, posterior tibial absent.",
    ],
)
def test_nothing_is_normal_with_a_but_behind_it_that_was_not_understood(text: str) -> None:
    """The foot without blood is most easily overlooked by what stands behind a "but"."""
    assert not found(text, LEFT)
    assert not read(text).is_complete


@pytest.mark.parametrize(
    ("text", "right"),
    [
        ("Right knee. No effusion but tender over the medial joint line.",
         {"effusion": NORMAL, "joint_line_tenderness_medial": State.ABNORMAL}),
        ("Right Lachman negative but the left is floppety.", {"lachman": NORMAL}),
        ("Right knee. Lachman negative. But he is worried about cricket.", {"lachman": NORMAL}),
        ("Right knee: medial joint line not tender but lateral is.",
         {"joint_line_tenderness_medial": NORMAL}),
    ],
)  # fmt: skip
def test_a_but_that_tells_of_something_else_takes_nothing_back(text: str, right: dict[str, object]) -> None:
    """Another sign, another place, the other knee, or a sentence of its own."""
    assert found(text, RIGHT) == right


def test_what_was_asked_can_be_entered_as_it_was_said() -> None:
    """The question says why, and offers the finding."""
    (asked, *_) = read("Left knee. Anterior drawer negative but hard to judge.").open_spans
    assert asked.why == BUT_WHAT
    assert [each.sign for choice in asked.choices for each in choice.findings] == ["anterior_drawer"]


@pytest.mark.parametrize(
    ("text", "age_years", "sex"),
    [
        ("Man of 54. Right knee swollen.", 54.0, Sex.MALE),
        ("Girl of 13 with pain in the left knee.", 13.0, Sex.FEMALE),
        ("Runner of 24. Right knee swollen.", 24.0, None),
        ("Woman of 67 fell today onto the left knee.", 67.0, Sex.FEMALE),
        ("Footballer, 19, twisted his left knee.", 19.0, None),
        ("Boy aged 3 months. Left knee swollen.", 0.25, Sex.MALE),
        ("Boy of 18 months. Left knee swollen.", 1.5, Sex.MALE),
        ("Man of 90 kg. Right knee swollen.", None, Sex.MALE),
        ("Man of 6 foot 2. Right knee swollen.", None, Sex.MALE),
        ("Flexion of 54. Right knee.", None, None),
    ],
)
def test_an_age_stands_behind_who_it_is(text: str, age_years: float | None, sex: Sex | None) -> None:
    """A weight is none, and months are no years."""
    patient = read(text).patient
    assert (patient.age_years, patient.sex) == (age_years, sex)


def test_the_age_of_a_relative_is_not_that_of_the_patient() -> None:
    """Nor is it read as anything else."""
    patient = read("His brother, a man of 50, had it too. Right knee swollen.").patient
    assert (patient.age_years, patient.sex) == (None, None)


@pytest.mark.parametrize("said", ["Emergency department.", "Emergency department:", "A&E.", "Casualty."])
def test_where_the_patient_is_seen_may_open_a_text(said: str) -> None:
    """Elsewhere it may tell of another time, or of what somebody else found."""
    assert read(f"{said} Right knee swollen.").context.setting is Setting.EMERGENCY
    assert read("Right knee. Seen in the emergency department last week.").context.setting is None
    assert read("The emergency department found an effusion.").context.setting is None
