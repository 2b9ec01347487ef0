"""By whom and when a letter or page was signed, in a line of its own; or that nobody has signed it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from fabella.report.document import Document
from fabella.report.wording import written_date

NOT_SIGNED = "Not signed yet: may still change."
"""At the head of whatever nobody has signed."""


def not_signed(document: Document) -> Document:
    """Return a page that says of itself that nobody has signed it."""
    return replace(document, standing=f"{document.standing} {NOT_SIGNED}".strip())


def signed_words(by: str, at: datetime, *, number: int = 1, before: datetime | None = None) -> str:
    """Return who signed and when, in the time of this machine.

    Parameters
    ----------
    by
        The signer, as shown to others.
    at
        When, with a time zone.
    number
        Of the signature: 1 is the first, each further one that of an amendment.
    before
        When the signature was given that an amendment replaces.
    """
    words = f"Signed by {by} on {_moment(at)}."
    if before is None:
        return words
    return f"{words} Amendment {number - 1}: it replaces what was signed on {_moment(before)}."


def _moment(at: datetime) -> str:
    local = at.astimezone()
    return f"{written_date(local.date())}, {local:%H:%M}"
