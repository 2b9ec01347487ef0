"""That nobody complains, as it is dictated at a fitness or screening examination."""

import pytest

from tests.dictation.spoken import LEFT, RIGHT, read


@pytest.mark.parametrize(
    "text",
    [
        "No complaints.",
        "No complaints, both knees normal.",
        "Denies any knee complaints.",
        "No symptoms in either knee.",
        "Fitness examination of a recruit aged 19, no complaints.",
        "Screening examination.",
        "Healthy volunteer.",
        "He is asymptomatic.",
        "Both knees asymptomatic. No injury.",
    ],
)
def test_nobody_complains(text: str) -> None:
    """It is said in so many words, or by what the examination is for, and nothing stays open."""
    assert read(text).context.without_complaint
    assert read(text).is_complete


@pytest.mark.parametrize(
    "text",
    [
        "Both knees normal.",
        "No complaints of locking in either knee.",
        "No symptoms, locking or giving way.",
        "Left knee asymptomatic, right knee moderate effusion.",
        "Asymptomatic knee: Lachman normal.",
        "Fitness examination. Left knee pain for 3 weeks.",
        "Fitness examination. Left knee painful.",
        "Screening examination. Twisted the left knee.",
    ],
)
def test_less_than_that_does_not_say_so(text: str) -> None:
    """A no to one thing, one knee that is well, or a trouble told besides leave it unknown."""
    assert not read(text).context.without_complaint


@pytest.mark.parametrize(
    ("text", "side"),
    [("No complaints. Twisted left knee.", LEFT), ("Right knee gives way. No complaints.", RIGHT)],
)
def test_no_complaints_beside_a_complaint_is_asked_about(text: str, side: object) -> None:
    """What was told of one knee stands; the denial is shown as open, never dropped."""
    understood = read(text)
    assert understood.context.complaint == (side,)
    assert ["complaints" in understood.words(span) for span in understood.open_spans] == [True]


def test_a_no_to_one_thing_stays_one() -> None:
    """The words that deny everything deny what stands behind them, and that alone."""
    history = read("No complaints of locking or giving way in the left knee.").history
    assert dict(history) == {"locking": False, "giving_way": False}
