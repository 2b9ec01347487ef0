"""Geometry of bending and straightening: heel heights, heel to buttock."""

import math

from fabella.measure.checks import positive, within


def extension_difference_deg(*, heel_height_cm: float, knee_to_heel_cm: float) -> float:
    """Return the difference in extension that a prone heel-height difference stands for.

    Parameters
    ----------
    heel_height_cm
        How much higher this heel lies than the other, in cm, within plus or minus the length of the leg;
        positive when this knee extends less.
    knee_to_heel_cm
        Distance from the axis of the knee to the heel in cm, above 0.

    Raises
    ------
    InputError
        When the heel would be higher than the leg is long, or a length is not above zero.

    Notes
    -----
    asin(height / length). The rule of thumb of 1 degree for 1 cm (Sachs 1989 Am J Sports Med 17:760-765, from
    memory) rounds this down; at 42 cm it is 1.36 degrees.
    """
    positive(knee_to_heel_cm=knee_to_heel_cm)
    within(-knee_to_heel_cm, knee_to_heel_cm, heel_height_cm=heel_height_cm)
    return math.degrees(math.asin(heel_height_cm / knee_to_heel_cm))


def heel_height_difference_cm(*, extension_difference_deg: float, knee_to_heel_cm: float) -> float:
    """Return the prone heel-height difference that a difference in extension produces.

    Parameters
    ----------
    extension_difference_deg
        How much less this knee extends than the other, in degrees, -90 to 90.
    knee_to_heel_cm
        Distance from the axis of the knee to the heel in cm, above 0.

    Raises
    ------
    InputError
        When a quantity is outside its range.

    Notes
    -----
    length x sin(angle), the inverse of :func:`extension_difference_deg`.
    """
    positive(knee_to_heel_cm=knee_to_heel_cm)
    within(-90, 90, extension_difference_deg=extension_difference_deg)
    return knee_to_heel_cm * math.sin(math.radians(extension_difference_deg))


def heel_to_hip_cm(*, hip_to_knee_cm: float, knee_to_heel_cm: float, flexion_deg: float) -> float:
    """Return the distance from the centre of the hip to the heel with the hip straight and the knee bent.

    Parameters
    ----------
    hip_to_knee_cm, knee_to_heel_cm
        Lengths of the segments in cm, above 0.
    flexion_deg
        Knee flexion in degrees, 0 (straight) to 180.

    Raises
    ------
    InputError
        When a quantity is outside its range.

    Notes
    -----
    Law of cosines, sqrt(a^2 + b^2 + 2ab cos f). A sanity check of a heel-to-buttock distance against a
    flexion, never a norm: soft tissue lies between, and none is published. Compare sides, not people.
    """
    positive(hip_to_knee_cm=hip_to_knee_cm, knee_to_heel_cm=knee_to_heel_cm)
    within(0, 180, flexion_deg=flexion_deg)
    product = 2 * hip_to_knee_cm * knee_to_heel_cm * math.cos(math.radians(flexion_deg))
    return math.sqrt(max(0.0, hip_to_knee_cm**2 + knee_to_heel_cm**2 + product))
