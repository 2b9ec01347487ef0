"""Several patients at once: a list held against who is there, its new ones added together or not at all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from unicodedata import normalize

from fabella.errors import Problem, Problems
from fabella.record import Origin
from fabella.store.actor import Actor
from fabella.store.clinic.access import patients_of
from fabella.store.clinic.details import PatientDetails
from fabella.store.clinic.lines import PatientLine, patient_line
from fabella.store.clinic.models import Patient
from fabella.store.clinic.patients import columns_of
from fabella.store.clinic.trail import Action, Deed, add_lines, add_reading
from fabella.store.router import CLINIC
from fabella.store.writing import writing

_AT_ONCE = 500  # numbers in one question to a database, which bounds them


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """One person of a list, and where in it: ``line 3``."""

    place: str
    details: PatientDetails


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """A list held against who is there.

    Parameters
    ----------
    new
        Whose number nobody has.
    there
        Who is there already under that number, with the same name and birth date.
    problems
        Whose number somebody else has: both are named.
    """

    new: tuple[PatientDetails, ...]
    there: tuple[PatientLine, ...]
    problems: tuple[Problem, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Added:
    """A list after it was added: who is new, and who had been there."""

    new: tuple[PatientLine, ...]
    there: tuple[PatientLine, ...]


def compare_list(actor: Actor, people: Sequence[Listed], *, today: date, now: datetime) -> Compared:
    """Return what adding a list would do. Numbers are each listed once; whom it names is in the trail."""
    known = _known(actor, people, today)
    add_reading(actor, _shown(known), now)
    return _compared(people, known)


def add_list(actor: Actor, people: Sequence[Listed], *, today: date, now: datetime) -> Added:
    """Add to the person's service whoever of a list is new, and change nobody who is there.

    A list that is added a second time adds nobody. `InputError` when a number is somebody else's: then
    nobody is added.
    """
    patients_of(actor)
    with writing(CLINIC):
        known = _known(actor, people, today)
        compared = _compared(people, known)
        if not compared.problems:
            rows = [
                Patient(service=actor.service, origin=Origin.PATIENT.value, **columns_of(each))
                for each in compared.new
            ]
            Patient.objects.bulk_create(rows)
            add_lines(actor, [Deed(action=Action.ADDED, patient=row.id) for row in rows], now)
    add_reading(actor, _shown(known), now)
    Problems(compared.problems).raise_any()
    return Added(new=tuple(patient_line(row, today) for row in rows), there=compared.there)


def _known(actor: Actor, people: Sequence[Listed], today: date) -> dict[str, PatientLine]:
    """Return who has any of the numbers, by number."""
    numbers = [each.details.number for each in people]
    allowed = patients_of(actor)
    return {
        row.number: patient_line(row, today)
        for first in range(0, len(numbers), _AT_ONCE)
        for row in allowed.filter(number__in=numbers[first : first + _AT_ONCE])
    }


def _shown(known: dict[str, PatientLine]) -> list[Deed]:
    return [Deed(action=Action.LISTED, patient=each.id) for each in known.values()]


def _compared(people: Sequence[Listed], known: dict[str, PatientLine]) -> Compared:
    new, there, problems = list[PatientDetails](), list[PatientLine](), Problems()
    for each in people:
        of_number = known.get(each.details.number)
        if of_number is None:
            new.append(each.details)
        elif _person(each.details) == _person(of_number):
            there.append(of_number)
        else:
            says = f"is the number of {_told(of_number)}; the list says {_told(each.details)}"
            remedy = "correct the number, or that patient's details"
            problems.add(f"{each.place}, number", of_number.number, says, remedy)
    return Compared(new=tuple(new), there=tuple(there), problems=tuple(problems))


def _person(of: PatientDetails | PatientLine) -> tuple[str, date | None]:
    """Return by what one person is told from another of the same number, however the name is written."""
    return normalize("NFC", of.label).casefold(), of.birth_date


def _told(of: PatientDetails | PatientLine) -> str:
    return f"{of.label}, {f'born {of.birth_date}' if of.birth_date else 'no birth date'}"
