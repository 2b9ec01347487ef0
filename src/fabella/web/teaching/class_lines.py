"""A class on one line, and its code as it is read from a board."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from fabella.store.school.classes import KeptClass, Stand
from fabella.teach import Terms


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassLine:
    """A class as it is listed: ``when`` says how it stands."""

    id: int
    name: str
    code: str
    of: str
    terms: str
    is_open: bool
    when: str


def class_line(kept: KeptClass, now: datetime) -> ClassLine:
    """Return a class as it is listed."""
    stand = kept.stand(now)
    when = {
        Stand.WAITING: f"opens {moment(kept.opens)}",
        Stand.OPEN: f"open until {moment(kept.closes)}",
        Stand.OVER: f"over since {moment(kept.closes)}",
    }
    return ClassLine(
        id=kept.id,
        name=kept.name,
        code=spaced(kept.code),
        of=f"{kept.set_name}, {counted(len(kept.patients), 'patient')}",
        terms=terms_words(kept.terms, shuffled=kept.shuffled),
        is_open=stand is Stand.OPEN,
        when=when[stand],
    )


def moment(value: datetime) -> str:
    """Return a moment in the time of this machine: 3 Feb 2026, 14:05."""
    local = value.astimezone()
    return f"{local.day} {local:%b %Y, %H:%M}"


def spaced(code: str) -> str:
    """Return a code in two halves, as it is easiest to copy."""
    return f"{code[: len(code) // 2]} {code[len(code) // 2 :]}"


def counted(number: int, thing: str) -> str:
    """Return a number of things: ``1 patient``, ``3 patients``."""
    return f"{number} {thing}{'' if number == 1 else 's'}"


def terms_words(terms: Terms, *, shuffled: bool) -> str:
    """Return the terms of a class in words."""
    clock = "no clock" if terms.minutes is None else f"{terms.minutes:g} minutes a patient"
    told = "findings told" if terms.told else "findings as drawn and felt"
    return f"{clock}, {told}, {'each in an order of their own' if shuffled else 'all in the same order'}"
