"""The exam before it is marked: stations made from the protocol, and a day on which everybody is placed."""

from fabella.exam.checking import check_day
from fabella.exam.day import Candidate, Day, Examiner, Round, clock
from fabella.exam.scheduling import make_timetable
from fabella.exam.timetable import Duty, Seat, Stop, Timetable, faults

__all__ = [
    "Candidate",
    "Day",
    "Duty",
    "Examiner",
    "Round",
    "Seat",
    "Stop",
    "Timetable",
    "check_day",
    "clock",
    "faults",
    "make_timetable",
]
