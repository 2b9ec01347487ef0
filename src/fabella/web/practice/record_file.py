"""One's own facts as a table for other programs, one fact a row."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC
from io import StringIO

from fabella.report.spreadsheet import no_formula
from fabella.store.school.remembering import PastRun

COLUMNS = (
    ("run", "number of the run"),
    ("begun", "when it was begun, UTC"),
    ("curriculum", "what was practised on"),
    ("setting", "where the patient was seen"),
    ("station_minutes", "length of the station; empty without a clock"),
    ("told", "yes where the examiner told the findings"),
    ("run_seconds", "what the run took"),
    ("fact", "sign, habit, belief or lesson"),
    ("about", "which sign, habit or lesion; of a lesson, what it is about"),
    ("side", "right or left; empty of the person"),
    ("outcome", "of a sign how it was read, of a habit kept or not_kept, of a lesson its topic"),
    ("showed", "whether the sign showed something: yes, no, or empty where that is not known"),
    ("at_s", "clock when the sign was first done or recorded"),
    ("seconds", "what the sign took"),
    ("share", "of a habit that is counted, the share of its chances (0 to 1)"),
    ("believed", "last probability given to the lesion (0 to 1); empty when it was not named"),
    ("there", "whether the lesion was there: yes or no"),
)
"""The columns of the table, and what each holds."""


def record_table(runs: Iterable[PastRun]) -> str:
    """Return the facts of runs as CSV, the first row naming the columns."""
    names = [name for name, _ in COLUMNS]
    return table(names, ([row.get(name) for name in names] for run in runs for row in _rows(run)))


def table(names: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return rows as CSV (RFC 4180) in which no text can be taken for a formula by a spreadsheet."""
    written = StringIO(newline="")
    writer = csv.writer(written)
    writer.writerow(names)
    writer.writerows([_cell(value) for value in row] for row in rows)
    return written.getvalue()


def _cell(value: object) -> object:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.10g}"
    return no_formula(value) if isinstance(value, str) else value


def _rows(run: PastRun) -> Iterator[dict[str, object]]:
    facts = run.facts
    own = {
        "run": run.id,
        "begun": run.begun.astimezone(UTC).isoformat(timespec="seconds"),
        "curriculum": run.curriculum,
        "setting": run.setting,
        "station_minutes": facts.minutes,
        "told": facts.told,
        "run_seconds": facts.seconds,
    }
    for sign in facts.signs:
        yield {
            **own,
            "fact": "sign",
            "about": sign.sign,
            "side": "" if sign.side is None else sign.side.value,
            "outcome": sign.reading.value,
            "showed": sign.abnormal,
            "at_s": sign.at_s,
            "seconds": sign.seconds,
        }
    for habit in facts.habits:
        kept = "kept" if habit.kept else "not_kept"
        yield {**own, "fact": "habit", "about": habit.habit, "outcome": kept, "share": habit.share}
    for belief in facts.beliefs:
        yield {
            **own,
            "fact": "belief",
            "about": belief.lesion,
            "believed": belief.believed,
            "there": belief.present,
        }
    if run.lesson is not None:
        yield {**own, "fact": "lesson", "about": run.lesson.about, "outcome": run.lesson.topic.value}
