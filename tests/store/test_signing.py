import hashlib
from datetime import date, timedelta
from functools import partial

import pytest
from hypothesis import HealthCheck, given, settings

from fabella.errors import InputError
from fabella.protocol import load_protocol
from fabella.record import Examination, change_to, read_examination, statements
from fabella.report import signed_words
from fabella.store import Disputed, Frozen, Moved, NotThere
from fabella.store.clinic.charting import save
from fabella.store.clinic.details import PatientDetails
from fabella.store.clinic.fair import write_fair
from fabella.store.clinic.models import Patient
from fabella.store.clinic.patients import correct_patient
from fabella.store.clinic.signing import amend, sign
from fabella.store.clinic.visits import see_signed, see_visit
from fabella.workup import Workup, run_workup
from tests.store.people import (
    ANN,
    BEGUN,
    BEN,
    LACHMAN,
    LATER,
    LAX,
    NOW,
    TODAY,
    answer,
    batch,
    finding,
    new_patient,
    new_visit,
)
from tests.strategies import examinations

pytestmark = pytest.mark.usefixtures("database")
PROTOCOL = load_protocol()


def signed_visit() -> int:
    """A visit with one finding, signed."""
    visit = new_visit()
    save(ANN, visit, batch(finding(LAX)), now=NOW)
    assert sign(ANN, visit, version=3, addressee="Dr Invented", today=TODAY, now=NOW) == 1
    return visit


def test_what_was_signed_can_be_made_again() -> None:
    """The file that was kept reads as the examination, and gives the very letter that was kept."""
    visit = signed_visit()
    signed = see_signed(ANN, visit, 1, now=LATER)
    assert hashlib.sha256(signed.file.encode()).hexdigest() == signed.signature.sha256
    examination = read_examination(signed.file, protocol=PROTOCOL, today=TODAY)
    assert examination.examiner == "Ann"
    (identity,) = {each.identity for each in signed.papers}
    again = write_fair(examination, identity=identity, signer="Ann", addressee="Dr Invented", today=TODAY)
    again = again.signed(signed_words("Ann", NOW))
    assert (again.file, again.letter) == (signed.file, signed.letter)
    assert (again.edition, again.program) == (signed.edition, signed.program)
    assert "Dr Invented" in signed.letter


def test_a_signed_examination_takes_nothing_more() -> None:
    """After it an operation is refused with the remedy; one that was saved before is still known."""
    visit = new_visit()
    before = batch(finding(LAX))
    save(ANN, visit, before, now=NOW)
    sign(ANN, visit, version=3, addressee="", today=TODAY, now=NOW)
    (result,) = save(ANN, visit, batch(finding(LACHMAN, base=3)), now=LATER).results
    assert (result.outcome, str(result.problems[0])) == (
        "refused",
        f"operations[0]: '{result.id}' comes after the signature; amend the examination first",
    )
    (known,) = save(ANN, visit, before, now=LATER).results
    assert known.outcome == "saved"
    with pytest.raises(Frozen, match="signed already"):
        sign(ANN, visit, version=3, addressee="", today=TODAY, now=LATER)


def test_an_amendment_needs_a_reason_and_leaves_the_earlier_text() -> None:
    """An amended examination is signed anew, with its reason; the first text can be read unchanged."""
    visit = signed_visit()
    first = see_signed(ANN, visit, 1, now=NOW)
    with pytest.raises(InputError, match="reason: is missing"):
        amend(ANN, visit, "  ", now=NOW)
    amend(ANN, visit, "Felt again under anaesthesia", now=NOW)
    assert see_visit(ANN, visit, now=NOW).reason == "Felt again under anaesthesia"
    with pytest.raises(Frozen, match="not signed"):
        amend(ANN, visit, "again", now=NOW)
    save(ANN, visit, batch(finding({**LAX, "level": "3+"}, base=3)), now=LATER)
    assert sign(BEN, visit, version=4, addressee="", today=TODAY, now=LATER) == 2
    record = see_visit(ANN, visit, now=LATER)
    assert [(line.number, line.shown, line.reason) for line in record.signatures] == [
        (1, "Ann", ""),
        (2, "Ben", "Felt again under anaesthesia"),
    ]
    kept = see_signed(ANN, visit, 1, now=LATER)
    assert (kept.file, kept.letter, kept.signature) == (first.file, first.letter, first.signature)
    assert see_signed(ANN, visit, 2, now=LATER).letter != first.letter
    with pytest.raises(NotThere):
        see_signed(ANN, visit, 3, now=LATER)


def test_what_is_in_dispute_is_not_signed() -> None:
    """While two entries disagree nobody can sign; once somebody has said which holds, they can."""
    visit = new_visit()
    save(ANN, visit, batch(finding(LACHMAN)), now=NOW)
    save(BEN, visit, batch(finding(LAX)), now=NOW)
    with pytest.raises(Disputed):
        sign(ANN, visit, version=4, addressee="", today=TODAY, now=NOW)
    save(BEN, visit, batch(finding(LAX, base=4)), now=NOW)
    assert sign(ANN, visit, version=5, addressee="", today=TODAY, now=NOW) == 1


def test_only_what_was_read_is_signed() -> None:
    """A signature given for an earlier version than the present one is refused."""
    visit = new_visit()
    save(ANN, visit, batch(finding(LAX)), now=NOW)
    save(BEN, visit, batch(answer("fever", True)), now=NOW)
    with pytest.raises(Moved):
        sign(ANN, visit, version=3, addressee="", today=TODAY, now=NOW)


def test_what_is_written_while_the_letter_is_made_is_not_signed_unread() -> None:
    """An entry that arrives between reading and signing stops the signature."""
    visit = new_visit()
    save(ANN, visit, batch(finding(LAX)), now=NOW)

    def slow(examination: Examination) -> Workup:
        save(BEN, visit, batch(answer("fever", True)), now=NOW)
        return run_workup(examination)

    with pytest.raises(Moved):
        sign(ANN, visit, version=3, addressee="", today=TODAY, now=NOW, workup=slow)


def test_a_patient_corrected_since_the_letter_was_read_is_not_signed_unread() -> None:
    """Another birth date is another letter: it is read again, corrected before or at the signature."""
    visit = new_visit()
    save(ANN, visit, batch(finding(LAX)), now=NOW)
    line = see_visit(ANN, visit, now=NOW).line

    def correct(year: int) -> None:
        details = PatientDetails(number="K-1", label="Ada Invented", birth_date=date(year, 1, 1))
        correct_patient(BEN, line.patient.id, details, now=NOW)

    def slow(examination: Examination) -> Workup:
        correct(2010)
        return run_workup(examination)

    signing = partial(sign, ANN, visit, version=line.version, addressee="", today=TODAY, now=NOW)
    correct(1950)
    with pytest.raises(Moved, match="details were corrected"):
        signing(patient=line.patient.mark)
    mark = see_visit(ANN, visit, now=NOW).line.patient.mark
    with pytest.raises(Moved, match="details were corrected"):
        signing(patient=mark, workup=slow)
    assert signing(patient=see_visit(ANN, visit, now=NOW).line.patient.mark) == 1
    assert '"age_years": 16' in see_signed(ANN, visit, 1, now=NOW).file


def test_a_letter_read_before_midnight_is_not_signed_unread_after_it() -> None:
    """The letter bears its day: what was read on the day before is another letter, and is read again."""
    visit = new_visit()
    save(ANN, visit, batch(finding(LAX)), now=NOW)
    signing = partial(
        sign, ANN, visit, version=BEGUN + 1, addressee="", today=TODAY + timedelta(days=1), now=NOW
    )
    with pytest.raises(Moved, match="A new day has begun since you read this letter"):
        signing(read_on=str(TODAY))
    assert signing(read_on=str(TODAY + timedelta(days=1))) == 1


def test_nothing_examined_is_nothing_to_sign() -> None:
    """A visit without any finding is not signed as if the knees had been looked at."""
    with pytest.raises(InputError, match="nothing that was examined"):
        sign(ANN, new_visit(), version=BEGUN, addressee="", today=TODAY, now=NOW)


def test_a_contradiction_is_saved_but_not_signed() -> None:
    """Nothing typed is lost, but what cannot be true of any knee has to be mended before signing."""
    visit = new_visit()
    fixed = {"sign": "fixed_flexion", "side": "right", "value": 20, "unit": "deg"}
    bent = {"sign": "passive_flexion", "side": "right", "value": 10, "unit": "deg"}
    saved = save(ANN, visit, batch(finding(fixed), finding(bent)), now=NOW)
    assert [result.outcome for result in saved.results] == ["saved", "saved"]
    with pytest.raises(InputError, match="no knee bends less"):
        sign(ANN, visit, version=4, addressee="", today=TODAY, now=NOW)


def test_a_later_correction_of_the_patient_leaves_signed_text_alone() -> None:
    """The birth date that was known when it was signed stays in what was signed."""
    visit = signed_visit()
    before = see_signed(ANN, visit, 1, now=NOW)
    patient = before.visit.patient.id
    details = PatientDetails(number="K-1", label="Ada Corrected", birth_date=date(1950, 1, 1))
    correct_patient(ANN, patient, details, now=LATER)
    after = see_signed(ANN, visit, 1, now=LATER)
    assert (after.file, after.letter) == (before.file, before.letter)
    assert "Ada Invented" in after.file


@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(examinations(PROTOCOL, max_findings=6, max_answers=3))
def test_any_examination_comes_back_out_of_the_store(examination: Examination) -> None:
    """Every statement of any examination, saved on a visit, is read back as it was."""
    unlike = ("setting", "complaint", "procedure")  # stated at the start, or dated by the visit
    stated = {key: value for key, value in statements(examination).items() if key.name not in unlike}
    visit = new_visit(patient=new_patient(number=f"K-{Patient.objects.count() + 1}"))
    operations = [
        {"id": f"visit-{visit}-operation-{number}", "base": BEGUN, **change_to(key, value)}
        for number, (key, value) in enumerate(stated.items())
    ]
    saved = save(ANN, visit, batch(*operations), now=NOW)
    assert {result.outcome for result in saved.results} <= {"saved"}
    kept = statements(see_visit(ANN, visit, now=NOW).examination)
    assert {key: value for key, value in kept.items() if key.name not in unlike} == stated
