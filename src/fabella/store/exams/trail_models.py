"""The lead's actions that leave no trace in what they made: who let whom in, and whom no longer."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import models


class ExamTrace(models.Model):
    """One action: ``what`` in words, ``about`` whom or which, ``why`` where a reason was asked for."""

    id: int
    exam: models.ForeignKey[Any, Any] = models.ForeignKey(
        "exams.Exam", on_delete=models.PROTECT, related_name="traces"
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
