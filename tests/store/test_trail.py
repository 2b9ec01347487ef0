from dataclasses import replace
from datetime import timedelta

import pytest
from django.db import connections

from fabella.store import NotAllowed, Role
from fabella.store.clinic.charting import save
from fabella.store.clinic.confirming import confirm
from fabella.store.clinic.models import Patient, Trace
from fabella.store.clinic.patients import find_patients, see_patient
from fabella.store.clinic.picturing import keep_picture
from fabella.store.clinic.reading_trail import trail_of
from fabella.store.clinic.signing import amend, sign
from fabella.store.clinic.trail import BEGINNING, SITTING, Action
from fabella.store.clinic.verifying import verify
from fabella.store.clinic.visits import see_signed, see_visit, visits_on
from fabella.store.router import CLINIC
from tests.store.drawn import ID, TAKEN
from tests.store.people import ANN, BEN, LATER, LAX, NOW, TODAY, actor, batch, finding, new_patient, new_visit

pytestmark = pytest.mark.usefixtures("database")


def lines() -> list[tuple[str, str]]:
    """Who did what, in order."""
    return list(Trace.objects.order_by("number").values_list("actor", "action"))


def test_everything_that_is_seen_or_written_leaves_its_line() -> None:
    """Each function that shows or changes something of a patient adds a line that says so."""
    visit = new_visit()
    patient = see_visit(ANN, visit, now=NOW).line.patient.id
    save(ANN, visit, batch(finding(LAX)), now=NOW)
    find_patients(BEN, "", today=TODAY, now=NOW)
    see_patient(BEN, patient, today=TODAY, now=NOW)
    sign(ANN, visit, version=3, addressee="", today=TODAY, now=NOW)
    see_signed(BEN, visit, 1, now=NOW)
    amend(BEN, visit, "a reason", now=NOW)
    trail_of(ANN, patient, today=TODAY, now=NOW)
    assert lines() == [
        ("ann", "added"),
        ("ann", "began"),
        ("ann", "wrote"),
        ("ann", "opened"),
        ("ann", "wrote"),
        ("ben", "listed"),
        ("ben", "opened"),
        ("ann", "signed"),
        ("ben", "took"),
        ("ben", "amended"),
        ("ann", "opened"),
    ]
    assert {row.patient_id for row in Trace.objects.all()} == {patient}


def test_a_page_that_stays_open_is_one_reading() -> None:
    """What an open page fetches again is one line a quarter of an hour; opening it has its own every time."""
    visit = new_visit()
    begun = len(lines())
    see_visit(ANN, visit, now=NOW)
    for minutes in range(1, 40):
        see_visit(ANN, visit, now=NOW + timedelta(minutes=minutes), action=Action.FOLLOWED)
    see_visit(ANN, visit, now=NOW + timedelta(minutes=40))
    assert [action for _, action in lines()[begun:]] == ["opened", "followed", "followed", "opened"]
    assert timedelta(minutes=15) == SITTING


def test_each_device_and_person_reads_for_themselves() -> None:
    """A list shown to another person, or on another device, is another reading."""
    new_patient()
    begun = len(lines())
    for who in (ANN, ANN, BEN, actor("ann", device="desk")):
        find_patients(who, "", today=TODAY, now=NOW)
    assert [name for name, _ in lines()[begun:]] == ["ann", "ben", "ann"]


def test_a_list_is_a_reading_of_everybody_in_it() -> None:
    """Each patient on a day's list has a line, though they were only listed."""
    for number in ("K-1", "K-2"):
        new_visit(patient=new_patient(number=number))
    visits_on(BEN, TODAY, now=LATER)
    listed = Trace.objects.filter(actor="ben", action="listed").values_list("patient_id", flat=True)
    assert set(listed) == set(Patient.objects.values_list("id", flat=True))


def test_what_cannot_be_told_is_not_shown(monkeypatch: pytest.MonkeyPatch) -> None:
    """If the trail cannot be written, the patient is not shown either."""
    patient = new_patient()

    def fail(*_: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr("fabella.store.clinic.trail.add_lines", fail)
    with pytest.raises(OSError, match="disk full"):
        see_patient(ANN, patient, today=TODAY, now=NOW)


def test_the_trail_of_a_patient_is_told_latest_first() -> None:
    """Own clinicians read who did what, with the particulars, and that they read it."""
    patient = new_patient()
    new_patient(number="K-2")
    told = trail_of(BEN, patient, today=TODAY, now=LATER).lines
    assert [(line.actor, line.action, line.device) for line in told] == [
        ("ben", "opened", "phone"),
        ("ann", "added", "tablet"),
    ]
    assert (told[0].detail, told[0].at) == ({"what": "trail"}, LATER)


def test_the_head_of_the_chain_tells_its_whole_past() -> None:
    """The hash of the last line changes with every line, and verifying returns it."""
    assert verify(ANN).head == BEGINNING
    new_visit()
    first = verify(ANN)
    assert (first.lines, first.entries, first.faults) == (3, 2, ())
    new_patient(number="K-2")
    assert verify(ANN).head != first.head


def test_only_administrators_and_clinicians_verify() -> None:
    """Checking the trail shows no patient, and is still nobody else's business."""
    assert verify(actor("boss", Role.ADMINISTRATOR)).faults == ()
    with pytest.raises(NotAllowed):
        verify(actor("stu", Role.STUDENT))


def tampered(statement: str) -> tuple[str, ...]:
    """The faults that are found after somebody with the keys to the database did this."""
    with connections[CLINIC].cursor() as cursor:
        if connections[CLINIC].vendor == "sqlite":
            cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
            for (name,) in cursor.fetchall():
                cursor.execute(f"DROP TRIGGER {name}")
        else:
            cursor.execute("SET session_replication_role = replica")
        cursor.execute(statement)
    return verify(ANN).faults


@pytest.mark.parametrize(
    ("statement", "expected"),
    [
        ("UPDATE clinic_trace SET actor = 'eve' WHERE number = 2", "line 2 is not as it was written"),
        ("UPDATE clinic_trace SET detail = '{}' WHERE number = 1 AND actor = 'nobody'", None),
        ("DELETE FROM clinic_trace WHERE number = 1", "line 1 is missing"),
        (
            "UPDATE clinic_entry SET payload = REPLACE(payload, '2+', '3+') WHERE version = 3",
            "entries 3 to 3 of visit 1 are not as they were written",
        ),
        ("DELETE FROM clinic_entry WHERE version = 3", "the trail tells of 3 entries, and there are 2"),
        (
            "DELETE FROM clinic_trace WHERE action = 'signed'",
            "the trail tells of 0 signatures, and there are 1",
        ),
        (
            "UPDATE clinic_signature SET letter = 'All is well.'",
            "signature 1 of visit 1 is not as it was given",
        ),
        (
            "UPDATE clinic_amendment SET reason = 'a better one'",
            "amendment 2 of visit 1 is not as it was written",
        ),
        (
            "UPDATE clinic_confirmation SET payload = REPLACE(payload, 'complete', 'absent')",
            "confirmation 1 of visit 1 is not as it was written",
        ),
        (
            "DELETE FROM clinic_trace WHERE action = 'confirmed'",
            "the trail tells of 0 confirmations, and there are 1",
        ),
        (
            "UPDATE clinic_measuredpicture SET payload = REPLACE(payload, 'right', 'left')",
            "picture 1 of visit 1 is not as it was kept",
        ),
        (
            "DELETE FROM clinic_trace WHERE action = 'measured'",
            "the trail tells of 0 pictures, and there are 1",
        ),
        ("UPDATE clinic_visit SET version = 2", "visit 1 says that it has 2 entries"),
    ],
)
def test_tampering_is_found(statement: str, expected: str | None) -> None:
    """Whoever has the keys to the database can change a row, and cannot hide that it was changed."""
    visit = new_visit()
    save(ANN, visit, batch(finding(LAX)), now=NOW)
    keep_picture(ANN, visit, replace(TAKEN, finding=None), id_=ID, base=3, now=NOW)
    sign(ANN, visit, version=3, addressee="", today=TODAY, now=NOW)
    seen = {"side": "right", "on": str(TODAY), "method": "mri", "found": {"acl_tear": "complete"}}
    confirm(ANN, visit, seen, today=TODAY, now=NOW)
    amend(ANN, visit, "a reason", now=NOW)
    faults = tampered(statement)
    assert (expected in faults) if expected else not faults
