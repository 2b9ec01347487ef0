"""A page that goes on by itself: only from a page of our own does a browser send our cookies along."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from fabella.web.templating import said


@dataclass(frozen=True, slots=True, kw_only=True)
class OnwardsPage:
    """The last step, taken from here."""

    template: ClassVar[str] = "onwards.html"

    goes_on: str = field(metadata=said("Where it goes on; always a page of ours."))
