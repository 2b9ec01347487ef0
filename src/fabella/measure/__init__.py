"""Arithmetic of a pair of legs: floats in, floats out, every quantity named with its unit.

Whether a result is normal is not decided here but in :mod:`fabella.grade`.
"""

from fabella.measure.alignment import (
    CoronalType,
    arithmetic_hka_deg,
    coronal_type,
    joint_line_convergence_deg,
    joint_line_obliquity_deg,
    lateral_distal_femur_anatomical_deg,
    mechanical_hka_deg,
    tibiofemoral_anatomical_deg,
    valgus_positive_deg,
)
from fabella.measure.gait import (
    cadence_steps_per_min,
    gait_speed_m_per_s,
    metres_per_second,
    stance_share_from_speed_pct,
    stance_share_from_stride_pct,
    stride_length_m,
)
from fabella.measure.motion import (
    extension_difference_deg,
    heel_height_difference_cm,
    heel_to_hip_cm,
)
from fabella.measure.sides import (
    AsymmetryIndex,
    asymmetry,
    difference_sem,
    limb_symmetry_pct,
    shortfall,
)

__all__ = [
    "AsymmetryIndex",
    "CoronalType",
    "arithmetic_hka_deg",
    "asymmetry",
    "cadence_steps_per_min",
    "coronal_type",
    "difference_sem",
    "extension_difference_deg",
    "gait_speed_m_per_s",
    "heel_height_difference_cm",
    "heel_to_hip_cm",
    "joint_line_convergence_deg",
    "joint_line_obliquity_deg",
    "lateral_distal_femur_anatomical_deg",
    "limb_symmetry_pct",
    "mechanical_hka_deg",
    "metres_per_second",
    "shortfall",
    "stance_share_from_speed_pct",
    "stance_share_from_stride_pct",
    "stride_length_m",
    "tibiofemoral_anatomical_deg",
    "valgus_positive_deg",
]
