"""Which candidates are not there on the day, as the lead said it; the last word on each holds."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import models


class ExamPresence(models.Model):
    """One thing said: ``presence`` is here, absent, late or left; ``at_min`` since when [min of the day]."""

    id: int
    exam: models.ForeignKey[Any, Any] = models.ForeignKey(
        "exams.Exam", on_delete=models.PROTECT, related_name="presences"
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
