"""What is said to the patient while examining is put aside, and nothing that was found goes with it."""

import tomllib
from collections.abc import Iterator

import pytest

from fabella.anatomy import Side
from fabella.dictation import Became
from fabella.dictation.understood import Idle
from tests.dictation.corpus import FOLDER
from tests.dictation.spoken import ABNORMAL, LEFT, NORMAL, RIGHT, found, read

NOTES = [
    row["text"]
    for path in sorted(FOLDER.glob("*/*.toml"))
    if path.stem not in {"thirteenth", "fourteenth", "fifteenth", "sixteenth", "seventeenth", "eighteenth"}
    for row in tomllib.loads(path.read_text("utf-8")).get("dictation", ())
]
SAID = [
    "Could you stand up for me and face me?",
    "Turn round please.",
    "Just lie back and relax.",
    "Pop yourself up on the couch.",
    "Walk to the door and back for me.",
    "I'm just going to feel your knee.",
    "Tell me if it hurts.",
    "Lovely, thank you.",
    "What we're looking for is how the end point feels.",
    "First I compare the temperature with the back of my hand.",
    "Is it all right if the students watch? Yes, of course.",
    "What do you notice?",
    "No names please, we're recording.",
    "I milk the fluid up and stroke down the other side.",
]


def put_aside(text: str) -> Iterator[str]:
    """The words of a text that were put aside as said to somebody else."""
    understood = read(text)
    return (understood.words(span) for span in understood.spans if span.why == Idle.ADDRESSED)


@pytest.mark.parametrize("said", SAID)
def test_what_is_said_to_the_patient_tells_nothing(said: str) -> None:
    """No finding, no answer and no question comes of it."""
    understood = read(said)
    assert (understood.findings, dict(understood.history)) == ((), {})
    assert understood.is_complete
    assert list(put_aside(said))


@pytest.mark.parametrize("text", NOTES)
def test_a_dictated_note_says_nothing_to_the_patient(text: str) -> None:
    """No word of a note that was dictated afterwards is put aside."""
    assert not list(put_aside(text))


@pytest.mark.parametrize("said", SAID)
@pytest.mark.parametrize("text", NOTES[::15])
def test_a_request_before_a_note_changes_nothing_of_it(said: str, text: str) -> None:
    """The findings and answers are those of the note."""
    alone, both = read(text), read(f"{said} {text}")
    assert (both.findings, both.history) == (alone.findings, alone.history)


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("Lift your left leg up for me. No lag.", {"extensor_lag": NORMAL}),
        ("Bend your left knee as far as you can. 130.", {"passive_flexion": 130.0}),
        ("Now bend the left knee for me, 130, thank you.", {"passive_flexion": 130.0}),
    ],
)
def test_the_side_and_the_movement_of_a_request_are_those_of_what_follows(
    text: str, left: dict[str, object]
) -> None:
    """Who asks for the left leg tells of the left leg next."""
    assert found(text, LEFT) == left
    assert not found(text, RIGHT)


def test_the_reading_of_the_other_knee_may_stand_behind_its_side_alone() -> None:
    """Both readings are of the movement that was asked for."""
    text = "Bend your right knee as far as you can. 140. And your left. 130."
    assert found(text, RIGHT) == {"passive_flexion": 140.0}
    assert found(text, LEFT) == {"passive_flexion": 130.0}


def test_what_is_announced_is_what_was_found_next() -> None:
    """No tenderness where the joint line is felt is that of the joint line, whatever else may be tender."""
    text = (
        "I'm going to feel the joint line. No tenderness on the right. On the left she is tender laterally."
    )
    assert found(text, RIGHT) == {"joint_line_tenderness": NORMAL}
    assert found(text, LEFT) == {"joint_line_tenderness_lateral": ABNORMAL}


@pytest.mark.parametrize("answer", ["Yes.", "No.", "A little bit."])
def test_a_question_with_its_answer_is_asked_about(answer: str) -> None:
    """Only the examiner can say what was found; the answer is no "no" to the next sign."""
    text = f"Does that hurt? {answer} Left Lachman negative."
    (span,) = read(text).open_spans
    assert read(text).words(span) == f"Does that hurt? {answer}".rstrip(".")
    assert found(text, LEFT) == {"lachman": NORMAL}


@pytest.mark.parametrize(
    "text",
    [
        "Right knee: bend to 120.",
        "Left effusion: tense.",
        "Right knee, squat full.",
        "Comes out straight on the right.",
        "She won't let me move it.",
        "Left knee: Lachman, sorry, anterior drawer positive.",
        "Left knee good.",
    ],
)
def test_words_of_a_note_are_no_request(text: str) -> None:
    """An imperative without anybody to whom it is said, and a correction, stay what they are."""
    assert not list(put_aside(text))


def test_an_apology_before_the_other_leg_is_asked_for_puts_nothing_right() -> None:
    """What was found stays on its knee, and what comes next is of the leg that is asked for."""
    text = "Right effusion. Sorry, the left leg please. No effusion."
    assert found(text, RIGHT) == {"effusion": ABNORMAL}
    assert found(text, LEFT) == {"effusion": NORMAL}
    assert found("Right effusion. Sorry, the left leg.", LEFT) == {"effusion": ABNORMAL}


def test_a_pop_on_the_couch_is_no_pop() -> None:
    """Nothing was heard."""
    assert not dict(read("Pop up on the couch for me, and pop your legs out straight.").history)


def test_a_request_ends_what_was_told_before_it() -> None:
    """In speech without marks "normal to look at" is not said of the movement that is asked for next."""
    text = (
        "the left knee is normal to look at now I'm just going to bend this knee "
        "he gets from zero to ninety on the right"
    )
    assert found(text, RIGHT) == {"passive_extension": 0.0, "passive_flexion": 90.0}
    assert not found(text, LEFT)


@pytest.mark.parametrize(
    "text",
    [
        "The left knee is normal on inspection.",
        "On inspection the left knee is normal.",
        "Left knee normal to look at.",
    ],
)
def test_a_knee_that_was_only_looked_at_is_not_normal(text: str) -> None:
    """Nothing follows for its ligaments or its movement; it is asked."""
    assert not read(text).findings
    assert not read(text).said_normal
    assert not read(text).is_complete


def test_a_raised_temperature_without_a_number_may_be_that_of_the_knee() -> None:
    """It is no fever before somebody says so."""
    understood = read("Temperature over the left knee is raised.")
    assert not understood.findings
    (span,) = understood.open_spans
    assert [{each.sign for each in choice.findings} for choice in span.choices] == [
        {"body_temperature"},
        {"warmth"},
    ]


def test_which_knee_is_the_bad_one_is_no_second_side() -> None:
    """What follows is of the knee that was named, and it is complained of."""
    text = "And the left, which is the bad one. There is a scar. Quads are wasted."
    assert found(text, LEFT) == {"scar": ABNORMAL, "quadriceps_wasting": ABNORMAL}
    assert read(text).context.complained_of == (Side.LEFT,)


def test_words_that_are_not_known_are_shown_together() -> None:
    """One place to look at for one stretch, not one for each word."""
    understood = read("Left effusion. Getting out of a car.")
    assert [understood.words(span) for span in understood.open_spans] == ["Getting out of a car"]
    assert all(span.became is Became.NOT_UNDERSTOOD for span in understood.open_spans)


@pytest.mark.parametrize(
    ("text", "right"),
    [
        ("Valgus stress, I'm holding the ankle under my arm, it's stable.", {"valgus_stress_30": NORMAL}),
        ("I press over the medial joint line and she is tender.", {"joint_line_tenderness_medial": ABNORMAL}),
        ("I feel no effusion.", {"effusion": NORMAL}),
        ("I test the Lachman, it's 2+.", {"lachman": "2+"}),
        (
            "Lachman negative. Sorry, could you relax your leg for me? Pivot glide.",
            {"lachman": NORMAL, "pivot_shift": "glide"},
        ),
        ("Any scars? No scars.", {"scar": NORMAL}),
        ("And the effusion? Small.", {"effusion": "small"}),
        ("Is there an effusion? Mild varus.", {"varus_alignment": "mild"}),
    ],
)
def test_what_the_examiner_does_is_no_finding_but_what_he_finds_is(
    text: str, right: dict[str, object]
) -> None:
    """His hands are put aside; a question that he answers himself names only what he tells."""
    assert found(f"Right knee. {text}", RIGHT) == right


def test_the_other_side_of_a_stroke_is_no_other_knee() -> None:
    """What is said: "Down the other side" is of the same knee; "and the other side" is not."""
    text = "Right knee. I stroke down the other side. A small effusion. And the other side. No effusion."
    assert found(text, RIGHT) == {"effusion": "small"}
    assert found(text, LEFT) == {"effusion": NORMAL}


@pytest.mark.parametrize(
    ("text", "right", "left"),
    [
        ("Left effusion. And the other one, no effusion.", {"effusion": NORMAL}, {"effusion": ABNORMAL}),
        ("Left effusion. The other one is dry.", {"effusion": NORMAL}, {"effusion": ABNORMAL}),
        ("Temperature is the same on both sides.", {"warmth": NORMAL}, {"warmth": NORMAL}),
        ("Nothing in the popliteal fossa on the left.", {}, {"posterior_swelling": NORMAL}),
        ("On the left there is a small fluid wave.", {}, {"effusion_sweep": "trace"}),
    ],
)  # fmt: skip
def test_what_is_told_in_plain_speech_is_read(
    text: str, right: dict[str, object], left: dict[str, object]
) -> None:
    """The words of somebody who speaks while examining, and not of a note."""
    assert (found(text, RIGHT), found(text, LEFT)) == (right, left)
    assert read(text).is_complete
