"""Signing freezes an examination and its letter; after that it is amended for a reason, never edited."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict
from datetime import date, datetime

from fabella.errors import InputError, Problems
from fabella.record import Examination, Sheet, Writing
from fabella.report import as_pdf, as_text, signed_words
from fabella.store.actor import Actor
from fabella.store.clinic import models
from fabella.store.clinic.access import visit_of
from fabella.store.clinic.earlier import earlier_among, files_before
from fabella.store.clinic.fair import LONGEST_ADDRESSEE, Fair, workups, write_fair
from fabella.store.clinic.lines import patient_line
from fabella.store.clinic.papers import FairPaper, own_words, packed, writers_of
from fabella.store.clinic.sheets import examination_of, sheet_of
from fabella.store.clinic.trail import Action, add_lines, canonical, deed_at, sha256
from fabella.store.refusals import Disputed, Frozen, Moved
from fabella.store.router import CLINIC
from fabella.store.writing import writing
from fabella.workup import Workup, run_workup

LONGEST_REASON = 1000

_EARLIER_MOVED = "An earlier visit was signed since you read this letter. Read it again, then sign."
_NEW_DAY = "A new day has begun since you read this letter, which bears its day. Read it again, then sign."
_CORRECTED = "The patient's details were corrected since you read this letter. Read it again, then sign."


def sign(
    actor: Actor,
    visit_id: int,
    *,
    version: int,
    addressee: str,
    today: date,
    now: datetime,
    sender: tuple[str, ...] = (),
    earlier: str | None = None,
    patient: str | None = None,
    read_on: str | None = None,
    workup: Callable[[Examination], Workup] = run_workup,
    followed: Callable[[Sequence[Examination]], Sequence[Workup]] = workups,
) -> int:
    """Sign a visit and return the number of the signature.

    Parameters
    ----------
    version
        The version that the signer has read; nothing else is signed.
    sender
        The letterhead, kept with what is signed.
    earlier
        The mark of the earlier visits that the signer has read the letter with; None takes those of now.
    patient, read_on
        The mark of the patient's details, and the day, such as 2026-11-25, that the letter bore when the
        signer read it; None likewise.

    Raises
    ------
    Frozen
        When it is signed already.
    Disputed
        While two people disagree about a finding.
    Moved
        When something was written or corrected, an earlier visit signed, or a day begun, since.
    InputError
        When the examination contradicts itself, holds nothing, or the addressee is no line of text.
    """
    addressee = _line("addressee", addressee, LONGEST_ADDRESSEE)
    visit = _ready(visit_of(actor, visit_id), version)
    line = patient_line(visit.patient, visit.day)
    if patient not in {None, line.mark}:
        raise Moved(_CORRECTED)
    if read_on not in {None, str(today)}:
        raise Moved(_NEW_DAY)
    number, before = _next_signature(visit)
    sheet, signed_before = sheet_of(visit), files_before(visit)
    examination = examination_of(visit, sheet)
    compared = earlier_among(signed_before, examination)
    if earlier not in {None, compared.mark}:
        raise Moved(_EARLIER_MOVED)
    own = {each: own_words(sheet, each) for each in Writing}
    fair = write_fair(
        examination,
        identity=line.identity,
        signer=actor.shown,
        addressee=addressee,
        today=today,
        sender=sender,
        earlier=compared,
        own=own,
        workup=workup,
        followed=followed,
    )
    Problems(fair.problems).raise_any()
    fair = fair.signed(signed_words(actor.shown, now, number=number, before=before))
    pdfs = [sha256(as_pdf(each.document, written_on=today)) for each in fair.papers]
    with writing(CLINIC):
        visit = _ready(visit_of(actor, visit_id), version)
        if _next_signature(visit) != (number, before):
            raise Moved("It was signed and opened again since you read it. Read it again, then sign.")
        if files_before(visit) != signed_before:
            raise Moved(_EARLIER_MOVED)
        if patient_line(visit.patient, visit.day) != line:
            raise Moved(_CORRECTED)
        _freeze(actor, visit, fair, number=number, pdfs=pdfs, sheet=sheet, now=now)
    return number


def _freeze(
    actor: Actor,
    visit: models.Visit,
    fair: Fair,
    *,
    number: int,
    pdfs: Sequence[str],
    sheet: Sheet,
    now: datetime,
) -> None:
    """Keep what is signed and its papers, with the hashes of their PDFs, and close the visit."""
    signature = models.Signature.objects.create(
        visit=visit,
        number=number,
        version=visit.version,
        file=fair.file,
        sha256=sha256(fair.file),
        letter=fair.letter,
        addressee=fair.papers[0].document.addressee,
        edition=fair.edition,
        program=fair.program,
        author=actor.name,
        shown=actor.shown,
        device=actor.device,
        at=now,
    )
    rows = [
        _row(signature, each, pdf, fair, writers_of(sheet, each.writing))
        for each, pdf in zip(fair.papers, pdfs, strict=True)
    ]
    models.Paper.objects.bulk_create(rows)
    visit.status = models.Visit.Status.SIGNED
    visit.save(update_fields=["status"])
    detail = {"number": number, "sha256": signature_digest(signature), "papers": papers_digest(rows)}
    add_lines(actor, [deed_at(visit, Action.SIGNED, detail)], now)


def signed_just_so(actor: Actor, visit_id: int, version: int) -> int | None:
    """Return the number of the signature that somebody gave to this version, None unless it is the last."""
    visit = visit_of(actor, visit_id)
    last = models.Signature.objects.filter(visit=visit).order_by("number").last()
    if last is None or not visit.is_signed or (last.author, last.version) != (actor.name, version):
        return None
    return last.number


def amend(actor: Actor, visit_id: int, reason: str, *, now: datetime) -> None:
    """Open a signed visit again for a reason; what was signed stays as it is and can be read."""
    reason = _line("reason", reason, LONGEST_REASON)
    if not reason:
        says, remedy = "is missing", "say why the signed examination has to change"
        raise InputError.of(place="reason", says=says, remedy=remedy)
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
        add_lines(actor, [deed_at(visit, Action.AMENDED, detail)], now)


def signature_digest(signature: models.Signature) -> str:
    """Return the hash over what was signed, which the line of the trail about it holds."""
    return sha256(f"{signature.file}\n{signature.letter}")


def papers_digest(rows: Iterable[models.Paper]) -> str:
    """Return the hash over the papers of a signature, which the line of the trail about it holds."""
    told = sorted(
        [
            row.kind,
            str(row.written_on),
            row.text,
            row.computed,
            row.passages,
            sha256(bytes(row.page)),
            row.pdf_sha256,
        ]
        for row in rows
    )
    return sha256(canonical(told))


def _row(
    signature: models.Signature, fair: FairPaper, pdf: str, whole: Fair, writers: Mapping[str, str]
) -> models.Paper:
    passages = [
        {"passage": name, "author": writers.get(name, ""), **asdict(each)} for name, each in fair.own.items()
    ]
    more: dict[str, object] = {"identity": fair.identity}
    if fair.writing is Writing.LETTER:
        more["concluded"] = whole.concluded
        if whole.earlier.files:
            more["earlier"] = whole.earlier.files
    return models.Paper(
        signature=signature,
        kind=fair.writing.value,
        written_on=fair.written_on,
        text=fair.text,
        computed=as_text(fair.computed),
        passages=canonical(passages),
        page=packed(fair.document, **more),
        pdf_sha256=pdf,
    )


def _next_signature(visit: models.Visit) -> tuple[int, datetime | None]:
    """Return the number of the next signature of a visit, and when the one before it was given."""
    last = models.Signature.objects.filter(visit=visit).order_by("number").last()
    return (1, None) if last is None else (last.number + 1, last.at)


def _ready(visit: models.Visit, version: int) -> models.Visit:
    if visit.is_signed:
        raise Frozen("This examination is signed already.")
    if visit.version != version:
        raise Moved("Something was written since you read it. Read it again, then sign.")
    if sheet_of(visit).conflicts:
        raise Disputed("Two entries disagree. Say which holds, then sign.")
    return visit


def _line(place: str, typed: str, longest: int) -> str:
    line = " ".join(typed.split())
    if len(line) > longest or not line.isprintable():
        remedy = f"write up to {longest} characters"
        says = "is too long or cannot be printed"
        raise InputError.of(place=place, value=line[:40], says=says, remedy=remedy)
    return line
