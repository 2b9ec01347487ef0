"""A clinic list as it was pasted or uploaded: several patients, every line that is wrong told at once."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Final

from fabella.errors import InputError, Problems
from fabella.store.clinic.details import PatientDetails, read_patient_details
from fabella.store.clinic.patient_lists import Listed
from fabella.web.tables import Row, read_head, read_lines, row_of, wrong_in_head

COLUMNS: Final = ("number", "name", "birth date", "sex")
NEEDED: Final = COLUMNS[:2]
MOST_PATIENTS: Final = 2000

_FIELDS: Final = dict(zip(("number", "label", "birth_date", "sex"), COLUMNS, strict=True))
_SEXES: Final = {"f": "female", "m": "male", "unknown": ""}
_TOLD: Final = 40  # letters of a wrong cell that are repeated


def read_patient_list(text: str, *, today: date, problems: Problems) -> tuple[Listed, ...]:
    """Return whoever stands in a list; everything wrong is added to the problems, with its line.

    Parameters
    ----------
    text
        A table with a head, its columns parted by commas, semicolons or tabs. `NEEDED` have to be there;
        birth dates are written YYYY-MM-DD.
    today
        The latest birth date that is possible.
    problems
        What is added to; whoever is wrong is not returned.
    """
    lines = read_lines(text, "line", problems)
    if problems:
        return ()
    if not lines:
        remedy = f"paste lines or choose a file; begin with: {', '.join(COLUMNS)}"
        problems.add("list", "", "is empty", remedy)
        return ()
    (first, cells), *rows = lines
    head = read_head(cells)
    problems.extend(_wrong_at_all(first, head, len(rows)))
    if problems:
        return ()
    seen: dict[str, int] = {}
    found = []
    for line, row in rows:
        before = len(problems)
        details = _details(row_of(f"line {line}", head, row, problems), today, problems)
        if details is None:
            continue
        if (earlier := seen.setdefault(details.number, line)) != line:
            says, place = f"stands on line {earlier} too", f"line {line}, number"
            problems.add(place, details.number, says, "list everybody once")
        if len(problems) == before:
            found.append(Listed(place=f"line {line}", details=details))
    return tuple(found)


def _wrong_at_all(line: int, head: list[str], people: int) -> Problems:
    """Return what is wrong with the list as a whole, so that its lines cannot be told about."""
    place, found = f"line {line}", Problems()
    if missing := [each for each in NEEDED if each not in head]:
        found.add(
            place,
            "",
            f"names no column {' and no column '.join(missing)}",
            f"begin with: {', '.join(COLUMNS)}",
        )
        return found
    found += wrong_in_head(place, head, COLUMNS)
    if not people:
        found.add("list", "", "lists nobody", f"write a line for each patient below line {line}")
    if people > MOST_PATIENTS:
        says, remedy = "patients are too many at once", f"divide the list: at most {MOST_PATIENTS}"
        found.add("list", str(people), says, remedy)
    return found


def _details(row: Row, today: date, problems: Problems) -> PatientDetails | None:
    """Return the details of one line by the rules of the form for one patient, None when any is wrong."""
    sex = row.cell("sex").casefold()
    form = {field: row.cell(column) for field, column in _FIELDS.items()} | {"sex": _SEXES.get(sex, sex)}
    try:
        return read_patient_details(form, today=today)
    except InputError as error:
        problems.extend(
            replace(each, place=f"{row.place}, {_FIELDS[each.place]}", value=each.value[:_TOLD])
            for each in error.problems
        )
        return None
