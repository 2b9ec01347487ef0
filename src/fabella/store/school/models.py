"""What the school keeps: practice runs and what was done in them, only ever added to; no patient."""

from __future__ import annotations

from datetime import datetime
from typing import Any, ClassVar

from django.db import models


class PracticeRun(models.Model):
    """One practice patient with one student: ``recipe`` is what the patient is drawn from, and stays here."""

    id: int
    student: models.CharField[str, str] = models.CharField(max_length=150, db_index=True)
    begun: models.DateTimeField[datetime, datetime] = models.DateTimeField()
    recipe: models.TextField[str, str] = models.TextField()
    minutes: models.FloatField[float | None, float | None] = models.FloatField(null=True)
    told: models.BooleanField[bool, bool] = models.BooleanField()

    def __str__(self) -> str:
        """Return who practised when."""
        return f"{self.student}, {self.begun:%Y-%m-%d}"


class PracticeEvent(models.Model):
    """One thing that a student did; ``key`` is the id that the client made, ``event`` its JSON."""

    id: int
    run: models.ForeignKey[Any, Any] = models.ForeignKey(
        PracticeRun, on_delete=models.PROTECT, related_name="events"
    )
    run_id: int
    number: models.PositiveIntegerField[int, int] = models.PositiveIntegerField()
    key: models.CharField[str, str] = models.CharField(max_length=64)
    act: models.CharField[str, str] = models.CharField(max_length=20)
    event: models.TextField[str, str] = models.TextField()
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    class Meta:
        """An event has one place in its run, and its key stands once."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["run", "number"], name="school_event_number"),
            models.UniqueConstraint(fields=["run", "key"], name="school_event_key"),
        ]

    def __str__(self) -> str:
        """Return its place in the run."""
        return f"event {self.number} of run {self.run_id}"


class PracticeLesson(models.Model):
    """What a debriefed run taught, and how good the differential was (None without one)."""

    id: int
    run: models.OneToOneField[Any, Any] = models.OneToOneField(
        PracticeRun, on_delete=models.PROTECT, related_name="lesson"
    )
    run_id: int
    topic: models.CharField[str, str] = models.CharField(max_length=20)
    about: models.CharField[str, str] = models.CharField(max_length=80)
    brier: models.FloatField[float | None, float | None] = models.FloatField(null=True)
    log_bits: models.FloatField[float | None, float | None] = models.FloatField(null=True)
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    def __str__(self) -> str:
        """Return what it is about."""
        return f"{self.topic} {self.about}".strip()
