"""What was done to a knee, and the totals of questionnaires, read against the lists of what there is."""

from __future__ import annotations

from datetime import date

from fabella.anatomy import Side
from fabella.record.layout import PROCEDURE_KEYS, TOTAL_KEYS
from fabella.record.section import Section
from fabella.record.totals import SCORES, Procedure, ProcedureName, Total


def read_procedure(context: Section, *, until: date) -> Procedure | None:
    """Return the procedure that a context tells of; a day after ``until``, the examination, is refused."""
    if not context.given("procedure"):
        return None
    section = Section(
        context.raw("procedure"), place=context.at("procedure"), keys=PROCEDURE_KEYS, notes=context.notes
    )
    if not section.is_object:
        return None
    section.require("name", f"allowed: {', '.join(ProcedureName)}")
    section.require("sides", "the knee or knees: right, left")
    section.require("on", "write the day, YYYY-MM-DD")
    name = section.choice("name", ProcedureName)
    sides = section.sides("sides")
    if section.raw("sides") == []:
        section.wrong("sides", "is empty", "the knee or knees: right, left")
    on = section.day("on", until=until, beyond="lies after the examination")
    if name is None or on is None:
        return None
    return Procedure(name=name, sides=sides, on=on)


def read_totals(top: Section) -> tuple[Total, ...]:
    """Return the totals of questionnaires; wrong ones are noted and left out."""
    totals: dict[tuple[str, Side | None], Total] = {}
    for place, written in enumerate(top.members("totals")):
        section = Section(written, place=f"totals[{place}]", keys=TOTAL_KEYS, notes=top.notes)
        if not section.is_object:
            continue
        section.require("score", f"allowed: {', '.join(SCORES)}")
        section.require("value", "write the total in points")
        name = section.word("score", SCORES)
        side = section.choice("side", Side)
        if name is None:
            continue
        value = section.number("value", SCORES[name].low, SCORES[name].high, "points")
        if (name, side) in totals:
            of = f"for the {side} knee" if side else "without a side"
            top.notes.add(section.place, name, f"is stated twice {of}", "keep one")
        elif value is not None:
            totals[name, side] = Total(score=name, value=value, side=side)
    return tuple(totals.values())
