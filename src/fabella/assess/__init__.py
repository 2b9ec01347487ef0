"""Exam day, computed: marks, pass marks, reliability, examiners, items and decisions."""

from fabella.assess.blueprint import Blueprint, GradeScale, Item, ItemTable, Station, item_table
from fabella.assess.gathering import Roster, gather
from fabella.assess.marks import MISSING, Marks, State, candidate_circuit, digest
from fabella.assess.reading import read_marks

__all__ = [
    "MISSING",
    "Blueprint",
    "GradeScale",
    "Item",
    "ItemTable",
    "Marks",
    "Roster",
    "State",
    "Station",
    "candidate_circuit",
    "digest",
    "gather",
    "item_table",
    "read_marks",
]
