"""What an image, another visit or another person showed is never taken for a finding of today."""

import pytest

from tests.dictation.spoken import ABNORMAL, LEFT, NORMAL, RIGHT, found, read


@pytest.mark.parametrize(
    "told",
    [
        "X-ray right knee: no effusion, medial joint space narrowing, varus.",
        "MRI right knee reported a large effusion, ACL torn; MCL intact; popliteal cyst.",
        "Ultrasound of the right knee shows a popliteal cyst 4 cm.",
        "Right knee radiographs unremarkable, patella alta.",
        "Right knee at last visit: effusion, Lachman 2+, flexion 90.",
        "Right knee pre-op: fixed flexion 20, varus 10 degrees.",
    ],
)
def test_nothing_of_an_image_or_another_visit_is_found_today(told: str) -> None:
    """Up to the end of its sentence everything is shown as open, and what hands find after it is found."""
    assert read(told).findings == ()
    assert not read(told).is_complete
    assert found(f"{told} Examination of the right knee: no effusion, Lachman 1+.", RIGHT) == {
        "effusion": NORMAL,
        "lachman": "1+",
    }


@pytest.mark.parametrize("back", ["but clinically", "but on examination", "today"])
def test_words_that_lead_back_end_it(back: str) -> None:
    """What is found clinically behind an image is found."""
    assert found(f"MRI normal, {back} left knee effusion.", LEFT) == {"effusion": ABNORMAL}


@pytest.mark.parametrize("planned", ["requested", "pending", "booked"])
def test_an_image_that_is_still_to_come_shows_nothing(planned: str) -> None:
    """The findings around it stand."""
    text = f"Left knee effusion, MRI {planned}, Lachman 2+."
    assert found(text, LEFT) == {"effusion": ABNORMAL, "lachman": "2+"}


@pytest.mark.parametrize(
    "told",
    [
        "Mother has rheumatoid arthritis.", "Family history of diabetes.", "Her brother had a TKR.",
        "For TKR.", "Listed for TKR.", "He declined a knee replacement.", "Injection offered.",
    ],
)  # fmt: skip
def test_what_others_have_and_what_is_planned_is_no_history(told: str) -> None:
    """An illness of the family and an operation to come are not the patient's past."""
    assert dict(read(told).history) == {}
    assert not read(told).is_complete


def test_what_was_there_last_time_is_not_there_today() -> None:
    """A sign with its time behind it is asked about."""
    assert found("Right knee: effusion last time, none today.", RIGHT) in ({}, {"effusion": NORMAL})


def test_a_pop_on_a_test_was_not_heard_at_the_injury() -> None:
    """What pops behind a test is shown, and is no answer of the history."""
    assert dict(read("McMurray pops laterally on the right.").history) == {}
    assert read("Felt a pop.").history["pop_heard"] is True


@pytest.mark.parametrize(
    "who", ["Mother says", "Mr Invented reports", "Parents noticed", "Pre-op assessment:", "Seen in ED,"]
)
def test_who_tells_and_where_are_no_other_person_and_no_other_time(who: str) -> None:
    """A witness, a title and the place of the examination leave the findings behind them alone."""
    assert found(f"{who} right knee swollen, effusion small.", RIGHT).get("effusion") == "small"
