"""The sheet of a visit, made from its entries once and carried on from there."""

from __future__ import annotations

from datetime import date

from fabella.protocol import load_protocol
from fabella.record import (
    EMPTY,
    Entry,
    Examination,
    Origin,
    Patient,
    Sex,
    Sheet,
    Writer,
    fold,
    restore_operation,
)
from fabella.store.clinic import models
from fabella.store.kept import reading_kept
from fabella.store.remembered import Remembered

_kept: Remembered[int, Sheet] = Remembered(256)  # of recent visits; one is some 100 kB
keep_sheet, forget_sheets = _kept.put, _kept.forget


def sheet_of(visit: models.Visit) -> Sheet:
    """Return the sheet of a visit at its present version."""
    sheet = _kept.get(visit.id) or EMPTY
    if sheet.version > visit.version:  # another database lies under the same number
        sheet = EMPTY
    if sheet.version < visit.version:
        rows = models.Entry.objects.filter(visit=visit, version__gt=sheet.version, version__lte=visit.version)
        sheet = fold((entry_of(row, visit.day) for row in rows.order_by("version")), sheet)
        _kept.put(visit.id, sheet)
    return sheet


def entry_of(row: models.Entry, day: date) -> Entry:
    """Return an entry from its row; raise `Unreadable` for one that this program cannot read."""
    with reading_kept(f"Entry {row.version} of visit {row.visit_id}"):
        operation = restore_operation(
            identity=row.operation,
            base=row.base,
            change=row.change,
            text=row.payload,
            protocol=load_protocol(),
            day=day,
        )
    return Entry(row.version, Writer(row.author, row.device), operation)


def examination_of(visit: models.Visit, sheet: Sheet) -> Examination:
    """Return the examination of a visit, with the patient as known today."""
    return sheet.onto(blank_examination(visit))


def blank_examination(visit: models.Visit) -> Examination:
    """Return what is known of an examination before anything is stated."""
    patient = visit.patient
    return Examination(
        id=f"visit-{visit.id}",
        origin=Origin(patient.origin),
        examined_on=visit.day,
        patient=Patient(
            age_years=age_years(patient.birth_date, visit.day),
            sex=Sex(patient.sex) if patient.sex else None,
            label=patient.label,
        ),
    )


def age_years(birth_date: date | None, day: date) -> float | None:
    """Return an age in whole years, in twelfths below three; None when the birth date is unknown."""
    if birth_date is None:
        return None
    months = (day.year - birth_date.year) * 12 + day.month - birth_date.month - (day.day < birth_date.day)
    years = months // 12
    return float(years) if years >= _SMALL_CHILD else round(months / 12, 2)


_SMALL_CHILD = 3
