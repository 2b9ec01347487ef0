"""The exam before it is marked: stations made from the protocol, and a day on which everybody is placed."""

from fabella.exam.blueprints import blueprint_of
from fabella.exam.checking import check_day
from fabella.exam.day import Candidate, Day, Examiner, Round, clock
from fabella.exam.proposing import (
    Proposal,
    Template,
    Topic,
    load_domains,
    load_templates,
    load_topics,
    propose_station,
    station_seconds,
)
from fabella.exam.scheduling import make_timetable
from fabella.exam.station_file import checked, edited, read_station, write_station
from fabella.exam.stations import GRADES, Domain, Grade, Item, Station
from fabella.exam.timetable import Duty, Seat, Stop, Timetable, faults

__all__ = [
    "GRADES",
    "Candidate",
    "Day",
    "Domain",
    "Duty",
    "Examiner",
    "Grade",
    "Item",
    "Proposal",
    "Round",
    "Seat",
    "Station",
    "Stop",
    "Template",
    "Timetable",
    "Topic",
    "blueprint_of",
    "check_day",
    "checked",
    "clock",
    "edited",
    "faults",
    "load_domains",
    "load_templates",
    "load_topics",
    "make_timetable",
    "propose_station",
    "read_station",
    "station_seconds",
    "write_station",
]
