"""The count derived for the hip: right there, refused at the knee."""

import pytest

from fabella.errors import InputError
from fabella.flags import HipCount, septic_hip_count
from fabella.flags.logic import Truth
from tests.flags.build import exam, verdicts


def count(
    joint: str = "hip",
    temperature_c: float | None = 37.0,
    cannot_bear_weight: Truth = False,
    esr_mm_h: float | None = 10,
    white_count_per_ul: float | None = 8_000,
) -> HipCount:
    """A well child's hip, changed."""
    return septic_hip_count(
        joint=joint,
        temperature_c=temperature_c,
        cannot_bear_weight=cannot_bear_weight,
        esr_mm_h=esr_mm_h,
        white_count_per_ul=white_count_per_ul,
    )


# Worked example B.10: Kocher 1999 J Bone Joint Surg Am 81:1662, 10.2106/00004623-199912000-00002.


@pytest.mark.parametrize(
    ("hip", "probability"),
    [
        (count(), 0.002),
        (count(temperature_c=38.6), 0.03),
        (count(temperature_c=38.6, cannot_bear_weight=True), 0.40),
        (count(temperature_c=38.6, cannot_bear_weight=True, esr_mm_h=41), 0.931),
        (count(temperature_c=38.6, cannot_bear_weight=True, esr_mm_h=41, white_count_per_ul=12_001), 0.996),
    ],
)
def test_the_printed_probabilities(hip: HipCount, probability: float) -> None:
    """B.10: 0 to 4 criteria give < 0.2, 3, 40, 93.1 and 99.6 per cent."""
    assert hip.probability == probability


def test_the_limits_themselves_do_not_count() -> None:
    """B.10: ESR exactly 40, temperature exactly 38.5 and white count exactly 12 000 count nothing."""
    assert count(temperature_c=38.5, esr_mm_h=40, white_count_per_ul=12_000) == HipCount(0, 0)


def test_an_unknown_criterion_gives_a_range_and_no_probability() -> None:
    """What was not measured is not negative."""
    assert count(esr_mm_h=None, cannot_bear_weight=None) == HipCount(0, 2)
    assert count(esr_mm_h=None).probability is None


def test_the_knee_is_refused() -> None:
    """B.10: the count must refuse the knee."""
    with pytest.raises(InputError, match="'knee' was never validated"):
        count(joint="knee")


def test_no_rule_of_the_knee_counts_to_the_limits_of_the_hip() -> None:
    """A child's swollen knee with 38.2 degrees is an alarm, though no fever for the hip count."""
    feverish = exam({"effusion": "small"}, person={"body_temperature": 38.2}, age=5, days=2)
    assert ("septic_joint_child", feverish.context.complaint[0]) in verdicts(feverish)
