"""The letter of a later visit and the signed visits before it: read, signed, kept, made again."""

from __future__ import annotations

import json
import zlib
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connections, transaction

from fabella.anatomy import Side
from fabella.record import Examination, Passage, Setting, Sex, Writing
from fabella.report import Placed
from fabella.store import Moved, NotThere
from fabella.store.clinic import models, signing
from fabella.store.clinic.charting import save
from fabella.store.clinic.details import PatientDetails, VisitDetails
from fabella.store.clinic.earlier import NO_EARLIER, Earlier, earlier_visits
from fabella.store.clinic.fair import Fair, write_fair
from fabella.store.clinic.patients import correct_patient
from fabella.store.clinic.remaking import remake
from fabella.store.clinic.signing import amend, sign
from fabella.store.clinic.verifying import verify
from fabella.store.clinic.visits import SignedRecord, begin_visit, see_signed, see_visit
from fabella.store.router import CLINIC
from fabella.workup import Workup, run_workup
from tests.store.people import ANN, BEN, LATER, NOW, STRANGER, TODAY, batch, finding, new_patient

DAYS = (TODAY - timedelta(days=60), TODAY - timedelta(days=30), TODAY)
GAIN = "Passive flexion of the right knee 96 → 118 degrees: a true gain"


def bent(patient: int, day: date, flexion: float, *, complaint: tuple[Side, ...] = (Side.RIGHT,)) -> int:
    """A visit of a day at which flexion of the right knee was measured."""
    details = VisitDetails(day=day, setting=Setting.SPECIALIST_CLINIC, complaint=complaint)
    visit = begin_visit(ANN, patient, details, now=NOW)
    measured(visit, flexion)
    return visit


def measured(visit: int, flexion: float) -> None:
    """Write down how far the right knee bends."""
    base = see_visit(ANN, visit, now=NOW).line.version
    method = {"unit": "deg", "method": "long goniometer"}
    bend = finding({"sign": "passive_flexion", "side": "right", "value": flexion, **method}, base=base)
    (result,) = save(ANN, visit, batch(bend), now=NOW).results
    assert result.problems == ()


def compared(visit: int) -> Earlier:
    """The earlier visits that the letter of a visit is held against now."""
    return earlier_visits(ANN, visit, see_visit(ANN, visit, now=NOW).examination)


def written(visit: int) -> Fair:
    """What would be signed now."""
    record = see_visit(ANN, visit, now=NOW)
    return write_fair(
        record.examination,
        identity=record.line.patient.identity,
        signer="Ann",
        addressee="",
        today=TODAY,
        earlier=compared(visit),
    )


def letter(visit: int) -> str:
    """The letter as it would be signed now, on one line."""
    return " ".join(written(visit).letter.split())


def signed(visit: int, number: int = 1, **more: Any) -> SignedRecord:
    """Sign a visit as it stands, and return what was signed."""
    version = see_visit(ANN, visit, now=NOW).line.version
    given = {"version": version, "addressee": "", "today": TODAY, "now": NOW, **more}
    assert sign(ANN, visit, **given) == number
    return see_signed(ANN, visit, number, now=LATER)


@pytest.fixture
def patient(files: None) -> int:
    """A patient."""
    del files
    return new_patient()


def test_the_letter_of_a_later_visit_says_what_has_changed_since_the_last_signed_one(database: str) -> None:
    """On every kind of database; what was signed is kept with it, and made again to the last character."""
    assert database
    made = new_patient()
    first, second, third = (bent(made, *each) for each in zip(DAYS, (80, 96, 118), strict=True))
    assert "SINCE" not in letter(third)
    signed(first)
    assert f"SINCE {DAYS[0].day} September 2026".upper() in letter(third).upper()
    signed(second)
    assert GAIN in letter(third)
    assert "80 → 118 degrees" in letter(third)
    record = signed(third)
    assert GAIN in " ".join(record.letter.split())
    page = record.paper(Writing.SUMMARY)
    assert page is not None
    assert "Your right knee bends further." in page.text
    kept = record.paper(Writing.LETTER)
    assert kept is not None
    assert [json.loads(each)["id"] for each in kept.earlier] == [f"visit-{first}", f"visit-{second}"]
    assert remake(record).is_exact
    assert [each.same_drawing for each in remake(record).papers] == [True, True]
    assert verify(ANN).faults == ()


def test_an_earlier_visit_that_is_amended_leaves_what_was_signed_and_changes_what_was_not(
    patient: int,
) -> None:
    """The signed letter stands, and is made again of what it was held against; an open one follows."""
    first, second, third = (bent(patient, *each) for each in zip(DAYS, (80, 96, 118), strict=True))
    signed(first)
    before = signed(second)
    assert "80 → 118 degrees" in letter(third)
    amend(ANN, first, "Measured anew", now=NOW)
    assert "80 → 118 degrees" in letter(third)  # until it is signed again
    measured(first, 60)
    signed(first, number=2)
    assert "60 → 118 degrees" in letter(third)
    after = see_signed(ANN, second, 1, now=LATER)
    assert (after.letter, after.papers) == (before.letter, before.papers)
    assert "80 → 96 degrees" in " ".join(after.letter.split())
    assert remake(after).is_exact


def test_only_signed_visits_of_the_same_patient_on_days_before_count(patient: int) -> None:
    """Neither another patient's, nor one of the same day, nor a later one; nobody else's clinic sees them."""
    visit = bent(patient, DAYS[1], 96)
    for other in (bent(new_patient(number="K-2"), DAYS[0], 80), bent(patient, DAYS[1], 80)):
        signed(other)
    signed(bent(patient, DAYS[2], 118))
    assert compared(visit) == NO_EARLIER
    assert compared(visit).mark == ""
    with pytest.raises(NotThere):
        earlier_visits(STRANGER, visit, see_visit(ANN, visit, now=NOW).examination)


def test_a_letter_read_before_an_earlier_visit_was_signed_is_not_signed_unread(patient: int) -> None:
    """Whoever read a letter that says nothing of a change signs none that does, and the other way round."""
    first, second, third = (bent(patient, *each) for each in zip(DAYS, (80, 96, 118), strict=True))
    read = compared(third).mark
    signed(first)
    with pytest.raises(Moved, match="An earlier visit was signed since"):
        signed(third, earlier=read)
    read = compared(third).mark
    signed(second)
    with pytest.raises(Moved, match="An earlier visit was signed since"):
        signed(third, earlier=read)
    assert GAIN in " ".join(signed(third, earlier=compared(third).mark).letter.split())
    assert verify(ANN).faults == ()


def test_an_earlier_visit_signed_while_the_letter_is_made_stops_the_signature(patient: int) -> None:
    """Between what was read and what is kept nothing slips in."""
    first, second = (bent(patient, *each) for each in zip(DAYS[:2], (80, 96), strict=True))
    read = compared(second).mark

    def slow(examination: Examination) -> Workup:
        version = see_visit(BEN, first, now=NOW).line.version
        sign(BEN, first, version=version, addressee="", today=TODAY, now=NOW)
        return run_workup(examination)

    with pytest.raises(Moved, match="An earlier visit was signed since"):
        signed(second, earlier=read, workup=slow)
    assert not see_visit(ANN, second, now=NOW).is_signed


def test_what_was_signed_before_letters_said_so_is_made_again_as_it_was(
    patient: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A signature without earlier visits says nothing of a change, though there were visits before."""
    first, second = (bent(patient, *each) for each in zip(DAYS[:2], (80, 96), strict=True))
    signed(first)
    with monkeypatch.context() as then:
        then.setattr(signing, "files_before", lambda _: ())
        record = signed(second)
    assert "SINCE" not in record.letter
    for row in models.Paper.objects.filter(signature__visit_id=second):
        assert "earlier" not in json.loads(zlib.decompress(bytes(row.page)))
    assert remake(record).is_exact
    amend(ANN, second, "With what has changed", now=NOW)
    assert "SINCE" in signed(second, number=2).letter


def test_a_name_that_was_corrected_is_no_other_patient(patient: int) -> None:
    """The earlier file keeps the name of then, and the letter is held against it all the same."""
    first, second = (bent(patient, *each) for each in zip(DAYS[:2], (80, 96), strict=True))
    signed(first)
    details = PatientDetails(number="K-1", label="Ada Renamed", birth_date=date(1990, 3, 1), sex=Sex.FEMALE)
    correct_patient(ANN, patient, details, now=NOW)
    record = signed(second)
    assert "80 → 96 degrees" in " ".join(record.letter.split())
    kept = record.paper(Writing.LETTER)
    assert kept is not None
    assert "Ada Invented" in kept.earlier[0]
    assert remake(record).is_exact


def test_what_has_changed_can_be_put_in_other_words(patient: int) -> None:
    """They are signed, and are out of date when the earlier visit is amended under them."""
    first, second = (bent(patient, *each) for each in zip(DAYS[:2], (80, 96), strict=True))
    signed(first)
    sections = {section.id: blocks for section, blocks in written(second).papers[0].sections}
    better = next(
        each for each in sections["since"] if isinstance(each, Placed) and each.id == "since-better"
    )
    assert "80 → 96 degrees" in better.computed
    version = see_visit(ANN, second, now=NOW).line.version
    words = {
        "id": "words-of-tests-000001",
        "base": version,
        "change": "set_passage",
        "document": "letter",
        "passage": "since-better",
        "text": "It bends well now.",
        "computed": better.computed,
    }
    (result,) = save(ANN, second, batch(words), now=NOW).results
    assert result.problems == ()
    record = signed(second)
    assert "Better: It bends well now." in record.letter
    assert remake(record).is_exact
    own = {"since-better": Passage(text="It bends well now.", computed=better.computed)}
    amend(ANN, first, "Measured anew", now=NOW)
    measured(first, 70)
    signed(first, number=2)
    fair = write_fair(
        see_visit(ANN, second, now=NOW).examination,
        identity="",
        signer="Ann",
        addressee="",
        today=TODAY,
        earlier=compared(second),
        own={Writing.LETTER: own},
    )
    assert ["letter, Better"] == [each.place for each in fair.problems]


def test_an_earlier_file_that_is_changed_behind_the_programs_back_is_found(patient: int) -> None:
    """What a letter was held against is covered by the trail, like the letter."""
    first, second = (bent(patient, *each) for each in zip(DAYS[:2], (80, 96), strict=True))
    signed(first)
    signed(second)
    row = models.Paper.objects.get(signature__visit_id=second, kind="letter")
    tree = json.loads(zlib.decompress(bytes(row.page)))
    tree["earlier"] = [each.replace("80", "90") for each in tree["earlier"]]
    changed = zlib.compress(json.dumps(tree).encode())
    with transaction.atomic(using=CLINIC), connections[CLINIC].cursor() as cursor:
        cursor.execute("DROP TRIGGER clinic_paper_no_update")
        cursor.execute("UPDATE clinic_paper SET page = %s WHERE id = %s", [changed, row.id])
    (fault,) = verify(ANN).faults
    assert fault == f"the papers of signature 1 of visit {second} are not as they were signed"
    assert not remake(see_signed(ANN, second, 1, now=LATER)).is_exact
