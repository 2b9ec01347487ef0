"""Events of a mark sheet as JSON: read against its station, or refused with all that is wrong."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from datetime import UTC, datetime
from typing import Any, Final

from fabella.errors import Problems, suggestion
from fabella.exam.sheet_events import STATEMENTS, Act, Missing, SheetEvent, Value
from fabella.exam.stations import Station
from fabella.protocol.fields import Fields

LONGEST_TEXT: Final = 2000
_LONGEST_S: Final = 24 * 60 * 60
_FARTHEST_S: Final = 100 * 365 * 24 * 60 * 60
_YEARS: Final = range(1900, 2200)
"""Of a device's clock, however wrong: with what it is ahead taken off, a day is left that there is."""
_MOST_EVENTS: Final = 100_000


def event_tree(event: SheetEvent) -> dict[str, Any]:
    """Return an event as it is sent and kept; the same event gives the same tree."""
    tree: dict[str, Any] = {
        "act": event.act.value,
        "at": event.at.isoformat(),
        "seconds": event.seconds,
        "seen": event.seen,
    }
    if event.ahead_s is not None:
        tree["ahead_s"] = event.ahead_s
    match event.act:
        case Act.MARK:
            tree |= {"item": event.item, "mark": event.value}
        case Act.GRADE:
            tree["grade"] = event.value
        case Act.COMMENT:
            tree |= {"item": event.item, "text": event.value or ""}
        case Act.CONCERN:
            tree["reason"] = event.value or ""
        case Act.REOPEN | Act.VOID | Act.HELD:
            tree["reason"] = event.reason
        case Act.SETTLE:
            about = event.about.value if event.about else ""
            tree |= {"of": about, "item": event.item, "holds": event.holds, "reason": event.reason}
        case Act.LEAVE:
            about = event.about.value if event.about else ""
            tree |= {"of": about, "item": event.item, "reason": event.reason}
    return tree


def read_event(tree: Mapping[str, Any], *, station: Station) -> SheetEvent:
    """Return an event of a sheet of this station; `InputError` lists everything that is wrong with it."""
    reading = _Reading(tree, station)
    event = reading.event()
    reading.problems.raise_any()
    return event


class _Reading:
    """The fields of one event, and what is wrong with them."""

    def __init__(self, tree: Mapping[str, Any], station: Station) -> None:
        self.problems = Problems()
        self._station = station
        apart = {"mark": "mark", "grade": "grade"}.get(str(tree.get("act")), "")
        self._value = tree.get(apart)
        if apart and apart not in tree:
            self._wrong(apart, "", "is missing", "write null where nothing is stated")
        told = {name: each for name, each in tree.items() if name != apart and each is not None}
        self._fields = Fields("event", told, self.problems)

    def event(self) -> SheetEvent:
        """Return it, with harmless stand-ins where something is wrong."""
        act = self._fields.choice("act", {each.value: each for each in Act})
        about: Act | None = act if act in STATEMENTS else None
        item, value, reason, holds = "", None, "", ""
        match act:
            case Act.MARK:
                item = self._item()
                value = self._mark(item)
            case Act.GRADE:
                value = self._grade()
            case Act.COMMENT:
                item, value = self._item(none=True), self._text("text") or None
            case Act.CONCERN:
                value = self._text("reason") or None
            case Act.REOPEN | Act.VOID | Act.HELD:
                reason = self._text("reason", required=True)
            case Act.SETTLE | Act.LEAVE:
                about = self._fields.choice("of", {each.value: each for each in STATEMENTS})
                item = self._item(none=about is not Act.MARK)
                holds = self._text("holds") if act is Act.SETTLE else ""
                reason = self._text("reason", required=True)
        event = SheetEvent(
            act=act,
            at=self._moment(),
            ahead_s=self._seconds("ahead_s", -_FARTHEST_S, _FARTHEST_S) if self._has("ahead_s") else None,
            seconds=self._seconds("seconds", 0, _LONGEST_S) if self._has("seconds") else 0.0,
            seen=self._fields.whole("seen", low=0, high=_MOST_EVENTS) if self._has("seen") else 0,
            about=about,
            item=item,
            value=value,
            reason=reason,
            holds=holds,
        )
        self._fields.finish()
        return event

    def _has(self, field: str) -> bool:
        return self._fields.has(field)

    def _wrong(self, field: str, value: object, says: str, remedy: str) -> None:
        self.problems.add(f"event, {field}", str(value), says, remedy)

    def _moment(self) -> datetime:
        written = self._fields.text("at")
        with suppress(ValueError, OverflowError):
            at = datetime.fromisoformat(written).astimezone(UTC)
            if at.year in _YEARS:
                return at
        if written != "?":
            self._wrong("at", written, "is no time", "write it as 2026-11-25T10:04:00Z")
        return datetime.fromtimestamp(0, tz=UTC)

    def _seconds(self, field: str, low: float, high: float) -> float:
        value = self._fields.number(field)
        if not low <= value <= high:  # also what is no number
            self._wrong(field, value, "is out of range", f"write seconds from {low} to {high}")
            return 0.0
        return round(value, 3)

    def _item(self, *, none: bool = False) -> str:
        name = self._fields.text("item", default="" if none else None)
        known = [each.id for each in self._station.items]
        if name not in known and not (none and not name) and name != "?":
            self._wrong("item", name, "is not on this sheet", suggestion(name, known))
        return name

    def _mark(self, item: str) -> Value:
        most = next((each.most for each in self._station.items if each.id == item), 0)
        if self._value is None:
            return None
        if isinstance(self._value, str) and self._value in set(Missing):
            return Missing(self._value)
        if isinstance(self._value, int) and not isinstance(self._value, bool) and 0 <= self._value <= most:
            return self._value
        remedy = f"write 0 to {most}, {' or '.join(Missing)}, or null"
        self._wrong("mark", self._value, "is no mark of this item", remedy)
        return None

    def _grade(self) -> int | None:
        codes = [each.code for each in self._station.grades]
        if self._value is None or (self._value in codes and not isinstance(self._value, (bool, float))):
            return None if self._value is None else int(self._value)
        self._wrong("grade", self._value, "is no grade", f"write {', '.join(map(str, codes))} or null")
        return None

    def _text(self, field: str, *, required: bool = False) -> str:
        text = self._fields.text(field, default=None if required else "").strip()
        if len(text) > LONGEST_TEXT:
            self._wrong(field, f"{text[:20]} …", "is too long", f"write up to {LONGEST_TEXT} letters")
        return text
