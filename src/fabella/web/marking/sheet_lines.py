"""A sheet in one line for its lead: how it stands, as a shape and in words, and what is to be said."""

from __future__ import annotations

from dataclasses import dataclass

from fabella.exam import How, Station, clock, how_of
from fabella.report.wording import counted
from fabella.store.exams.duties import SheetKey
from fabella.store.exams.sheets import KeptSheet
from fabella.store.exams.typing_in import typists_of
from fabella.web.marking.wording import HOW_WORDS, away_words, disputes_words

SHAPES = {
    How.AWAY: "away",
    How.INSTEAD: "away",
    How.VOID: "void",
    How.NOT_BEGUN: "none",
    How.GOING: "part",
    How.HALF_EMPTY: "half",
    How.FINISHED: "full",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetLine:
    """A sheet in one line: how it stands as a shape and in words, and what is to be said of it."""

    key: SheetKey
    title: str
    shape: str
    words: str
    when: str
    notes: tuple[str, ...]


def stands(kept: KeptSheet, station: Station) -> How:
    """Return how a sheet stands: where nobody waits for it, why."""
    how = how_of(kept.sheet, station)
    if how is How.VOID or not kept.is_excused:
        return how
    return How.INSTEAD if kept.instead else How.AWAY


def sheet_line(kept: KeptSheet, station: Station) -> SheetLine:
    """Return a sheet in one line."""
    sheet, how = kept.sheet, stands(kept, station)
    done = len(station.items) - len(sheet.gaps(station))
    notes = disputes_words(sheet.disputes, station)
    if sheet.concern:
        notes.append(f"concern for safety: {sheet.concern}")
    if how in {How.GOING, How.HALF_EMPTY}:
        notes.append(
            f"{done} of {counted(len(station.items), 'item')} marked, "
            f"{'no global rating' if sheet.grade is None else 'the global rating given'}"
        )
    if sheet.void:
        notes.append(sheet.void if sheet.is_void else f"said to be lost ({sheet.void}), and yet marked")
    if kept.instead:
        notes.append(f"marked by {kept.instead}")
    if kept.away is not None:
        told = away_words(kept.away)
        notes.append(told if kept.is_excused else f"{told}, and yet somebody marked")
    if len(typists_of(sheet)) == 1:
        notes.append("typed in once; a second person has still to type it")
    stop = kept.planned.stop if kept.planned else None
    return SheetLine(
        key=kept.key,
        title=station.title,
        shape=SHAPES[how],
        words=HOW_WORDS[how],
        when=f"{clock(stop.begins_min)} to {clock(stop.ends_min)}" if stop else "not in the timetable",
        notes=tuple(notes),
    )
