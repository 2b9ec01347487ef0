"""That candidates were allotted to circuits at random, as somebody has said."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from fabella.report.wording import written_date

_NOBODY: Final = "Nobody has said that candidates were allotted to circuits at random."


@dataclass(frozen=True, slots=True, kw_only=True)
class Allotment:
    """That candidates were allotted to circuits at random, as somebody said."""

    by: str
    at: datetime


def allotment_words(allotment: Allotment | None) -> str:
    """Return it as a sentence."""
    if allotment is None:
        return _NOBODY
    at = allotment.at.astimezone()
    said = f"as {allotment.by} said on {written_date(at.date())} at {at:%H:%M}"
    return f"Candidates were allotted to circuits at random, {said}."
