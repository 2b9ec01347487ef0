"""What is asked about a patient and about a visit before anything is examined, and what answers are right."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import TypeVar

from fabella.anatomy import Side
from fabella.errors import Problems, suggestion
from fabella.record import Setting, Sex

EARLIEST = date(1900, 1, 1)
LONGEST_NUMBER, LONGEST_LABEL = 40, 200
_WRITTEN = re.compile("[0-9]{4}-[0-9]{2}-[0-9]{2}")

_Choice = TypeVar("_Choice", bound=StrEnum)


@dataclass(frozen=True, slots=True, kw_only=True)
class PatientDetails:
    """Local number, label, birth date and sex of a patient; None is unknown."""

    number: str
    label: str
    birth_date: date | None = None
    sex: Sex | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitDetails:
    """Day and setting of a visit, and the knees complained of, empty when neither is; None is unknown."""

    day: date
    setting: Setting | None = None
    complaint: tuple[Side, ...] | None = None


def read_patient_details(form: Mapping[str, str], *, today: date) -> PatientDetails:
    """Return the details of a patient as they were typed; raise `InputError` with every problem."""
    answers = _Answers(form)
    details = PatientDetails(
        number=answers.line("number", LONGEST_NUMBER),
        label=answers.line("label", LONGEST_LABEL),
        birth_date=answers.day("birth_date", today),
        sex=answers.choice("sex", Sex),
    )
    answers.finish()
    return details


def read_visit_details(form: Mapping[str, str], *, today: date) -> VisitDetails:
    """Return the details of a visit as they were typed, by default today's; raise `InputError` likewise."""
    answers = _Answers(form)
    complaint = answers.choice("complaint", Complaint)
    details = VisitDetails(
        day=answers.day("day", today) or today,
        setting=answers.choice("setting", Setting),
        complaint=None if complaint is None else complaint.sides,
    )
    answers.finish()
    return details


class Complaint(StrEnum):
    """Which knee the patient complains of, if any, as one choice."""

    RIGHT = "right"
    LEFT = "left"
    BOTH = "both"
    NONE = "none"

    @property
    def sides(self) -> tuple[Side, ...]:
        """The knees of the choice."""
        return tuple(side for side in Side if self.value in {side.value, "both"})

    @classmethod
    def of(cls, sides: tuple[Side, ...]) -> Complaint:
        """Return the choice of these knees."""
        return next(each for each in cls if set(each.sides) == set(sides))


class _Answers:
    """What was typed into a form; every problem is noted under the name of its field."""

    def __init__(self, form: Mapping[str, str]) -> None:
        self._form = form
        self._problems = Problems()

    def _typed(self, name: str) -> str:
        return " ".join(self._form.get(name, "").split())

    def _wrong(self, name: str, says: str, remedy: str) -> None:
        self._problems.add(name, self._typed(name), says, remedy)

    def line(self, name: str, longest: int) -> str:
        """Return a line of text that has to be there."""
        typed = self._typed(name)
        if not typed:
            self._wrong(name, "is missing", f"write up to {longest} characters")
        elif len(typed) > longest or not typed.isprintable():
            self._wrong(name, "is too long or cannot be printed", f"write up to {longest} characters")
        return typed

    def day(self, name: str, latest: date) -> date | None:
        """Return a day, or None when none was typed."""
        typed = self._typed(name)
        if not typed:
            return None
        try:
            day = date.fromisoformat(typed if _WRITTEN.fullmatch(typed) else "")
        except ValueError:
            self._wrong(name, "is no day of the calendar", "write YYYY-MM-DD")
            return None
        if not EARLIEST <= day <= latest:
            self._wrong(name, "is out of range", f"allowed: {EARLIEST} to {latest}")
        return day

    def choice(self, name: str, choices: type[_Choice]) -> _Choice | None:
        """Return one of a few words, or None when none was chosen."""
        typed = self._typed(name)
        if not typed:
            return None
        if typed in list(choices):
            return choices(typed)
        self._wrong(name, "is not allowed here", suggestion(typed, choices))
        return None

    def finish(self) -> None:
        """Raise what was noted."""
        self._problems.raise_any()
