"""The sender's name and address at the head of what this server writes."""

from __future__ import annotations

from django.conf import settings


def letterhead() -> tuple[str, ...]:
    """Return the lines that the server was started with; none by default."""
    return tuple(settings.LETTERHEAD)
