"""Following a patient: what has truly changed from visit to visit, and how it compares with recovery."""

from fabella.follow.course import (
    Agreement,
    Course,
    GradeChange,
    GradePoint,
    GradeSeries,
    LesionPoint,
    LesionSeries,
    MeasureChange,
    MeasurePoint,
    MeasureSeries,
    ScoreBar,
    TotalChange,
    TotalPoint,
    TotalSeries,
    Visit,
)
from fabella.follow.following import follow
from fabella.follow.standing import Expectation, Place, Standing
from fabella.follow.verdicts import ChangeVerdict, ChangeWhy, Importance
from fabella.follow.visits import DatedTotal

__all__ = [
    "Agreement",
    "ChangeVerdict",
    "ChangeWhy",
    "Course",
    "DatedTotal",
    "Expectation",
    "GradeChange",
    "GradePoint",
    "GradeSeries",
    "Importance",
    "LesionPoint",
    "LesionSeries",
    "MeasureChange",
    "MeasurePoint",
    "MeasureSeries",
    "Place",
    "ScoreBar",
    "Standing",
    "TotalChange",
    "TotalPoint",
    "TotalSeries",
    "Visit",
    "follow",
]
