"""Osteoarthritis without an image, and the stiffness that speaks against it."""

import pytest

from fabella.flags import oa_without_imaging
from fabella.flags.logic import Truth
from fabella.record import Answer, Examination, Mechanism
from tests.flags.build import LEFT, MET, PROTOCOL, RIGHT, exam, verdict

# Worked example B.11: NICE NG226 (2022).


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
    """B.11: 45, activity pain and 30 minutes are enough; 31 minutes or 44 years are not; unasked is open."""
    assert oa_without_imaging(examination, RIGHT, protocol=PROTOCOL).verdict is expected


def test_atypical_features_ask_for_an_image() -> None:
    """A recent injury, or a hot swollen joint, is named and takes the diagnosis away."""
    injured = exam(
        {"warmth": "hot", "effusion": "large"},
        age=60,
        days=3,
        mechanism=Mechanism.TWIST,
        said={"activity_pain": True, "morning_stiffness_min": 5.0},
    )
    result = oa_without_imaging(injured, RIGHT, protocol=PROTOCOL)
    assert result.atypical == ("recent injury", "hot swollen joint")
    assert result.verdict is False


def test_the_other_knee_is_not_diagnosed() -> None:
    """The story of the right knee leaves the left one open."""
    assert oa_without_imaging(worn(), LEFT, protocol=PROTOCOL).verdict is None


@pytest.mark.parametrize(("minutes", "met"), [(30.0, None), (30.5, MET), (31.0, MET)])
def test_stiffness_of_exactly_30_minutes_is_not_prolonged(minutes: float, met: object) -> None:
    """Regional inflammatory arthritis pathway: more than 30 minutes supports an inflammatory cause."""
    stiff = exam({"effusion": "small"}, said={"morning_stiffness_min": minutes})
    assert verdict(stiff, "prolonged_stiffness") is met


@pytest.mark.parametrize(("days", "met"), [(14, None), (15, MET)])
def test_persistent_means_more_than_two_weeks(days: float, met: object) -> None:
    """NICE QS33 with the regional pathway's two weeks: another joint swollen, for more than 14 days."""
    several = exam({"effusion": "small"}, person={"other_joints_swollen": True}, days=days)
    assert verdict(several, "inflammatory_arthritis") is met


def test_both_knees_swollen_and_warm_are_two_joints() -> None:
    """Warm effusions of both knees count as more than one joint; cool ones, as in wear, do not."""
    warm, cool = {"effusion": "small", "warmth": "warm"}, {"effusion": "small", "warmth": "none"}
    assert verdict(exam(warm, warm, days=60), "inflammatory_arthritis") is MET
    assert verdict(exam(cool, cool, days=60), "inflammatory_arthritis") is None
