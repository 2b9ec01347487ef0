"""What cannot wait: explicit published rules, decided before and independently of any probability."""

from fabella.flags.alarms import Alarm, Verdict, cannot_wait
from fabella.flags.hip_count import HipCount, septic_hip_count
from fabella.flags.joints import WithoutImaging, oa_without_imaging
from fabella.flags.rules import Criterion, Rule, Rules, Urgency, Withholding, load_rules
from fabella.flags.veins import Points, VeinFacts, points_1997, points_2003

__all__ = [
    "Alarm",
    "Criterion",
    "HipCount",
    "Points",
    "Rule",
    "Rules",
    "Urgency",
    "VeinFacts",
    "Verdict",
    "Withholding",
    "WithoutImaging",
    "cannot_wait",
    "load_rules",
    "oa_without_imaging",
    "points_1997",
    "points_2003",
    "septic_hip_count",
]
