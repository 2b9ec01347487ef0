"""Following a patient: what has truly changed from visit to visit, and how it compares with recovery."""

from fabella.follow.chart import BandKind, BandMark, Chart, Expected, Kind, Mark
from fabella.follow.charting import LESION_FROM, charts_of
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
from fabella.follow.since import Comparison, comparisons, worth_comparing
from fabella.follow.standing import Expectation, Place, Standing
from fabella.follow.verdicts import ChangeVerdict, ChangeWhy, Importance
from fabella.follow.visits import DatedTotal

__all__ = [
    "LESION_FROM",
    "Agreement",
    "BandKind",
    "BandMark",
    "ChangeVerdict",
    "ChangeWhy",
    "Chart",
    "Comparison",
    "Course",
    "DatedTotal",
    "Expectation",
    "Expected",
    "GradeChange",
    "GradePoint",
    "GradeSeries",
    "Importance",
    "Kind",
    "LesionPoint",
    "LesionSeries",
    "Mark",
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
    "charts_of",
    "comparisons",
    "follow",
    "worth_comparing",
]
