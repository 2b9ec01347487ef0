"""Several patients at once: new ones added together, known ones counted, somebody else's number refused."""

from datetime import date

import pytest

from fabella.errors import InputError
from fabella.record import Sex
from fabella.store import Actor, NotAllowed, Role
from fabella.store.clinic.details import PatientDetails
from fabella.store.clinic.patient_lists import Listed, add_list, compare_list
from fabella.store.clinic.patients import find_patients, see_patient
from fabella.store.clinic.reading_trail import trail_of
from fabella.store.clinic.verifying import verify
from tests.store.people import ANN, BEN, NOW, STRANGER, TODAY, actor, new_patient

pytestmark = pytest.mark.usefixtures("database")
BORN = date(1990, 3, 1)


def people(*told: tuple[str, str] | tuple[str, str, date | None]) -> tuple[Listed, ...]:
    """A list of people by number, name and birth date, by default the same one."""
    return tuple(
        Listed(
            place=f"line {line}",
            details=PatientDetails(number=each[0], label=each[1], birth_date=[*each, BORN][2], sex=Sex.MALE),
        )
        for line, each in enumerate(told, 2)
    )


def numbers(who: Actor = ANN) -> list[str]:
    """The numbers of everybody who is there."""
    return sorted(line.number for line in find_patients(who, "", today=TODAY, now=NOW))


def test_new_ones_are_added_and_known_ones_counted() -> None:
    """The list says beforehand what it would do, does that, and does nothing the second time."""
    known = new_patient()
    wanted = people(("K-2", "Bo Madeup"), ("K-1", "Ada Invented"), ("K-3", "Cy Nobody", None))
    foretold = compare_list(ANN, wanted, today=TODAY, now=NOW)
    assert [each.number for each in foretold.new] == ["K-2", "K-3"]
    assert [each.id for each in foretold.there] == [known]
    assert numbers() == ["K-1"], "nothing is kept by looking"
    added = add_list(ANN, wanted, today=TODAY, now=NOW)
    assert [(each.number, each.birth_date) for each in added.new] == [("K-2", BORN), ("K-3", None)]
    assert [each.id for each in added.there] == [known]
    record = see_patient(ANN, added.new[0].id, today=TODAY, now=NOW)
    assert (record.patient.label, record.patient.sex, record.visits) == ("Bo Madeup", Sex.MALE, ())
    again = add_list(BEN, wanted, today=TODAY, now=NOW)
    assert (again.new, len(again.there)) == ((), 3)
    assert numbers() == ["K-1", "K-2", "K-3"]


def test_each_addition_is_in_the_trail_as_one_is() -> None:
    """Everybody added has a line of that; who was there has one of being listed; the chain holds."""
    known = new_patient()
    added = add_list(BEN, people(("K-1", "Ada Invented"), ("K-2", "Bo Madeup")), today=TODAY, now=NOW)
    (new,) = added.new
    lines = trail_of(ANN, new.id, today=TODAY, now=NOW).lines
    assert [(line.actor, line.action) for line in lines if line.actor == "ben"] == [("ben", "added")]
    lines = trail_of(ANN, known, today=TODAY, now=NOW).lines
    assert [(line.actor, line.action) for line in lines if line.actor == "ben"] == [("ben", "listed")]
    assert verify(ANN).faults == ()


@pytest.mark.parametrize(
    "listed",
    [
        ("K-1", "Somebody Else", BORN),
        ("K-1", "Ada Invented", date(1991, 3, 1)),
        ("K-1", "Ada Invented", None),
    ],
)
def test_a_number_of_somebody_else_refuses_the_whole_list(listed: tuple[str, str, date | None]) -> None:
    """Both are named, nobody is added, and that the known one was named is in the trail."""
    known = new_patient()
    wanted = people(("K-2", "Bo Madeup"), listed)
    foretold = compare_list(BEN, wanted, today=TODAY, now=NOW)
    with pytest.raises(InputError) as refused:
        add_list(BEN, wanted, today=TODAY, now=NOW)
    assert refused.value.problems == foretold.problems
    (told,) = map(str, foretold.problems)
    assert told.startswith(
        "line 3, number: 'K-1' is the number of Ada Invented, born 1990-03-01; the list says "
    )
    assert listed[1] in told.partition("the list says")[2]
    assert str(listed[2] or "no birth date") in told.partition("the list says")[2]
    assert numbers() == ["K-1"]
    lines = trail_of(ANN, known, today=TODAY, now=NOW).lines
    assert ("ben", "listed") in [(line.actor, line.action) for line in lines]


def test_a_name_written_otherwise_is_the_same_name() -> None:
    """Capitals, and a letter with its accent apart, make nobody else of a person."""
    new_patient(label="Zo\u00eb Invented")
    found = compare_list(ANN, people(("K-1", "ZOE\u0308 invented")), today=TODAY, now=NOW)
    assert (len(found.there), found.new, found.problems) == (1, (), ())


def test_other_services_numbers_are_their_own() -> None:
    """A number of another service is neither known nor told of."""
    new_patient(STRANGER)
    added = add_list(ANN, people(("K-1", "Bo Madeup")), today=TODAY, now=NOW)
    assert len(added.new) == 1
    assert find_patients(STRANGER, "Bo", today=TODAY, now=NOW) == ()


def test_more_than_one_question_to_the_database_finds_all() -> None:
    """Twelve hundred are added and found again."""
    wanted = people(*((f"N-{number}", f"Person {number}") for number in range(1200)))
    assert len(add_list(ANN, wanted, today=TODAY, now=NOW).new) == 1200
    assert len(compare_list(ANN, wanted, today=TODAY, now=NOW).there) == 1200


@pytest.mark.parametrize("role", [role for role in Role if role is not Role.CLINICIAN])
def test_only_clinicians_add(role: Role) -> None:
    """Whoever is no clinician is refused by both functions."""
    for door in (compare_list, add_list):
        with pytest.raises(NotAllowed):
            door(actor("one", role), people(("K-1", "Ada Invented")), today=TODAY, now=NOW)
    assert numbers() == []
