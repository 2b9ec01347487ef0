"""What the clinic keeps.

Entries, amendments, signatures, confirmations, measured pictures and the trail are only ever added to.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import ClassVar

from django.db import models

from fabella.record import Origin, Setting, Sex, Writing
from fabella.store.clinic import confirmation_models, picture_models  # noqa: F401  read from here

PROTECT = models.PROTECT


class Patient(models.Model):
    """A person who is examined: nothing more than an examination needs.

    ``number`` is the local one; an ``origin`` other than patient marks an invented person.
    """

    id: int
    service: models.CharField[str, str] = models.CharField(max_length=80)
    number: models.CharField[str, str] = models.CharField(max_length=40)
    label: models.CharField[str, str] = models.CharField(max_length=200)
    birth_date: models.DateField[date | None, date | None] = models.DateField(null=True, blank=True)
    sex: models.CharField[str, str] = models.CharField(
        max_length=10, blank=True, choices=[(each.value, each.value) for each in Sex]
    )
    origin: models.CharField[str, str] = models.CharField(
        max_length=10, choices=[(each.value, each.value) for each in (Origin.PATIENT, Origin.INVENTED)]
    )

    class Meta:
        """One number, one patient."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["service", "number"], name="clinic_patient_number")
        ]

    def __str__(self) -> str:
        """Return label and number."""
        return f"{self.label} ({self.number})"


class Visit(models.Model):
    """One examination of a patient.

    Its entries hold everything that was stated. ``version`` counts them; ``setting`` and ``complaint`` repeat
    what they state, so that lists need not read them.
    """

    class Status(models.TextChoices):
        """Whether entries may be added."""

        OPEN = "open"
        SIGNED = "signed"

    id: int
    patient: models.ForeignKey[Patient, Patient] = models.ForeignKey(
        Patient, on_delete=PROTECT, related_name="visits"
    )
    patient_id: int
    day: models.DateField[date, date] = models.DateField(db_index=True)
    setting: models.CharField[str, str] = models.CharField(
        max_length=20, blank=True, choices=[(each.value, each.value) for each in Setting]
    )
    complaint: models.CharField[str, str] = models.CharField(max_length=20, blank=True)
    status: models.CharField[str, str] = models.CharField(
        max_length=10, choices=Status.choices, default=Status.OPEN
    )
    version: models.PositiveIntegerField[int, int] = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        """Return whose visit it is and when it was."""
        return f"visit {self.id} on {self.day}"

    @property
    def is_signed(self) -> bool:
        """Whether nothing may be added."""
        return self.status == self.Status.SIGNED


class Entry(models.Model):
    """One operation on a visit's examination, as it was accepted."""

    id: int
    visit: models.ForeignKey[Visit, Visit] = models.ForeignKey(
        Visit, on_delete=PROTECT, related_name="entries"
    )
    visit_id: int
    version: models.PositiveIntegerField[int, int] = models.PositiveIntegerField()
    operation: models.CharField[str, str] = models.CharField(max_length=64, unique=True)
    base: models.PositiveIntegerField[int, int] = models.PositiveIntegerField()
    change: models.CharField[str, str] = models.CharField(max_length=20)
    payload: models.TextField[str, str] = models.TextField()
    author: models.CharField[str, str] = models.CharField(max_length=80)
    device: models.CharField[str, str] = models.CharField(max_length=40)
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    class Meta:
        """A visit's entries are numbered without repetition."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["visit", "version"], name="clinic_entry_version")
        ]

    def __str__(self) -> str:
        """Return the change and its place."""
        return f"{self.change}, version {self.version} of visit {self.visit_id}"


class Amendment(models.Model):
    """Why a signed visit was opened again; ``number`` is that of the signature it leads to."""

    id: int
    visit: models.ForeignKey[Visit, Visit] = models.ForeignKey(
        Visit, on_delete=PROTECT, related_name="amendments"
    )
    number: models.PositiveIntegerField[int, int] = models.PositiveIntegerField()
    reason: models.TextField[str, str] = models.TextField()
    author: models.CharField[str, str] = models.CharField(max_length=80)
    device: models.CharField[str, str] = models.CharField(max_length=40)
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    class Meta:
        """A visit's amendments are numbered without repetition."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["visit", "number"], name="clinic_amendment_number")
        ]

    def __str__(self) -> str:
        """Return the reason."""
        return self.reason


class Signature(models.Model):
    """A visit as it was signed: its file, its letter, and what they were made with.

    ``number`` 1 is the first signing, each further one that of its amendment.
    """

    id: int
    visit: models.ForeignKey[Visit, Visit] = models.ForeignKey(
        Visit, on_delete=PROTECT, related_name="signatures"
    )
    visit_id: int
    number: models.PositiveIntegerField[int, int] = models.PositiveIntegerField()
    version: models.PositiveIntegerField[int, int] = models.PositiveIntegerField()
    file: models.TextField[str, str] = models.TextField()
    sha256: models.CharField[str, str] = models.CharField(max_length=64)
    letter: models.TextField[str, str] = models.TextField()
    addressee: models.CharField[str, str] = models.CharField(max_length=200, blank=True)
    edition: models.CharField[str, str] = models.CharField(max_length=40)
    program: models.CharField[str, str] = models.CharField(max_length=40)
    author: models.CharField[str, str] = models.CharField(max_length=80)
    shown: models.CharField[str, str] = models.CharField(max_length=120)
    device: models.CharField[str, str] = models.CharField(max_length=40)
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    class Meta:
        """A visit is signed once, and once for each amendment."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["visit", "number"], name="clinic_signature_number")
        ]

    def __str__(self) -> str:
        """Return who signed when."""
        return f"signed by {self.shown}, {self.at:%Y-%m-%d %H:%M}"


class Paper(models.Model):
    """A letter or patient's page as it was signed: its words, what the program had said, who changed what.

    ``page`` holds everything from which it is drawn, packed; ``passages`` every passage in somebody's own
    words, as JSON; ``pdf_sha256`` is the hash of its PDF as the program made it then.
    """

    id: int
    signature: models.ForeignKey[Signature, Signature] = models.ForeignKey(
        Signature, on_delete=PROTECT, related_name="papers"
    )
    signature_id: int
    kind: models.CharField[str, str] = models.CharField(
        max_length=10, choices=[(each.value, each.value) for each in Writing]
    )
    written_on: models.DateField[date, date] = models.DateField()
    text: models.TextField[str, str] = models.TextField()
    computed: models.TextField[str, str] = models.TextField()
    passages: models.TextField[str, str] = models.TextField()
    page: models.BinaryField[bytes, bytes] = models.BinaryField()
    pdf_sha256: models.CharField[str, str] = models.CharField(max_length=64)

    class Meta:
        """A signature has one of each kind."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["signature", "kind"], name="clinic_paper_kind")
        ]

    def __str__(self) -> str:
        """Return what it is."""
        return f"{self.kind} of signature {self.signature_id}"


class Trace(models.Model):
    """One line of the trail: who did what to which patient, when, on which device.

    ``digest`` is the hash of this line and of the one before it.
    """

    id: int
    number: models.PositiveBigIntegerField[int, int] = models.PositiveBigIntegerField(unique=True)
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()
    actor: models.CharField[str, str] = models.CharField(max_length=80)
    device: models.CharField[str, str] = models.CharField(max_length=40)
    action: models.CharField[str, str] = models.CharField(max_length=20)
    patient: models.ForeignKey[Patient, Patient] = models.ForeignKey(
        Patient, on_delete=PROTECT, related_name="traces"
    )
    patient_id: int
    visit_id: models.BigIntegerField[int | None, int | None] = models.BigIntegerField(null=True)
    detail: models.TextField[str, str] = models.TextField()
    digest: models.CharField[str, str] = models.CharField(max_length=64)

    def __str__(self) -> str:
        """Return who did what."""
        return f"{self.actor} {self.action}"
