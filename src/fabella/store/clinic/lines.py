"""What the pages are given of patients and visits: plain values that no longer touch the database."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from fabella.anatomy import Side
from fabella.record import NO_COMPLAINT, Context, Setting, Sex
from fabella.report.wording import written_date
from fabella.store.clinic import models
from fabella.store.clinic.sheets import age_years
from fabella.store.clinic.trail import canonical, sha256

_MARKED = 12  # hexadecimal digits, by which two sets of details of one patient are told apart


@dataclass(frozen=True, slots=True, kw_only=True)
class PatientLine:
    """A patient as one line of a list; ``age_years`` as of the day it was asked for."""

    id: int
    number: str
    label: str
    birth_date: date | None
    age_years: float | None
    sex: Sex | None
    is_invented: bool

    @property
    def identity(self) -> str:
        """By what a letter tells this patient from all others: the local number, and the day of birth."""
        born = f"born {written_date(self.birth_date)}" if self.birth_date else ""
        return ", ".join(filter(None, (f"number {self.number}", born)))

    @property
    def mark(self) -> str:
        """What tells these details from those before they were corrected."""
        return sha256(canonical([self.number, self.label, str(self.birth_date), self.sex]))


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitLine:
    """A visit as one line of a list; ``version`` counts what was written."""

    id: int
    patient: PatientLine
    day: date
    setting: Setting | None
    complaint: tuple[Side, ...] | None
    is_signed: bool
    version: int

    @property
    def mark(self) -> str:
        """What tells a visit from what it was: what was written, whether it is signed, and whose it is.

        Such as ``12-open-1f3a…``: the version comes first. With a patient's birth date the age changes, and
        with it what an examination comes to.
        """
        return f"{self.version}-{'signed' if self.is_signed else 'open'}-{self.patient.mark[:_MARKED]}"


@dataclass(frozen=True, slots=True, kw_only=True)
class SignatureLine:
    """One signing of a visit; ``reason`` is that of the amendment it closed, empty for the first."""

    number: int
    at: datetime
    shown: str
    sha256: str
    reason: str


def patient_line(patient: models.Patient, day: date) -> PatientLine:
    """Return a patient as a line, as old as on a day."""
    return PatientLine(
        id=patient.id,
        number=patient.number,
        label=patient.label,
        birth_date=patient.birth_date,
        age_years=age_years(patient.birth_date, day),
        sex=Sex(patient.sex) if patient.sex else None,
        is_invented=patient.origin != "patient",
    )


def complaint_of(visit: models.Visit) -> tuple[Side, ...] | None:
    """Return the knees complained of as the visit repeats them; None when that is unknown."""
    if visit.complaint == NO_COMPLAINT:
        return ()
    return tuple(Side(each) for each in visit.complaint.split()) or None


def repeat_context(visit: models.Visit, context: Context) -> None:
    """Let the visit repeat setting and complaint, so that a list need not read its entries."""
    visit.setting = context.setting.value if context.setting else ""
    visit.complaint = NO_COMPLAINT if context.without_complaint else " ".join(context.complained_of)


def visit_line(visit: models.Visit) -> VisitLine:
    """Return a visit as a line, with its patient as old as then."""
    return VisitLine(
        id=visit.id,
        patient=patient_line(visit.patient, visit.day),
        day=visit.day,
        setting=Setting(visit.setting) if visit.setting else None,
        complaint=complaint_of(visit),
        is_signed=visit.is_signed,
        version=visit.version,
    )
