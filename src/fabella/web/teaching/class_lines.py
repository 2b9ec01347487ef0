"""A class on one line, and its code as it is read from a board."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from fabella.report.wording import counted
from fabella.store.school.classes import KeptClass, Stand
from fabella.store.short_codes import spaced_code
from fabella.teach import Terms
from fabella.web.templating import clock


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
        Stand.WAITING: f"opens {clock(kept.opens)}",
        Stand.OPEN: f"open until {clock(kept.closes)}",
        Stand.OVER: f"over since {clock(kept.closes)}",
    }
    return ClassLine(
        id=kept.id,
        name=kept.name,
        code=spaced_code(kept.code),
        of=f"{kept.set_name}, {counted(len(kept.patients), 'patient')}",
        terms=terms_words(kept.terms, shuffled=kept.shuffled),
        is_open=stand is Stand.OPEN,
        when=when[stand],
    )


def terms_words(terms: Terms, *, shuffled: bool) -> str:
    """Return the terms of a class in words."""
    clock = "no clock" if terms.minutes is None else f"{terms.minutes:g} minutes a patient"
    told = "findings told" if terms.told else "findings as drawn and felt"
    return f"{clock}, {told}, {'each in an order of their own' if shuffled else 'all in the same order'}"
