"""Pictures on which something was measured, which are only ever added to."""

from __future__ import annotations

from datetime import datetime
from typing import Any, ClassVar

from django.db import models


class MeasuredPicture(models.Model):
    """A picture of a limb with the points that were set on it, and what was read off.

    ``operation`` is the id of the change that put the value into the visit, or that such a change would have
    had where the protocol has no sign for it; ``payload`` that of a `picturing.Taken`
    without its picture, ``picture`` a JPEG file without any further data.
    """

    id: int
    visit: models.ForeignKey[Any, Any] = models.ForeignKey(
        "clinic.Visit", on_delete=models.PROTECT, related_name="measured_pictures"
    )
    visit_id: int
    number: models.PositiveIntegerField[int, int] = models.PositiveIntegerField()
    operation: models.CharField[str, str] = models.CharField(max_length=64, unique=True)
    payload: models.TextField[str, str] = models.TextField()
    picture: models.BinaryField[bytes, bytes] = models.BinaryField()
    author: models.CharField[str, str] = models.CharField(max_length=80)
    shown: models.CharField[str, str] = models.CharField(max_length=120)
    device: models.CharField[str, str] = models.CharField(max_length=40)
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    class Meta:
        """A visit's are numbered without repetition."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["visit", "number"], name="clinic_measuredpicture_number"),
        ]

    def __str__(self) -> str:
        """Return its number and its visit."""
        return f"picture {self.number} of visit {self.visit_id}"
