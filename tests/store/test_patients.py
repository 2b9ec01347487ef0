from collections.abc import Callable
from datetime import date

import pytest

from fabella.errors import InputError
from fabella.record import Sex
from fabella.store import Actor, NotAllowed, NotThere, Role
from fabella.store.clinic.charting import save
from fabella.store.clinic.details import (
    PatientDetails,
    VisitDetails,
)
from fabella.store.clinic.patients import add_patient, correct_patient, find_patients, see_patient
from fabella.store.clinic.reading_trail import trail_of
from fabella.store.clinic.signing import amend, sign
from fabella.store.clinic.visits import (
    begin_visit,
    line_of,
    see_signed,
    see_visit,
    unfinished_visits,
    visits_on,
)
from tests.store.people import (
    ANN,
    BEN,
    LAX,
    NOW,
    STRANGER,
    TODAY,
    actor,
    batch,
    finding,
    new_patient,
    new_visit,
)

pytestmark = pytest.mark.usefixtures("database")
TAKEN = PatientDetails(number="K-1", label="Somebody Else")


def labels(words: str, who: Actor = ANN) -> list[str]:
    """The labels of the patients that are found."""
    return [line.label for line in find_patients(who, words, today=TODAY, now=NOW)]


def test_patients_are_found_by_parts_of_number_and_label() -> None:
    """Every word has to stand in number or label, in any order and case; no word finds everybody."""
    for number, label in [("K-1", "Ada Invented"), ("K-2", "Bo Invented"), ("L-1", "Ada Madeup")]:
        new_patient(number=number, label=label)
    assert labels("ada") == ["Ada Invented", "Ada Madeup"]
    assert labels("l-1 ada") == ["Ada Madeup"]
    assert labels("invented k-2") == ["Bo Invented"]
    assert labels("") == ["Ada Invented", "Ada Madeup", "Bo Invented"]
    assert labels("nobody") == []


def test_a_number_belongs_to_one_patient_of_a_service() -> None:
    """A number that is taken is refused by name; another service has numbers of its own."""
    patient = new_patient()
    with pytest.raises(InputError, match="number: 'K-1' is the number of another patient"):
        add_patient(BEN, TAKEN, now=NOW)
    other = new_patient(number="K-2")
    with pytest.raises(InputError, match="another patient"):
        correct_patient(ANN, other, TAKEN, now=NOW)
    assert new_patient(STRANGER) != patient


def test_details_are_corrected_and_what_they_were_is_in_the_trail() -> None:
    """A correction shows at once, and the trail keeps what stood there before."""
    patient = new_patient()
    details = PatientDetails(number="K-1", label="Ada Corrected", birth_date=date(1990, 3, 1), sex=Sex.FEMALE)
    correct_patient(ANN, patient, details, now=NOW)
    record = see_patient(ANN, patient, today=TODAY, now=NOW)
    assert (record.patient.label, record.patient.sex) == ("Ada Corrected", Sex.FEMALE)
    lines = trail_of(ANN, patient, today=TODAY, now=NOW).lines
    (corrected,) = (line for line in lines if line.action == "corrected")
    assert corrected.detail == {"before": {"label": "Ada Invented", "sex": ""}}


def test_a_patient_shows_all_visits_in_order_of_time() -> None:
    """Visits stand in the order of their days, whichever was entered first."""
    patient = new_patient()
    days = [date(2026, 5, 1), date(2025, 1, 1), date(2026, 11, 25)]
    for day in days:
        begin_visit(ANN, patient, VisitDetails(day=day), now=NOW)
    record = see_patient(ANN, patient, today=TODAY, now=NOW)
    assert [visit.day for visit in record.visits] == sorted(days)


def test_lists_hold_the_visits_of_the_day_and_earlier_open_ones() -> None:
    """The day's list holds that day's visits only; open visits of earlier days are listed apart."""
    patient = new_patient()
    earlier = begin_visit(ANN, patient, VisitDetails(day=date(2026, 11, 20)), now=NOW)
    today = begin_visit(ANN, patient, VisitDetails(day=TODAY), now=NOW)
    assert [line.id for line in visits_on(ANN, TODAY, now=NOW)] == [today]
    assert [line.id for line in unfinished_visits(ANN, before=TODAY, now=NOW)] == [earlier]


def _doors(patient: int, visit: int) -> dict[str, Callable[[Actor], object]]:
    """Every way to see or change anything of a patient."""
    return {
        "find": lambda who: find_patients(who, "", today=TODAY, now=NOW),
        "add": lambda who: add_patient(who, PatientDetails(number="X", label="X"), now=NOW),
        "correct": lambda who: correct_patient(who, patient, TAKEN, now=NOW),
        "see patient": lambda who: see_patient(who, patient, today=TODAY, now=NOW),
        "begin": lambda who: begin_visit(who, patient, VisitDetails(day=TODAY), now=NOW),
        "day": lambda who: visits_on(who, TODAY, now=NOW),
        "unfinished": lambda who: unfinished_visits(who, before=TODAY, now=NOW),
        "see visit": lambda who: see_visit(who, visit, now=NOW),
        "version": lambda who: line_of(who, visit),
        "signed": lambda who: see_signed(who, visit, 1, now=NOW),
        "save": lambda who: save(who, visit, batch(finding(LAX)), now=NOW),
        "sign": lambda who: sign(who, visit, version=3, addressee="", today=TODAY, now=NOW),
        "amend": lambda who: amend(who, visit, "a reason", now=NOW),
        "trail": lambda who: trail_of(who, patient, today=TODAY, now=NOW),
    }


@pytest.mark.parametrize("role", [role for role in Role if role is not Role.CLINICIAN])
def test_only_clinicians_pass_any_door(role: Role) -> None:
    """Whoever is no clinician is refused at every function that touches a patient, pages or no pages."""
    visit = new_visit()
    for name, door in _doors(1, visit).items():
        with pytest.raises(NotAllowed):
            door(actor("one", role))
        assert name


def test_another_services_clinician_finds_nothing() -> None:
    """A clinician of another service is shown empty lists, and told that patient and visit do not exist."""
    visit = new_visit()
    patient = see_visit(ANN, visit, now=NOW).line.patient.id
    doors = _doors(patient, visit)
    assert doors.pop("find")(STRANGER) == ()
    assert doors.pop("day")(STRANGER) == doors.pop("unfinished")(STRANGER) == ()
    doors.pop("add")
    for door in doors.values():
        with pytest.raises(NotThere):
            door(STRANGER)
