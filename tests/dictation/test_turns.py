"""Transcripts with the speakers and the times marked: whose words are read, and what is asked about."""

import time

import pytest

from fabella.dictation.turns import REPLIED, SOMEBODY_ELSE, WHO_EXAMINES
from fabella.dictation.understood import Became, Idle
from tests.dictation.spoken import ABNORMAL, LEFT, NORMAL, RIGHT, found, read

LABELLED = """[00:02] Consultant: Right knee. Small effusion.
[00:09] Patient: It gave way on the left, and it is very swollen.
[00:14] Consultant: No warmth.
"""


def _why(text: str) -> list[str]:
    understood = read(text)
    return [span.why for span in understood.open_spans]


def test_only_what_the_examiner_says_is_read() -> None:
    """The side goes on from one turn of the examiner to the next; the patient's turn is one question."""
    assert found(LABELLED, RIGHT) == {"effusion": "small", "warmth": NORMAL}
    assert not found(LABELLED, LEFT)
    assert not read(LABELLED).history
    assert _why(LABELLED) == [SOMEBODY_ELSE]


@pytest.mark.parametrize("stamp", ["[00:02]", "(0:02)", "00:02", "[00:00:02.500]", "<00:02>", "1:00:02"])
def test_a_time_stamp_is_no_reading(stamp: str) -> None:
    """In front of a line it says when something was said, and nothing of a knee."""
    text = f"{stamp} Right knee. Posterior drawer negative.\n{stamp} Flexion 120."
    assert found(text, RIGHT) == {"posterior_drawer": NORMAL, "passive_flexion": 120.0}
    assert read(text).is_complete


def test_subtitles_run_on_over_their_numbers() -> None:
    """A sentence goes on over the number and the times of the next subtitle."""
    text = (
        "1\n00:00:01,000 --> 00:00:04,000\nRight knee has a\n\n"
        "2\n00:00:04,000 --> 00:00:06,000\nsmall effusion.\n\n"
        "3\n00:00:06,000 --> 00:00:09,000\nFlexion 120.\n"
    )
    assert found(text, RIGHT) == {"effusion": "small", "passive_flexion": 120.0}
    assert read(text).is_complete


def test_an_answer_to_a_question_of_the_examiner_is_asked_about() -> None:
    """Only the examiner can say what was found, however short the answer is."""
    text = "Dr: Right knee. Is the medial joint line sore?\nPatient: Ooh yes.\nDr: Effusion small."
    assert found(text, RIGHT) == {"effusion": "small"}
    assert REPLIED in _why(text)


def test_courtesy_of_others_is_put_aside() -> None:
    """What tells nothing of a knee and nothing of the patient is shown as such, and not asked about."""
    text = "Doctor: Right knee. Small effusion.\nPatient: Okay.\nDoctor: No warmth."
    assert read(text).is_complete
    aside = [span.became for span in read(text).spans if span.why == Idle.OTHERS]
    assert aside == [Became.FRAME]


def test_speakers_with_numbers_only() -> None:
    """Who says by far the most examines; where nobody does, nothing of either is read."""
    most = (
        "Speaker 1 (00:04): Right knee. Small effusion, no warmth, medial joint line tender.\n"
        "Speaker 2 (00:09): It is swollen.\n"
        "Speaker 1 (00:14): Lachman negative."
    )
    assert found(most, RIGHT)["lachman"] == NORMAL
    assert found(most, RIGHT)["effusion"] == "small"
    alike = "Speaker 1 (00:04): Right knee swollen.\nSpeaker 2 (00:09): Left knee swollen."
    assert not read(alike).findings
    assert set(_why(alike)) == {WHO_EXAMINES}


@pytest.mark.parametrize(
    "text",
    [
        "Right knee: small effusion.",
        "Patient: 58 year old. Right knee: small effusion.",
        "Surgeon: as above.\nRight knee: small effusion.",
        "Student present: yes.\nRight knee: small effusion.",
    ],
)
def test_a_heading_of_a_note_is_no_speaker(text: str) -> None:
    """A name before a colon marks one only where speakers change, or beside a time stamp."""
    assert found(text, RIGHT) == {"effusion": "small"}


def test_speakers_in_one_line() -> None:
    """Recognised speech may come without line breaks."""
    text = "Doctor: Right knee. Small effusion. Patient: My left is swollen. Doctor: Lachman 2+."
    assert found(text, RIGHT) == {"effusion": "small", "lachman": "2+"}
    assert not found(text, LEFT)


def test_a_text_of_empty_lines_is_looked_through_once() -> None:
    """Twice as many take twice the time, not four times: of 20,000 it would be a minute."""
    began = time.process_time()
    assert found("\n" * 20_000 + "Right knee. Small effusion.", RIGHT) == {"effusion": "small"}
    assert time.process_time() - began < 10


def test_every_character_stays() -> None:
    """Stamps, names and others' turns are shown where they stood."""
    understood = read(LABELLED)
    assert "".join(understood.words(span) for span in understood.spans) == LABELLED


def test_a_title_marks_a_doctor() -> None:
    """A relative's words are not read, a doctor's by name are."""
    text = "Dr Example: Left knee warm.\nMum: It was his right.\nDr Example: Effusion none."
    assert found(text, LEFT) == {"warmth": "warm", "effusion": NORMAL}
    assert ABNORMAL not in found(text, RIGHT).values()
