"""A visit for other programs of the hospital: its letter and everything behind it as a FHIR document."""

from __future__ import annotations

from dataclasses import replace

from django.http import HttpResponse, HttpResponseRedirect

import fabella
from fabella.fhir import Identity, Signed, as_json, bundle
from fabella.protocol import load_protocol
from fabella.record import Writing, read_examination
from fabella.report import not_signed
from fabella.store import Moved, Role
from fabella.store.clinic.earlier import earlier_visits
from fabella.store.clinic.lines import PatientLine
from fabella.store.clinic.papers import own_words, paper
from fabella.store.clinic.trail import Action, clinic_mark
from fabella.store.clinic.visits import SignedRecord, see_signed, see_visit
from fabella.web.concluding import workup_of, workup_then
from fabella.web.door import enter
from fabella.web.files import sent_file
from fabella.web.recalled import followed
from fabella.web.templating import url
from fabella.web.visitor import Request

KIND = "application/fhir+json"
_ANOTHER_PROGRAM = ("conclusion-own",)
"""What was signed with another version is sent in its words: nothing is coded anew in the signer's name."""


@enter(Role.CLINICIAN)
def draft_fhir(request: Request, visit_id: int) -> HttpResponse:
    """Give an open visit as a document that says of itself, in words and codes, that nobody has signed it."""
    what = "FHIR document, not signed"
    record = see_visit(request.person, visit_id, now=request.now, action=Action.TOOK, what=what)
    if record.is_signed:
        number = record.signatures[-1].number
        return HttpResponseRedirect(url("signed_fhir", visit_id=visit_id, number=number))
    workup = workup_of(replace(record.examination, examiner=request.person.shown))
    own = own_words(record.sheet, Writing.LETTER)
    who = record.line.patient.identity
    earlier = earlier_visits(request.person, visit_id, record.examination)
    letter = paper(
        Writing.LETTER,
        workup,
        written_on=request.today,
        identity=who,
        earlier=followed(earlier.examinations),
        own=own,
    )
    tree = bundle(
        workup,
        not_signed(letter.document),
        when=request.now,
        identity=_identity(record.line.patient),
        issuer=clinic_mark(),
        reworded=[name for name, each in own.items() if each.text != each.computed],
    )
    return _sent(as_json(tree), f"visit-{visit_id}-not-signed")


@enter(Role.CLINICIAN)
def signed_fhir(request: Request, visit_id: int, number: int) -> HttpResponse:
    """Give a visit as it was signed: the words and the drawing that were kept, and the data behind them."""
    record = see_signed(request.person, visit_id, number, now=request.now)
    return _sent(_signed(record), f"visit-{visit_id}-signed-{number}")


def _signed(record: SignedRecord) -> str:
    letter = record.paper(Writing.LETTER)
    if letter is None:
        raise Moved(
            f"This letter was signed with Fabella {record.program}, before the page itself was kept. Its "
            "text and its examination file, as they were signed, can be taken."
        )
    examination = read_examination(record.file, protocol=load_protocol(), today=letter.written_on)
    own = [each.passage for each in letter.reworded if each.own.text != each.own.computed]
    tree = bundle(
        workup_then(examination, record.edition),
        letter.document,
        when=record.signature.at,
        signed=Signed(by=record.signature.shown, at=record.signature.at, number=record.signature.number),
        identity=_identity(record.visit.patient),
        issuer=clinic_mark(),
        reworded=own if record.program == fabella.__version__ else (*own, *_ANOTHER_PROGRAM),
        pdf=letter.pdf,
    )
    return as_json(tree)


def _identity(patient: PatientLine) -> Identity:
    return Identity(number=patient.number, label=patient.label, birth_date=patient.birth_date)


def _sent(text: str, name: str) -> HttpResponse:
    answer = sent_file(text, f"{name}.fhir.json")
    answer.headers["Content-Type"] = KIND
    return answer
