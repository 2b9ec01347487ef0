import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.errors import InputError
from fabella.measure import (
    cadence_steps_per_min,
    gait_speed_m_per_s,
    metres_per_second,
    stance_share_from_speed_pct,
    stance_share_from_stride_pct,
    stride_length_m,
)


def test_stance_share_at_a_normal_speed_and_stride() -> None:
    """Both published regressions give 59 % of the cycle at 1.5 m/s and 1.5 m."""
    # Kirtley, Whittle and Jefferson 1985 J Biomed Eng 7:282-288: 58.95 and 59.35, quoted as 59.
    assert stance_share_from_speed_pct(speed_m_per_s=1.5) == pytest.approx(58.95)
    assert stance_share_from_stride_pct(stride_m=1.5) == pytest.approx(59.35)


@pytest.mark.parametrize(("speed", "stride", "cadence"), [(1.26, 1.36, 111), (1.16, 1.23, 113)])
def test_cadence_of_healthy_students(speed: float, stride: float, cadence: float) -> None:
    """Men at 1.26 m/s with 1.36 m strides take 111 steps a minute, women at 1.16 m/s with 1.23 m 113."""
    # Speeds and strides as listed for 28 students on a gait laboratory page; cadence worked independently.
    assert cadence_steps_per_min(speed_m_per_s=speed, stride_m=stride) == pytest.approx(cadence, abs=0.5)


@given(st.floats(0.1, 3), st.floats(0.2, 2.5))
def test_speed_stride_and_cadence_agree(speed: float, stride: float) -> None:
    """Any two of speed, stride and cadence give the third back."""
    cadence = cadence_steps_per_min(speed_m_per_s=speed, stride_m=stride)
    assert gait_speed_m_per_s(cadence_steps_per_min=cadence, stride_m=stride) == pytest.approx(speed)
    assert stride_length_m(speed_m_per_s=speed, cadence_steps_per_min=cadence) == pytest.approx(stride)


def test_metres_a_minute_are_not_metres_a_second() -> None:
    """The important change of 4.1 to 6.9 m/min in osteoarthritis is 0.068 to 0.115 m/s."""
    # Gilbert 2021 Arthritis Care Res 73:559-565.
    assert metres_per_second(metres_per_min=4.1) == pytest.approx(0.068, abs=0.0005)
    assert metres_per_second(metres_per_min=6.9) == pytest.approx(0.115, abs=0.0005)


def test_nobody_walks_backwards() -> None:
    """A speed or stride of zero or less is refused."""
    with pytest.raises(InputError, match="speed_m_per_s"):
        stance_share_from_speed_pct(speed_m_per_s=0)
    with pytest.raises(InputError, match="stride_m"):
        cadence_steps_per_min(speed_m_per_s=1, stride_m=-1)
