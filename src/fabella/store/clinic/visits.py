"""Visits: begun, listed, and opened with everything that stands on their sheet."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date, datetime

from fabella.protocol import load_protocol
from fabella.record import (
    EMPTY,
    Examination,
    Key,
    Operation,
    Part,
    Sheet,
    Value,
    Writing,
    change_to,
    read_batch,
)
from fabella.store.actor import Actor
from fabella.store.clinic import models
from fabella.store.clinic.access import patient_of, visit_of, visits_of
from fabella.store.clinic.charting import add_operations
from fabella.store.clinic.concluded import Concluded
from fabella.store.clinic.details import VisitDetails
from fabella.store.clinic.earlier import signed_after
from fabella.store.clinic.lines import SignatureLine, VisitLine, visit_line
from fabella.store.clinic.sheets import examination_of, sheet_of
from fabella.store.clinic.signed_papers import SignedPaper, signed_papers
from fabella.store.clinic.taking_over import lasting, stated_in
from fabella.store.clinic.trail import Action, Deed, add_lines, add_reading, deed_at
from fabella.store.refusals import NotThere
from fabella.store.router import CLINIC
from fabella.store.writing import writing

LISTED_AT_MOST = 200

_Stated = dict[Key, Value]


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitRecord:
    """A visit with everything known of it.

    ``reason`` is that of the amendment that is open, empty when none is; ``signed`` is what was signed last,
    None while it is open.
    """

    line: VisitLine
    sheet: Sheet
    examination: Examination
    signatures: tuple[SignatureLine, ...]
    reason: str
    signed: SignedRecord | None = None

    @property
    def is_signed(self) -> bool:
        """Whether nothing may be added."""
        return self.line.is_signed

    @property
    def letter(self) -> SignedPaper | None:
        """The letter as it was signed last; None while it is open, and where it was not kept."""
        return self.signed.paper(Writing.LETTER) if self.signed else None

    @property
    def concluded(self) -> Concluded | None:
        """What was concluded when it was signed last; None likewise."""
        return self.letter.concluded if self.letter else None


@dataclass(frozen=True, slots=True, kw_only=True)
class SignedRecord:
    """A visit as it was signed once: the file of its examination and its letter, to the letter.

    ``papers`` are letter and patient's page with all that they were made of, none for what was signed before
    they were kept; ``earlier_since`` the days of earlier visits signed after it, which it does not count.
    """

    visit: VisitLine
    signature: SignatureLine
    file: str
    letter: str
    addressee: str
    edition: str
    program: str
    papers: tuple[SignedPaper, ...]
    earlier_since: tuple[date, ...]

    def paper(self, writing: Writing) -> SignedPaper | None:
        """Return the letter or the patient's page as it was signed."""
        return next((each for each in self.papers if each.writing is writing), None)


def begin_visit(
    actor: Actor, patient_id: int, details: VisitDetails, *, take_over: int | None = None, now: datetime
) -> int:
    """Begin a visit of a patient, with its setting and complaint stated on its sheet, and return its id.

    ``take_over`` is an earlier visit of the patient, from which is stated what lasts. One that was begun with
    the same details and to which nothing was added is that visit: a button may be pressed twice.
    """
    with writing(CLINIC):
        patient = patient_of(actor, patient_id)
        stated = _stated(details)
        if take_over is not None:
            stated |= _lasting(actor, patient, take_over, details)
        if (begun := _untouched(patient, details, len(stated))) is not None:
            return begun
        visit = models.Visit.objects.create(patient=patient, day=details.day)
        add_lines(actor, [deed_at(visit, Action.BEGAN, {})], now)
        add_operations(actor, visit, EMPTY, _stated_at_once(visit, stated), now)
    return visit.id


def _lasting(actor: Actor, patient: models.Patient, visit_id: int, details: VisitDetails) -> _Stated:
    visit = visit_of(actor, visit_id)
    if visit.patient_id != patient.id:
        raise NotThere("This patient has no such visit.")
    if visit.day > details.day:  # nobody knows what lasted before it
        return {}
    earlier = examination_of(visit, sheet_of(visit))
    return stated_in(lasting(earlier, day=details.day, complaint=details.complaint))


def _untouched(patient: models.Patient, details: VisitDetails, entries: int) -> int | None:
    """Return the visit that was begun with these details and holds no more entries, None without one."""
    for visit in models.Visit.objects.filter(
        patient=patient, day=details.day, status=models.Visit.Status.OPEN
    ):
        line, wanted = visit_line(visit), (details.setting, details.complaint, entries)
        if (line.setting, line.complaint, line.version) == wanted:
            return visit.id
    return None


def _stated(details: VisitDetails) -> _Stated:
    stated: dict[str, Value] = {"setting": details.setting, "complaint": details.complaint}
    return {Key(Part.CONTEXT, name): value for name, value in stated.items() if value is not None}


def _stated_at_once(visit: models.Visit, stated: _Stated) -> tuple[Operation, ...]:
    begun = f"begun-with-visit-{visit.id}-"
    batch = [
        {"id": begun + key.name.replace("_", "-"), "base": 0, **change_to(key, value)}
        for key, value in stated.items()
    ]
    operations = read_batch(json.dumps({"operations": batch}), protocol=load_protocol(), day=visit.day)
    return tuple(each for each in operations if isinstance(each, Operation))


def visits_on(actor: Actor, day: date, *, now: datetime) -> tuple[VisitLine, ...]:
    """Return the visits of a day, in the order in which they were begun."""
    return _listed(actor, now, day=day)


def unfinished_visits(actor: Actor, *, before: date, now: datetime) -> tuple[VisitLine, ...]:
    """Return earlier visits that were not signed, the latest first."""
    return _listed(actor, now, day__lt=before, status=models.Visit.Status.OPEN)[::-1]


def see_visit(
    actor: Actor, visit_id: int, *, now: datetime, action: Action = Action.OPENED, what: str = ""
) -> VisitRecord:
    """Return a visit with its sheet; ``what`` says which document is taken, for the trail."""
    visit = visit_of(actor, visit_id)
    record = _record(visit)
    add_reading(actor, [deed_at(visit, action, {"what": what} if what else {})], now)
    return record


def examination_now(actor: Actor, visit_id: int) -> Examination:
    """Return an examination as it stands, to compute with: who is shown what comes of it has `see_visit`."""
    visit = visit_of(actor, visit_id)
    return examination_of(visit, sheet_of(visit))


def line_of(actor: Actor, visit_id: int) -> VisitLine:
    """Return a visit as a line of a list: enough to know that nothing is new, and no reading of it."""
    return visit_line(visit_of(actor, visit_id))


def see_signed(actor: Actor, visit_id: int, number: int, *, now: datetime) -> SignedRecord:
    """Return a visit as it was signed the first, second … time; raise `NotThere` when it was not."""
    visit = visit_of(actor, visit_id)
    record = _signed(visit, number)
    add_reading(actor, [deed_at(visit, Action.TOOK, {"what": f"signed {number}"})], now)
    return record


def _signed(visit: models.Visit, number: int) -> SignedRecord:
    row = models.Signature.objects.filter(visit=visit, number=number).first()
    if row is None:
        raise NotThere("This visit was not signed so often.")
    return SignedRecord(
        visit=visit_line(visit),
        signature=_signature_line(row, _reasons(visit)),
        file=row.file,
        letter=row.letter,
        addressee=row.addressee,
        edition=row.edition,
        program=row.program,
        papers=signed_papers(row),
        earlier_since=signed_after(visit, row.at),
    )


def _listed(actor: Actor, now: datetime, **which: object) -> tuple[VisitLine, ...]:
    visits = visits_of(actor).filter(**which).order_by("day", "pk")[:LISTED_AT_MOST]
    lines = tuple(visit_line(each) for each in visits)
    patients = dict.fromkeys(line.patient.id for line in lines)
    add_reading(actor, (Deed(action=Action.LISTED, patient=each) for each in patients), now)
    return lines


def _record(visit: models.Visit) -> VisitRecord:
    sheet = sheet_of(visit)
    reasons = _reasons(visit)
    signatures = tuple(
        _signature_line(row, reasons)
        for row in models.Signature.objects.filter(visit=visit).order_by("number")
    )
    return VisitRecord(
        line=visit_line(visit),
        sheet=sheet,
        examination=examination_of(visit, sheet),
        signatures=signatures,
        reason=reasons.get(len(signatures) + 1, ""),
        signed=_signed(visit, len(signatures)) if visit.is_signed else None,
    )


def _reasons(visit: models.Visit) -> dict[int, str]:
    return {row.number: row.reason for row in models.Amendment.objects.filter(visit=visit)}


def _signature_line(row: models.Signature, reasons: dict[int, str]) -> SignatureLine:
    return SignatureLine(
        number=row.number,
        at=row.at,
        shown=row.shown,
        sha256=row.sha256,
        reason=reasons.get(row.number, ""),
    )
