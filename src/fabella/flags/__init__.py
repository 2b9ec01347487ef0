"""What cannot wait: explicit published rules, decided before and independently of any probability."""

from fabella.flags.alarms import Alarm, Verdict, cannot_wait
from fabella.flags.page import URGENCY_WORDS
from fabella.flags.rule import Criterion, Rule, Rules, Urgency, Withholding
from fabella.flags.rules import load_rules
from fabella.flags.worn import OA_SOURCE, oa_without_imaging

__all__ = [
    "OA_SOURCE",
    "URGENCY_WORDS",
    "Alarm",
    "Criterion",
    "Rule",
    "Rules",
    "Urgency",
    "Verdict",
    "Withholding",
    "cannot_wait",
    "load_rules",
    "oa_without_imaging",
]
