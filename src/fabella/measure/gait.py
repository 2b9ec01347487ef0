"""Arithmetic of walking: speed, stride, cadence, and the share of the cycle spent in stance."""

from fabella.measure.checks import positive


def cadence_steps_per_min(*, speed_m_per_s: float, stride_m: float) -> float:
    """Return the steps a minute of a walker: two steps to a stride, 120 x speed / stride.

    Parameters
    ----------
    speed_m_per_s, stride_m
        Walking speed in m/s and stride length in m (from one heel strike of a foot to its next), above 0.

    Raises
    ------
    InputError
        When a quantity is not above zero.
    """
    positive(speed_m_per_s=speed_m_per_s, stride_m=stride_m)
    return 120 * speed_m_per_s / stride_m


def gait_speed_m_per_s(*, cadence_steps_per_min: float, stride_m: float) -> float:
    """Return the walking speed in m/s from cadence (steps/min, above 0) and stride length (m, above 0).

    Raises
    ------
    InputError
        When a quantity is not above zero.
    """
    positive(cadence_steps_per_min=cadence_steps_per_min, stride_m=stride_m)
    return cadence_steps_per_min * stride_m / 120


def stride_length_m(*, speed_m_per_s: float, cadence_steps_per_min: float) -> float:
    """Return the stride length in m from walking speed (m/s, above 0) and cadence (steps/min, above 0).

    Raises
    ------
    InputError
        When a quantity is not above zero.
    """
    positive(speed_m_per_s=speed_m_per_s, cadence_steps_per_min=cadence_steps_per_min)
    return 120 * speed_m_per_s / cadence_steps_per_min


def stance_share_from_speed_pct(*, speed_m_per_s: float) -> float:
    """Return the stance share (% of the cycle) expected of a healthy walker at this speed (m/s, above 0).

    Raises
    ------
    InputError
        When the speed is not above zero.

    Notes
    -----
    -3.5 x speed + 64.2, r 0.71. Source: Kirtley, Whittle and Jefferson 1985 J Biomed Eng 7:282-288.
    """
    positive(speed_m_per_s=speed_m_per_s)
    return 64.2 - 3.5 * speed_m_per_s


def stance_share_from_stride_pct(*, stride_m: float) -> float:
    """Return the stance share (% of the cycle) expected of a healthy walker with this stride (m, above 0).

    Raises
    ------
    InputError
        When the stride is not above zero.

    Notes
    -----
    -6.7 x stride + 69.4, r 0.74. Source: Kirtley, Whittle and Jefferson 1985 J Biomed Eng 7:282-288.
    """
    positive(stride_m=stride_m)
    return 69.4 - 6.7 * stride_m


def metres_per_second(*, metres_per_min: float) -> float:
    """Return a speed in m/s from one in m/min, the unit in which timed walks are often published."""
    return metres_per_min / 60
