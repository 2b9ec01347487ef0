"""Measuring instead of eyeballing: floats in, floats out, quantities named with their unit.

Angles from landmarks on a photograph or a film, each with its standard error; arithmetic of a pair of legs
on film and walking, for whoever has them measured.

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
from fabella.measure.catalogue import VIEWS, side_of, view_of
from fabella.measure.gait import (
    cadence_steps_per_min,
    gait_speed_m_per_s,
    metres_per_second,
    stance_share_from_speed_pct,
    stance_share_from_stride_pct,
    stride_length_m,
)
from fabella.measure.picture import PictureMeasurement, PictureReading, measure_on_picture
from fabella.measure.points import Arm, Frame, Laid, Point
from fabella.measure.quantities import Passing, Quantity, Sense, Turn
from fabella.measure.sides import (
    AsymmetryIndex,
    asymmetry,
    limb_symmetry_pct,
    shortfall,
)
from fabella.measure.views import Landmark, LimbSide, Medium, SeenFrom, View

__all__ = [
    "VIEWS",
    "Arm",
    "AsymmetryIndex",
    "CoronalType",
    "Frame",
    "Laid",
    "Landmark",
    "LimbSide",
    "Medium",
    "Passing",
    "PictureMeasurement",
    "PictureReading",
    "Point",
    "Quantity",
    "SeenFrom",
    "Sense",
    "Turn",
    "View",
    "arithmetic_hka_deg",
    "asymmetry",
    "cadence_steps_per_min",
    "coronal_type",
    "gait_speed_m_per_s",
    "joint_line_convergence_deg",
    "joint_line_obliquity_deg",
    "lateral_distal_femur_anatomical_deg",
    "limb_symmetry_pct",
    "measure_on_picture",
    "mechanical_hka_deg",
    "metres_per_second",
    "shortfall",
    "side_of",
    "stance_share_from_speed_pct",
    "stance_share_from_stride_pct",
    "stride_length_m",
    "tibiofemoral_anatomical_deg",
    "valgus_positive_deg",
    "view_of",
]
