"""Grading: every finding set against the other knee, the norm for age and sex, and the error of measuring."""

from fabella.grade.bands import ROUNDING_RULE, band_of
from fabella.grade.grading import grade, levels_of
from fabella.grade.norms import choose_norm
from fabella.grade.result import BandUsed, ErrorUsed, Graded, NormUsed, Verdict, Why
from fabella.grade.yardsticks import norms_for

__all__ = [
    "ROUNDING_RULE",
    "BandUsed",
    "ErrorUsed",
    "Graded",
    "NormUsed",
    "Verdict",
    "Why",
    "band_of",
    "choose_norm",
    "grade",
    "levels_of",
    "norms_for",
]
