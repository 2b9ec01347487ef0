"""What the teacher's bench keeps: sets of patients, classes and their runs; only ever added to."""

from __future__ import annotations

from datetime import datetime
from typing import Any, ClassVar

from django.db import models


class PracticeSet(models.Model):
    """A named set of practice patients."""

    id: int
    name: models.CharField[str, str] = models.CharField(max_length=80, unique=True)
    maker: models.CharField[str, str] = models.CharField(max_length=120)
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    def __str__(self) -> str:
        """Return its name."""
        return self.name


class SetPatient(models.Model):
    """A patient of a set: ``recipe`` is what it is drawn from, ``wished`` the lesions that were asked for."""

    id: int
    of: models.ForeignKey[Any, Any] = models.ForeignKey(
        PracticeSet, on_delete=models.PROTECT, related_name="patients"
    )
    of_id: int
    name: models.CharField[str, str] = models.CharField(max_length=80)
    recipe: models.TextField[str, str] = models.TextField()
    wished: models.TextField[str, str] = models.TextField()
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    def __str__(self) -> str:
        """Return what the teacher calls it."""
        return self.name


class SetOrder(models.Model):
    """In what order the patients of a set stand, as a JSON list of their ids; the latest of a set holds."""

    id: int
    of: models.ForeignKey[Any, Any] = models.ForeignKey(
        PracticeSet, on_delete=models.PROTECT, related_name="orders"
    )
    of_id: int
    patients: models.TextField[str, str] = models.TextField()
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    def __str__(self) -> str:
        """Return the ids."""
        return self.patients


class PatientDifficulty(models.Model):
    """How surely the ideal examiner concludes on a patient in a station of ``minutes`` (None: no clock)."""

    id: int
    patient: models.ForeignKey[Any, Any] = models.ForeignKey(
        SetPatient, on_delete=models.PROTECT, related_name="difficulties"
    )
    patient_id: int
    minutes: models.FloatField[float | None, float | None] = models.FloatField(null=True)
    edition: models.CharField[str, str] = models.CharField(max_length=40)
    sureness: models.FloatField[float, float] = models.FloatField()
    seconds: models.FloatField[float, float] = models.FloatField()
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    def __str__(self) -> str:
        """Return how sure."""
        return f"{self.sureness:.2f}"


class PracticeClass(models.Model):
    """A set given to a class: its patients as they stood then, on terms, by a code, for a time."""

    id: int
    of: models.ForeignKey[Any, Any] = models.ForeignKey(
        PracticeSet, on_delete=models.PROTECT, related_name="classes"
    )
    of_id: int
    name: models.CharField[str, str] = models.CharField(max_length=80)
    code: models.CharField[str, str] = models.CharField(max_length=12, unique=True)
    patients: models.TextField[str, str] = models.TextField()
    minutes: models.FloatField[float | None, float | None] = models.FloatField(null=True)
    told: models.BooleanField[bool, bool] = models.BooleanField()
    shuffled: models.BooleanField[bool, bool] = models.BooleanField()
    opens: models.DateTimeField[datetime, datetime] = models.DateTimeField()
    closes: models.DateTimeField[datetime, datetime] = models.DateTimeField()
    maker: models.CharField[str, str] = models.CharField(max_length=120)
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    def __str__(self) -> str:
        """Return its name."""
        return self.name


class ClassEnd(models.Model):
    """That a class was ended before its time."""

    id: int
    of: models.OneToOneField[Any, Any] = models.OneToOneField(
        PracticeClass, on_delete=models.PROTECT, related_name="end"
    )
    of_id: int
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    def __str__(self) -> str:
        """Return when."""
        return f"{self.at:%Y-%m-%d}"


class ClassRun(models.Model):
    """That a run was begun in a class, and with which of its patients."""

    id: int
    of: models.ForeignKey[Any, Any] = models.ForeignKey(
        PracticeClass, on_delete=models.PROTECT, related_name="runs"
    )
    of_id: int
    patient: models.ForeignKey[Any, Any] = models.ForeignKey(
        SetPatient, on_delete=models.PROTECT, related_name="runs"
    )
    patient_id: int
    run: models.OneToOneField[Any, Any] = models.OneToOneField(
        "PracticeRun", on_delete=models.PROTECT, related_name="in_class"
    )
    run_id: int

    class Meta:
        """Runs of a class are counted by patient."""

        indexes: ClassVar = [models.Index(fields=["of", "patient"], name="school_class_patient")]

    def __str__(self) -> str:
        """Return the run."""
        return f"run {self.run_id} of class {self.of_id}"
