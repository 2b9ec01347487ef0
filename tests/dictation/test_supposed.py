"""What is taught, supposed, asked or told of somebody else is never a finding of this knee."""

import pytest

from tests.dictation.spoken import ABNORMAL, LEFT, NORMAL, RIGHT, found, read

SUPPOSED = [
    "In a cruciate tear you would feel a soft end point.",
    "If this were positive you'd see a clunk.",
    "A positive Lachman feels like there is no end point.",
    "A positive test looks like this.",
    "With a torn meniscus you get a click and joint line tenderness.",
    "In osteoarthritis there is crepitus and fixed flexion.",
    "You would expect an effusion and a positive patellar tap in a fracture.",
    "What would a positive pivot shift feel like? A clunk.",
    "What would make you think of a locked knee? A block to extension.",
    "Imagine the drawer was positive.",
    "Normal flexion is about 135 degrees.",
    "Most people have 5 degrees of recurvatum.",
    "Patients with a PCL injury have a posterior sag.",
    "Often the quadriceps are wasted.",
    "Nine times out of ten the medial joint line is tender.",
    "Textbooks say the end point is soft.",
    "Don't mistake a posterior sag for a positive Lachman.",
    "After surgery we want 120 of flexion.",
    "It should bend to 140.",
    "Say there is a large effusion.",
    "I wonder whether there's a soft end point.",
    "Once the effusion settles he can bend to 120.",
    "Unless there is a lag we discharge.",
    "Should the McMurray be positive, get a scan.",
    "Come back if it becomes hot or swollen.",
    "The exercise is to bend to 90.",
    "Work on your extension, I want 0 to 120.",
    "I'd like you to get to 120 of flexion.",
    "Crutches for two weeks, brace 0 to 60.",
    "You can fake a negative Lachman if the hamstrings are tight.",
    "This is the classic position for a Lachman, 30 degrees of flexion.",
    "A negative McMurray doesn't exclude a tear.",
    "Remember McMurray's positive only in half of tears.",
    "Compare that with a normal end point.",
    "Has to bend 120 to cycle.",
    "Target flexion 120.",
    "Physio goals: full extension, 120 flexion.",
    "Plan: range to 90 in brace, full weight bearing.",
    "Differential: effusion, synovitis.",
    "Rule out septic arthritis: hot, swollen.",
    "Effusion, if present, is tiny.",
    "For a Lachman you bend the knee to 20 or 30 degrees.",
]
OF_OTHERS = [
    "The last patient had a huge effusion.",
    "The man we saw earlier had a positive Lachman.",
    "The GP found a positive McMurray medially.",
    "The referral says Lachman positive.",
    "The students thought the Lachman was positive.",
    "Yesterday the effusion was large.",
    "Last week he had 90 degrees of flexion.",
    "He remembers the left knee being swollen.",
    "Before the injection the effusion was large.",
    "In March the Lachman was 2+.",
    "At surgery the MCL was lax.",
    "Same as Mr Smith's, lax.",
    "My Lachman is 1+, and I never tore anything.",
    "According to the letter, McMurray positive.",
]
LOOKED_FOR = [
    "I'm looking for an effusion.",
    "I'm checking for a lag.",
    "Look for an effusion.",
    "I'm not going to stress anything.",
]


@pytest.mark.parametrize("said", [*SUPPOSED, *OF_OTHERS, *LOOKED_FOR])
def test_what_was_not_found_here_today_is_asked_about(said: str) -> None:
    """It enters nothing of the knee that is examined, nor of the other, and is shown."""
    understood = read(f"Right knee. {said}")
    assert (understood.findings, dict(understood.history)) == ((), {})
    assert not understood.is_complete


@pytest.mark.parametrize("said", [*SUPPOSED, *OF_OTHERS, *LOOKED_FOR])
def test_what_is_found_around_it_is_found(said: str) -> None:
    """The lesson begins and ends with its sentence."""
    text = f"Right knee. Sweep test negative. {said} On the right the pulses are normal."
    assert found(text, RIGHT) == {"effusion_sweep": NORMAL, "distal_pulses": NORMAL}


@pytest.mark.parametrize(
    ("text", "right"),
    [
        ("Right knee. A small effusion.", {"effusion": "small"}),
        ("Right knee. A positive Lachman.", {"lachman": ABNORMAL}),
        ("Right knee. I would say a grade 2 Lachman.", {"lachman": "2+"}),
        ("Right knee. A firm end point is felt.", {"lachman_end_point": "firm"}),
        ("Right knee. A small effusion is present.", {"effusion": "small"}),
        ("Right knee. I hold it at 30 degrees. Lachman negative.", {"lachman": NORMAL}),
        ("Right knee. Before we start. Effusion small.", {"effusion": "small"}),
        ("Right knee. For a 70 year old, flexion 130.", {"passive_flexion": 130.0}),
        ("Right knee. Let me bend it to 120.", {"passive_flexion": 120.0}),
        ("Right knee. As you can see, a large effusion.", {"effusion": "large"}),
        (
            "Right knee. Normal gait.",
            {"antalgic_gait": NORMAL},
        ),
        (
            "Right knee. Normally you'd see a dimple, but here there is a large effusion.",
            {"effusion": "large"},
        ),
    ],
)
def test_words_that_resemble_a_lesson_are_findings(text: str, right: dict[str, object]) -> None:
    """A result with its article, the examiner's own judgement, and what leads back to this knee."""
    assert found(text, RIGHT) == right


def test_a_knee_named_in_a_lesson_may_not_be_the_next() -> None:
    """Which knee is told of behind it is asked, unless it is the one that was told of before."""
    text = "Right knee. No effusion. If it were lax you'd see more than on the left. Lachman negative."
    assert found(text, RIGHT) == {"effusion": NORMAL}
    assert not found(text, LEFT)
    same = "Right knee. No effusion. If it were lax you'd see it on the right. Lachman negative."
    assert found(same, RIGHT) == {"effusion": NORMAL, "lachman": NORMAL}


def test_what_is_left_out_is_not_examined() -> None:
    """A test that nobody is going to do is not negative."""
    text = "Right knee. I'm not going to test the Lachman. The pivot I won't do."
    assert found(text, RIGHT) == {"lachman": "not_examined", "pivot_shift": "not_examined"}


def test_the_answer_to_what_was_looked_for_is_found() -> None:
    """A sentence of its own tells it."""
    assert found("Right knee. I'm checking for a lag. No lag.", RIGHT) == {"extensor_lag": NORMAL}


def test_what_the_other_knee_would_be_is_not_what_it_is() -> None:
    """Nor does it become the knee that is told of."""
    text = "Right knee. The other knee would be the same. Effusion small."
    assert found(text, RIGHT) == {"effusion": "small"}
    assert not found(text, LEFT)


def test_speech_without_marks_leads_back_to_this_knee() -> None:
    """A lesson ends where the patient's knee is named as such."""
    text = "in a cruciate tear you would feel a soft end point on this gentleman's right knee lachman 0"
    assert found(text, RIGHT) == {"lachman": "0"}


@pytest.mark.parametrize("told", ["It often locks.", "No locking, he says."])
def test_what_the_patient_tells_is_history(told: str) -> None:
    """What is said: "Often" and "he says" are words of the patient as well."""
    assert set(dict(read(f"Right knee. {told}").history)) == {"locking"}
