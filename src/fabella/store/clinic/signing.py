"""Signing freezes an examination and its letter; after that it is amended for a reason, never edited."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime

from fabella.errors import InputError, Problem
from fabella.protocol import load_protocol
from fabella.record import Examination, check_examination, write_examination
from fabella.report import as_text, build_letter, letter_document
from fabella.store.actor import Actor
from fabella.store.clinic import models
from fabella.store.clinic.access import visit_of
from fabella.store.clinic.sheets import examination_of, sheet_of
from fabella.store.clinic.trail import Action, Deed, add_lines, sha256
from fabella.store.refusals import Disputed, Frozen, Moved
from fabella.store.router import CLINIC
from fabella.store.writing import writing
from fabella.workup import Workup, run_workup

LONGEST_REASON, LONGEST_ADDRESSEE = 1000, 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Fair:
    """An examination written out to be signed: its file and its letter, and with what they were made."""

    file: str
    letter: str
    edition: str
    program: str


def write_fair(
    examination: Examination,
    *,
    signer: str,
    addressee: str,
    today: date,
    workup: Callable[[Examination], Workup] = run_workup,
) -> Fair:
    """Return what would be signed: the file of an examination, and its letter as plain text.

    The same examination, signer, addressee, day, edition and program give the same again.
    Raises `InputError` when the examination contradicts itself or nothing was examined.
    """
    examination = replace(examination, examiner=signer)
    if not examination.sides:
        says, remedy = "hold nothing that was examined", "examine at least one knee, or leave the visit open"
        raise InputError([Problem(place="findings", value="", says=says, remedy=remedy)])
    check_examination(examination, protocol=load_protocol(), today=today)
    worked_up = workup(examination)
    letter = build_letter(worked_up, written_on=today, addressee=addressee)
    return Fair(
        file=write_examination(examination),
        letter=as_text(letter_document(letter, drawn=False)),
        edition=worked_up.edition,
        program=worked_up.version,
    )


def sign(
    actor: Actor,
    visit_id: int,
    *,
    version: int,
    addressee: str,
    today: date,
    now: datetime,
    workup: Callable[[Examination], Workup] = run_workup,
) -> int:
    """Sign a visit and return the number of the signature.

    Parameters
    ----------
    version
        The version that the signer has read; nothing else is signed.

    Raises
    ------
    Frozen
        When it is signed already.
    Disputed
        While two people disagree about a finding.
    Moved
        When something was written since.
    InputError
        When the examination contradicts itself, holds nothing, or the addressee is no line of text.
    """
    addressee = _line("addressee", addressee, LONGEST_ADDRESSEE)
    visit = _ready(visit_of(actor, visit_id), version)
    examination = examination_of(visit, sheet_of(visit))
    fair = write_fair(examination, signer=actor.shown, addressee=addressee, today=today, workup=workup)
    with writing(CLINIC):
        visit = _ready(visit_of(actor, visit_id), version)
        number = models.Signature.objects.filter(visit=visit).count() + 1
        signature = models.Signature.objects.create(
            visit=visit,
            number=number,
            version=version,
            file=fair.file,
            sha256=sha256(fair.file),
            letter=fair.letter,
            addressee=addressee,
            edition=fair.edition,
            program=fair.program,
            author=actor.name,
            shown=actor.shown,
            device=actor.device,
            at=now,
        )
        visit.status = models.Visit.Status.SIGNED
        visit.save(update_fields=["status"])
        detail = {"number": number, "sha256": signature_digest(signature)}
        add_lines(actor, [_deed(Action.SIGNED, visit, detail)], now)
    return number


def amend(actor: Actor, visit_id: int, reason: str, *, now: datetime) -> None:
    """Open a signed visit again for a reason; what was signed stays as it is and can be read."""
    reason = _line("reason", reason, LONGEST_REASON)
    if not reason:
        says, remedy = "is missing", "say why the signed examination has to change"
        raise InputError([Problem(place="reason", value="", says=says, remedy=remedy)])
    with writing(CLINIC):
        visit = visit_of(actor, visit_id)
        if not visit.is_signed:
            raise Frozen("This examination is not signed; it can be changed without an amendment.")
        number = models.Signature.objects.filter(visit=visit).count() + 1
        models.Amendment.objects.create(
            visit=visit, number=number, reason=reason, author=actor.name, device=actor.device, at=now
        )
        visit.status = models.Visit.Status.OPEN
        visit.save(update_fields=["status"])
        detail = {"number": number, "reason": reason}
        add_lines(actor, [_deed(Action.AMENDED, visit, detail)], now)


def signature_digest(signature: models.Signature) -> str:
    """Return the hash over what was signed, which the line of the trail about it holds."""
    return sha256(f"{signature.file}\n{signature.letter}")


def _ready(visit: models.Visit, version: int) -> models.Visit:
    if visit.is_signed:
        raise Frozen("This examination is signed already.")
    if visit.version != version:
        raise Moved("Something was written since you read it. Read it again, then sign.")
    if sheet_of(visit).conflicts:
        raise Disputed("Two entries disagree. Say which holds, then sign.")
    return visit


def _deed(action: Action, visit: models.Visit, detail: dict[str, object]) -> Deed:
    return Deed(action=action, patient=visit.patient_id, visit=visit.id, detail=detail)


def _line(place: str, typed: str, longest: int) -> str:
    line = " ".join(typed.split())
    if len(line) > longest or not line.isprintable():
        remedy = f"write up to {longest} characters"
        says = "is too long or cannot be printed"
        raise InputError([Problem(place=place, value=line[:40], says=says, remedy=remedy)])
    return line
