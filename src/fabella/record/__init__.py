"""What was found: one examination of both knees, frozen, and its file."""

from fabella.record.context import Acuity, Context, Mechanism, Patient, Setting, Sex
from fabella.record.examination import FORMAT, Answer, Examination, History, Origin
from fabella.record.finding import Finding, Reason, State
from fabella.record.jsontext import MAX_BYTES
from fabella.record.reader import check_examination, read_examination
from fabella.record.schema import examination_schema
from fabella.record.stream import read_many
from fabella.record.totals import SCORES, Procedure, ProcedureName, Score, Total
from fabella.record.writer import write_examination

__all__ = [
    "FORMAT",
    "MAX_BYTES",
    "SCORES",
    "Acuity",
    "Answer",
    "Context",
    "Examination",
    "Finding",
    "History",
    "Mechanism",
    "Origin",
    "Patient",
    "Procedure",
    "ProcedureName",
    "Reason",
    "Score",
    "Setting",
    "Sex",
    "State",
    "Total",
    "check_examination",
    "examination_schema",
    "read_examination",
    "read_many",
    "write_examination",
]
