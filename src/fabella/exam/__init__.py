"""The exam and its day: stations made from the protocol, everybody placed, and mark sheets event by event."""

from fabella.exam.asking import names_what_is_unasked
from fabella.exam.attending import Attendance, Presence
from fabella.exam.bells import Bell, Phase, bell_at
from fabella.exam.blueprints import blueprint_of, plain_stations
from fabella.exam.checking import check_day
from fabella.exam.day import (
    MINUTES_OF_A_DAY,
    Candidate,
    Day,
    Examiner,
    Round,
    clock,
    going_on,
    read_clock,
)
from fabella.exam.folding import Folding, fold
from fabella.exam.gathered import Written, marks_of
from fabella.exam.kinds import kinds_of
from fabella.exam.proposing import (
    Proposal,
    Template,
    Topic,
    load_domains,
    load_templates,
    load_topics,
    propose_station,
    station_seconds,
    unasked,
    with_items,
    written,
)
from fabella.exam.scheduling import make_timetable
from fabella.exam.sheet import EMPTY, Choice, Dispute, Mark, Sheet, SheetEntry
from fabella.exam.sheet_events import OF_THE_LEAD, STATEMENTS, Act, Missing, SheetEvent, Value
from fabella.exam.sheet_file import event_tree, read_event
from fabella.exam.station_file import checked, edited, read_station, write_station
from fabella.exam.stations import GRADES, Domain, Grade, Item, Station
from fabella.exam.timetable import Duty, Seat, Stop, Timetable, faults
from fabella.exam.timetable_file import read_timetable, write_timetable
from fabella.exam.watching import (
    Alike,
    Behind,
    How,
    Silent,
    WatchedSheet,
    alike,
    behind,
    how_of,
    overdue,
    silent,
)

__all__ = [
    "EMPTY",
    "GRADES",
    "MINUTES_OF_A_DAY",
    "OF_THE_LEAD",
    "STATEMENTS",
    "Act",
    "Alike",
    "Attendance",
    "Behind",
    "Bell",
    "Candidate",
    "Choice",
    "Day",
    "Dispute",
    "Domain",
    "Duty",
    "Examiner",
    "Folding",
    "Grade",
    "How",
    "Item",
    "Mark",
    "Missing",
    "Phase",
    "Presence",
    "Proposal",
    "Round",
    "Seat",
    "Sheet",
    "SheetEntry",
    "SheetEvent",
    "Silent",
    "Station",
    "Stop",
    "Template",
    "Timetable",
    "Topic",
    "Value",
    "WatchedSheet",
    "Written",
    "alike",
    "behind",
    "bell_at",
    "blueprint_of",
    "check_day",
    "checked",
    "clock",
    "edited",
    "event_tree",
    "faults",
    "fold",
    "going_on",
    "how_of",
    "kinds_of",
    "load_domains",
    "load_templates",
    "load_topics",
    "make_timetable",
    "marks_of",
    "names_what_is_unasked",
    "overdue",
    "plain_stations",
    "propose_station",
    "read_clock",
    "read_event",
    "read_station",
    "read_timetable",
    "silent",
    "station_seconds",
    "unasked",
    "with_items",
    "write_station",
    "write_timetable",
    "written",
]
