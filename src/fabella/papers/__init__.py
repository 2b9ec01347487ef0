"""Words and pictures of an exam: papers, what a candidate is told, reports for the board."""

from fabella.papers.batch import feedback_files
from fabella.papers.board import Analysed, board_report
from fabella.papers.candidate import feedback
from fabella.papers.cohort import Cohort
from fabella.papers.decision_table import decision_table
from fabella.papers.grounds import SheetGround, error_grounds, how_scored, sheet_grounds
from fabella.papers.printed import Sitting, as_papers, mark_sheets, station_leaves
from fabella.papers.standing import Standing, standings
from fabella.papers.station import station_report

__all__ = [
    "Analysed",
    "Cohort",
    "SheetGround",
    "Sitting",
    "Standing",
    "as_papers",
    "board_report",
    "decision_table",
    "error_grounds",
    "feedback",
    "feedback_files",
    "how_scored",
    "mark_sheets",
    "sheet_grounds",
    "standings",
    "station_leaves",
    "station_report",
]
