"""What the school keeps: practice runs and what was done in them, only ever added to; no patient."""

from __future__ import annotations

from datetime import datetime
from typing import Any, ClassVar

from django.db import models

from fabella.store.school import bench_models  # noqa: F401  the framework reads models from here


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


class PracticeOutcome(models.Model):
    """That the facts of a debriefed run are kept, and what the run took; it stands once for each run."""

    id: int
    run: models.OneToOneField[Any, Any] = models.OneToOneField(
        PracticeRun, on_delete=models.PROTECT, related_name="outcome"
    )
    run_id: int
    seconds: models.FloatField[float, float] = models.FloatField()
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    def __str__(self) -> str:
        """Return which run it is of."""
        return f"outcome of run {self.run_id}"


class PracticeSign(models.Model):
    """What became of one sign on one side (empty: of the person); ``abnormal`` is what it showed."""

    id: int
    run: models.ForeignKey[Any, Any] = models.ForeignKey(
        PracticeRun, on_delete=models.PROTECT, related_name="signs"
    )
    run_id: int
    sign: models.CharField[str, str] = models.CharField(max_length=80, db_index=True)
    side: models.CharField[str, str] = models.CharField(max_length=5)
    reading: models.CharField[str, str] = models.CharField(max_length=20)
    abnormal: models.BooleanField[bool | None, bool | None] = models.BooleanField(null=True)
    at_s: models.FloatField[float | None, float | None] = models.FloatField(null=True)
    seconds: models.FloatField[float, float] = models.FloatField()

    class Meta:
        """A sign stands once for each side."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["run", "sign", "side"], name="school_sign_once"),
        ]

    def __str__(self) -> str:
        """Return what it was and what became of it."""
        return f"{self.sign} {self.side}: {self.reading}"


class PracticeHabit(models.Model):
    """Whether a habit was kept, and in what share of its chances where that is counted."""

    id: int
    run: models.ForeignKey[Any, Any] = models.ForeignKey(
        PracticeRun, on_delete=models.PROTECT, related_name="habits"
    )
    run_id: int
    habit: models.CharField[str, str] = models.CharField(max_length=40, db_index=True)
    kept: models.BooleanField[bool, bool] = models.BooleanField()
    share: models.FloatField[float | None, float | None] = models.FloatField(null=True)

    class Meta:
        """A habit stands once."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["run", "habit"], name="school_habit_once"),
        ]

    def __str__(self) -> str:
        """Return which it is."""
        return f"{self.habit}: {'kept' if self.kept else 'not kept'}"


class PracticeBelief(models.Model):
    """The last probability given to a lesion (None: there and not named), and whether it was there."""

    id: int
    run: models.ForeignKey[Any, Any] = models.ForeignKey(
        PracticeRun, on_delete=models.PROTECT, related_name="beliefs"
    )
    run_id: int
    lesion: models.CharField[str, str] = models.CharField(max_length=80, db_index=True)
    believed: models.FloatField[float | None, float | None] = models.FloatField(null=True)
    present: models.BooleanField[bool, bool] = models.BooleanField()

    class Meta:
        """A lesion stands once."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["run", "lesion"], name="school_belief_once"),
        ]

    def __str__(self) -> str:
        """Return which it is."""
        return f"{self.lesion}: {self.believed}"
