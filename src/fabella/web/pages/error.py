"""What went wrong, as a page."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from fabella.web.templating import said


@dataclass(frozen=True, slots=True, kw_only=True)
class ErrorPage:
    """A refusal or a failure."""

    template: ClassVar[str] = "error.html"

    status: int = field(metadata=said("Status of the answer."))
    message: str = field(metadata=said("What happened, and what to do."))
    problems: tuple[str, ...] = field(metadata=said("Everything that has to be corrected, one a line."))
