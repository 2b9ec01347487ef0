"""What an exam keeps, only ever added to: papers, codes, who was there, marks, results, what its lead did."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any, ClassVar

from django.db import models


class Exam(models.Model):
    """One exam; everything else of it points here."""

    id: int
    name: models.CharField[str, str] = models.CharField(max_length=80)
    day: models.DateField[date, date] = models.DateField()
    by: models.CharField[str, str] = models.CharField(max_length=150)
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    def __str__(self) -> str:
        """Return its name and day."""
        return f"{self.name}, {self.day:%Y-%m-%d}"


class ExamPaper(models.Model):
    """A version of something that the team writes: a station, the day, the rules; the latest holds.

    ``name`` says which: ``station:three``, ``timetable``, ``rules``. An empty ``text`` takes it away.
    """

    id: int
    exam: models.ForeignKey[Any, Any] = models.ForeignKey(
        Exam, on_delete=models.PROTECT, related_name="papers"
    )
    exam_id: int
    name: models.CharField[str, str] = models.CharField(max_length=80)
    version: models.PositiveIntegerField[int, int] = models.PositiveIntegerField()
    text: models.TextField[str, str] = models.TextField()
    why: models.CharField[str, str] = models.CharField(max_length=200)
    by: models.CharField[str, str] = models.CharField(max_length=150)
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    class Meta:
        """A version stands once."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["exam", "name", "version"], name="exams_paper_version"),
        ]

    def __str__(self) -> str:
        """Return what it is."""
        return f"{self.name}, version {self.version}"


class ExamStage(models.Model):
    """That an exam was opened for marking, closed, released or opened again, by whom and why."""

    id: int
    exam: models.ForeignKey[Any, Any] = models.ForeignKey(
        Exam, on_delete=models.PROTECT, related_name="stages"
    )
    exam_id: int
    stage: models.CharField[str, str] = models.CharField(max_length=12)
    why: models.CharField[str, str] = models.CharField(max_length=200)
    by: models.CharField[str, str] = models.CharField(max_length=150)
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    def __str__(self) -> str:
        """Return the stage."""
        return self.stage


class ExamCode(models.Model):
    """A short code by which somebody without an account is let in; only its hash is kept.

    ``kind`` is examiner or candidate, ``person`` their name in the timetable.
    """

    id: int
    exam: models.ForeignKey[Any, Any] = models.ForeignKey(
        Exam, on_delete=models.PROTECT, related_name="codes"
    )
    exam_id: int
    kind: models.CharField[str, str] = models.CharField(max_length=12)
    person: models.CharField[str, str] = models.CharField(max_length=80)
    code_hash: models.CharField[str, str] = models.CharField(max_length=64, unique=True)
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    def __str__(self) -> str:
        """Return whose it is."""
        return f"{self.kind} {self.person}"


class ExamCodeEnd(models.Model):
    """That a code lets nobody in any more."""

    id: int
    code: models.OneToOneField[Any, Any] = models.OneToOneField(
        ExamCode, on_delete=models.PROTECT, related_name="end"
    )
    code_id: int
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    def __str__(self) -> str:
        """Return when."""
        return f"{self.at:%Y-%m-%d}"


class MarkEvent(models.Model):
    """One thing said on a mark sheet: of one candidate, at one station, by one examiner.

    ``key`` is the id that the device made, ``number`` its place in the sheet, ``event`` its JSON.
    """

    id: int
    exam: models.ForeignKey[Any, Any] = models.ForeignKey(
        Exam, on_delete=models.PROTECT, related_name="events"
    )
    exam_id: int
    candidate: models.CharField[str, str] = models.CharField(max_length=80)
    station: models.CharField[str, str] = models.CharField(max_length=80)
    examiner: models.CharField[str, str] = models.CharField(max_length=80)
    number: models.PositiveIntegerField[int, int] = models.PositiveIntegerField()
    key: models.CharField[str, str] = models.CharField(max_length=64)
    event: models.TextField[str, str] = models.TextField()
    device: models.CharField[str, str] = models.CharField(max_length=64)
    by: models.CharField[str, str] = models.CharField(max_length=150)
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    class Meta:
        """An event has one place in its sheet, and its key stands once in the exam."""

        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["exam", "candidate", "station", "examiner", "number"], name="exams_event_number"
            ),
            models.UniqueConstraint(fields=["exam", "key"], name="exams_event_key"),
        ]

    def __str__(self) -> str:
        """Return its place."""
        return f"{self.candidate} at {self.station}, {self.number}"


class ExamResult(models.Model):
    """The decisions as they were made: frozen marks, rules and outcome as one JSON text."""

    id: int
    exam: models.ForeignKey[Any, Any] = models.ForeignKey(
        Exam, on_delete=models.PROTECT, related_name="results"
    )
    exam_id: int
    number: models.PositiveIntegerField[int, int] = models.PositiveIntegerField()
    text: models.TextField[str, str] = models.TextField()
    digest: models.CharField[str, str] = models.CharField(max_length=64)
    by: models.CharField[str, str] = models.CharField(max_length=150)
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    class Meta:
        """Results are counted."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["exam", "number"], name="exams_result_number"),
        ]

    def __str__(self) -> str:
        """Return which."""
        return f"result {self.number}"


class ExamPresence(models.Model):
    """Whether a candidate is there, as the lead said it; the last word on each holds.

    ``presence`` is here, absent, late or left; ``at_min`` since when [min of the day].
    """

    id: int
    exam: models.ForeignKey[Any, Any] = models.ForeignKey(
        Exam, on_delete=models.PROTECT, related_name="presences"
    )
    exam_id: int
    candidate: models.CharField[str, str] = models.CharField(max_length=80)
    presence: models.CharField[str, str] = models.CharField(max_length=12)
    at_min: models.FloatField[float | None, float | None] = models.FloatField(null=True)
    why: models.CharField[str, str] = models.CharField(max_length=200)
    by: models.CharField[str, str] = models.CharField(max_length=150)
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    def __str__(self) -> str:
        """Return who, and whether they are there."""
        return f"{self.candidate} {self.presence}"


class ExamTrace(models.Model):
    """An action of the lead that leaves no trace in what it made: who let whom in, and whom no longer.

    ``what`` in words, ``about`` whom or which, ``why`` where a reason was asked for.
    """

    id: int
    exam: models.ForeignKey[Any, Any] = models.ForeignKey(
        Exam, on_delete=models.PROTECT, related_name="traces"
    )
    exam_id: int
    what: models.CharField[str, str] = models.CharField(max_length=80)
    about: models.CharField[str, str] = models.CharField(max_length=300)
    why: models.CharField[str, str] = models.CharField(max_length=200)
    by: models.CharField[str, str] = models.CharField(max_length=150)
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    def __str__(self) -> str:
        """Return what was done."""
        return f"{self.what} {self.about}"
