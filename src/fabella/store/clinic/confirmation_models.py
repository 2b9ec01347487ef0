"""What was found after a visit was signed, which is only ever added to."""

from __future__ import annotations

from datetime import datetime
from typing import Any, ClassVar

from django.db import models


class Confirmation(models.Model):
    """What a look into a knee showed after its visit was signed, or that it no longer stands.

    ``payload`` is the text of a `fabella.hands.Confirmation`, empty for one that was withdrawn;
    ``replaces`` the number of the one whose place it takes, for the ``reason`` given.
    """

    id: int
    visit: models.ForeignKey[Any, Any] = models.ForeignKey(
        "clinic.Visit", on_delete=models.PROTECT, related_name="confirmations"
    )
    visit_id: int
    number: models.PositiveIntegerField[int, int] = models.PositiveIntegerField()
    replaces: models.PositiveIntegerField[int | None, int | None] = models.PositiveIntegerField(null=True)
    payload: models.TextField[str, str] = models.TextField(blank=True)
    reason: models.TextField[str, str] = models.TextField(blank=True)
    author: models.CharField[str, str] = models.CharField(max_length=80)
    shown: models.CharField[str, str] = models.CharField(max_length=120)
    device: models.CharField[str, str] = models.CharField(max_length=40)
    at: models.DateTimeField[datetime, datetime] = models.DateTimeField()

    class Meta:
        """A visit's are numbered without repetition, and each has its place taken once at most."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["visit", "number"], name="clinic_confirmation_number"),
            models.UniqueConstraint(fields=["visit", "replaces"], name="clinic_confirmation_replaces"),
        ]

    def __str__(self) -> str:
        """Return its number and its visit."""
        return f"confirmation {self.number} of visit {self.visit_id}"
