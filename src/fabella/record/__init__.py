"""What was found: one examination of both knees, frozen, and its file."""

from fabella.record.at_odds import AtOdds, at_odds
from fabella.record.context import NO_COMPLAINT, NO_INJURY, Acuity, Context, Mechanism, Patient, Setting, Sex
from fabella.record.examination import FORMAT, Answer, Examination, History, Origin
from fabella.record.finding import Finding, Reason, State
from fabella.record.imaging import ImageKind, Imaging, SetAside
from fabella.record.jsontext import MAX_BYTES
from fabella.record.operation import Change, Operation, change_to, places_marked_normal
from fabella.record.operation_reader import Refused, read_batch, restore_operation
from fabella.record.passage import (
    LONGEST_PASSAGE,
    Passage,
    Writing,
    parts_of_name,
    passage_name,
    read_passage,
)
from fabella.record.reader import check_examination, read_examination
from fabella.record.schema import examination_schema
from fabella.record.sheet import EMPTY, Entry, Sheet, Stated, Writer, fold
from fabella.record.statement import Key, Part, Value, plain, statements, with_statements
from fabella.record.stream import read_many
from fabella.record.totals import SCORES, Procedure, ProcedureName, Score, Total
from fabella.record.writer import write_examination

__all__ = [
    "EMPTY",
    "FORMAT",
    "LONGEST_PASSAGE",
    "MAX_BYTES",
    "NO_COMPLAINT",
    "NO_INJURY",
    "SCORES",
    "Acuity",
    "Answer",
    "AtOdds",
    "Change",
    "Context",
    "Entry",
    "Examination",
    "Finding",
    "History",
    "ImageKind",
    "Imaging",
    "Key",
    "Mechanism",
    "Operation",
    "Origin",
    "Part",
    "Passage",
    "Patient",
    "Procedure",
    "ProcedureName",
    "Reason",
    "Refused",
    "Score",
    "SetAside",
    "Setting",
    "Sex",
    "Sheet",
    "State",
    "Stated",
    "Total",
    "Value",
    "Writer",
    "Writing",
    "at_odds",
    "change_to",
    "check_examination",
    "examination_schema",
    "fold",
    "parts_of_name",
    "passage_name",
    "places_marked_normal",
    "plain",
    "read_batch",
    "read_examination",
    "read_many",
    "read_passage",
    "restore_operation",
    "statements",
    "with_statements",
    "write_examination",
]
