"""Whose document it is: who examined and signed, which version it is, and what all its resources share."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime

from fabella.errors import Problems
from fabella.fhir.elements import Names, Tree, clean, instant, reference
from fabella.workup import Workup


@dataclass(frozen=True, slots=True, kw_only=True)
class Identity:
    """Who the patient is to the place that sends it: local number, name as shown, birth date."""

    number: str
    label: str = ""
    birth_date: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Signed:
    """Who signed and when; ``number`` 1 is the first signing, each further one that of an amendment."""

    by: str
    at: datetime
    number: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Matter:
    """What a document is made of, and what its resources have in common.

    Parameters
    ----------
    workup
        The examination and what it came to.
    when
        The moment at which the document is put together, with its time zone.
    signed
        None while nobody has signed.
    identity
        None when the record tells nothing but age and sex.
    issuer
        Who numbers these examinations; goes into every id.
    test
        Whether it is not about a real patient.
    """

    workup: Workup
    when: datetime
    signed: Signed | None
    identity: Identity | None
    issuer: str
    test: bool
    names: Names = field(init=False)

    def __post_init__(self) -> None:
        times = (("when", self.when), ("signed.at", self.signed.at if self.signed else None))
        says, remedy = "has no time zone", "give one with it"
        naive = Problems()
        for place, time in times:
            if time is not None and time.tzinfo is None:
                naive.add(place, str(time), says, remedy)
        naive.raise_any()
        names = Names(issuer=self.issuer, examination=self.workup.examination.id)
        object.__setattr__(self, "names", names)

    @property
    def status(self) -> str:
        """``preliminary`` before it is signed, ``final`` after it, ``amended`` when signed again."""
        if self.signed is None:
            return "preliminary"
        return "final" if self.signed.number == 1 else "amended"

    @property
    def now(self) -> str:
        """The moment of the document."""
        return instant(self.when)

    @property
    def day(self) -> str | None:
        """The day of the examination; None when it is unknown."""
        day = self.workup.examination.examined_on
        return None if day is None else day.isoformat()

    @property
    def patient(self) -> Tree:
        """The reference to the patient."""
        return reference(self.patient_id)

    @property
    def patient_id(self) -> str:
        """The same for every examination of a patient whose number is known."""
        if self.identity is not None:
            return self.names.anywhere("patient", self.identity.number)
        return self.names.of("patient")

    def document_id(self, number: int | None = None) -> str:
        """Return the id of the document of a signature, None: of this one; every draft has one of its own."""
        if number is None and self.signed is None:
            return self.names.of("draft", self.now)
        return self.names.of("document", str(number or (self.signed.number if self.signed else 1)))

    @property
    def device(self) -> Tree:
        """The reference to the program."""
        return reference(self.device_id)

    @property
    def device_id(self) -> str:
        """The same for the same program and evidence."""
        return self.names.anywhere("device", self.workup.version, self.workup.edition)

    @property
    def examiner(self) -> str:
        """Who examined, as written in the record; empty when nobody is named."""
        return clean(self.workup.examination.examiner or "")

    @property
    def signer(self) -> str:
        """Who signed; empty when nobody has."""
        return clean(self.signed.by) if self.signed else ""

    def person(self, name: str) -> Tree | None:
        """Return the reference to somebody who examined or signed; None for nobody."""
        return reference(self.person_id(name), name) if name else None

    def person_id(self, name: str) -> str:
        """Return the id of somebody who examined or signed."""
        return self.names.anywhere("practitioner", name)
