"""What the school keeps."""

from __future__ import annotations

from datetime import datetime

from django.db import models


class PracticeSession(models.Model):
    """One person's sitting with practice patients; ``seed`` gives the same patients again."""

    id: int
    student: models.CharField[str, str] = models.CharField(max_length=80)
    begun: models.DateTimeField[datetime, datetime] = models.DateTimeField()
    seed: models.BigIntegerField[int, int] = models.BigIntegerField()

    def __str__(self) -> str:
        """Return who practised when."""
        return f"{self.student}, {self.begun:%Y-%m-%d}"
