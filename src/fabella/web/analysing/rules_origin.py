"""Where the rules of an exam come from: from somebody who declared them, or from what was usual."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any, Self

from fabella.report.wording import written_date


class Origin(StrEnum):
    """Who is behind rules: a lead, the program on the day the exam opened, or the program that decides."""

    DECLARED = "declared"
    KEPT = "usual_at_the_opening"
    USUAL = "usual"


@dataclass(frozen=True, slots=True, kw_only=True)
class RulesOrigin:
    """Where rules come from; ``by``, ``at`` and ``version`` are of whoever declared them.

    ``at`` of what was kept at the opening is when that was; None for what is usual in the program.
    """

    origin: Origin
    by: str = ""
    at: datetime | None = None
    version: int = 0

    @property
    def tree(self) -> dict[str, Any]:
        """As plain data, what is empty left out."""
        told = {"by": self.by, "at": self.at and self.at.isoformat(), "version": self.version}
        return {"origin": self.origin.value, **{name: value for name, value in told.items() if value}}

    @classmethod
    def of_tree(cls, tree: dict[str, Any]) -> Self:
        """Return what was written as plain data."""
        at = tree.get("at")
        return cls(
            origin=Origin(tree["origin"]),
            by=tree.get("by", ""),
            at=datetime.fromisoformat(at) if at else None,
            version=tree.get("version", 0),
        )


def origin_words(found: RulesOrigin, *, is_draft: bool = False) -> str:
    """Return it as sentences; ``is_draft``: of an exam that was not opened yet."""
    when = ""
    if found.at is not None:
        at = found.at.astimezone()
        when = f"on {written_date(at.date())} at {at:%H:%M}"
    if found.origin is Origin.DECLARED:
        return f"Declared by {found.by} {when} (version {found.version})."
    if found.origin is Origin.KEPT:
        return (
            "Nobody has declared rules: these are the usual rules of the program on the day the exam opened, "
            f"kept then ({when.removeprefix('on ')})."
        )
    if is_draft:
        return (
            "Nobody has declared rules: these are the usual rules of this program, which are kept as they "
            "are when the exam is opened."
        )
    return (
        "Nobody has declared rules, and none were kept when this exam was opened: these are the usual rules "
        "of the program that decides."
    )
