"""Osteoarthritis without an image."""

import pytest

from fabella.flags import oa_without_imaging
from fabella.flags.logic import Truth
from fabella.record import Answer, Examination, Mechanism
from tests.flags.build import LEFT, PROTOCOL, RIGHT, exam

# Worked examples: NICE NG226 (2022).


def worn(age: float | None = 45, **said: Answer) -> Examination:
    """A knee that hurts with activity."""
    return exam(age=age, said={"activity_pain": True, "morning_stiffness_min": 30.0, **said})


@pytest.mark.parametrize(
    ("examination", "expected"),
    [
        (worn(), True),
        (worn(morning_stiffness_min=31.0), False),
        (worn(age=44), False),
        (worn(age=44.9), False),
        (worn(activity_pain=False), False),
        (worn(morning_stiffness_min=0.0), True),
        (worn(age=None), None),
        (exam(age=60, said={"activity_pain": True}), None),
        (worn(night_pain=True), False),
    ],
)
def test_the_clinical_diagnosis(examination: Examination, expected: Truth) -> None:
    """45, activity pain and 30 minutes are enough; 31 minutes or 44 years are not; unasked is open."""
    assert oa_without_imaging(examination, RIGHT, protocol=PROTOCOL) is expected


@pytest.mark.parametrize(
    "atypical",
    [
        exam(
            age=60,
            said={"activity_pain": True, "morning_stiffness_min": 5.0},
            days=3,
            mechanism=Mechanism.TWIST,
        ),
        exam(
            {"warmth": "hot", "effusion": "large"},
            age=60,
            said={"activity_pain": True, "morning_stiffness_min": 5.0},
        ),
    ],
    ids=["recent injury", "hot swollen joint"],
)
def test_atypical_features_ask_for_an_image(atypical: Examination) -> None:
    """A recent injury, or a hot swollen joint, takes the diagnosis away."""
    assert oa_without_imaging(atypical, RIGHT, protocol=PROTOCOL) is False


def test_the_other_knee_is_not_diagnosed() -> None:
    """The story of the right knee leaves the left one open."""
    assert oa_without_imaging(worn(), LEFT, protocol=PROTOCOL) is None
