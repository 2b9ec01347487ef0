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
from fabella.follow.lightened import lightened
from fabella.follow.since import Comparison, Since, comparisons
from fabella.follow.standing import Expectation, Place, Standing
from fabella.follow.undone import Told, Undone, lasting, tells_lasting, told_no_longer
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
    "Since",
    "Standing",
    "Told",
    "TotalChange",
    "TotalPoint",
    "TotalSeries",
    "Undone",
    "Visit",
    "charts_of",
    "comparisons",
    "follow",
    "lasting",
    "lightened",
    "tells_lasting",
    "told_no_longer",
]
