"""Joints that are inflamed: more than one, for longer than two weeks, or stiff in the morning."""

import pytest

from tests.flags.build import MET, exam, verdict


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
