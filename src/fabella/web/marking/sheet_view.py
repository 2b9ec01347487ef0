"""One mark sheet for the lead: what stands on it in words, what is in dispute, and how it came about."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from fabella.exam import Act, Dispute, Sheet, SheetEntry, Station
from fabella.store.exams.typing_in import TYPED
from fabella.web.marking.wording import about_words, value_words

_DONE = {
    Act.BEGIN: "begun",
    Act.FINISH: "finished",
    Act.REOPEN: "opened again",
    Act.SETTLE: "settled",
    Act.VOID: "lost or not held",
    Act.HELD: "not lost after all",
}
_SHOWN_OF_A_DEVICE = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemLine:
    """An item as it stands; ``is_gap`` where nothing does."""

    words: str
    mark: str
    comment: str
    is_gap: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DisputeView:
    """A dispute with the words and the id of each choice; ``left`` is why it was left open."""

    about: str
    item: str
    title: str
    choices: tuple[tuple[str, str, str], ...]
    left: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """A device or typist whose entries are in several disputes: of how many, and the id of one of them."""

    like: str
    words: str
    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class EventLine:
    """One event in words: its place, the time on the device, the device, and what it says."""

    number: int
    at: datetime
    device: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetView:
    """A sheet in words; ``sides`` are there where several disputes can be settled in one step."""

    items: tuple[ItemLine, ...]
    grade: str
    comment: str
    concern: str
    disputes: tuple[DisputeView, ...]
    sides: tuple[Side, ...]
    events: tuple[EventLine, ...]


def sheet_view(sheet: Sheet, entries: tuple[SheetEntry, ...], station: Station) -> SheetView:
    """Return a sheet in words."""
    return SheetView(
        items=tuple(
            ItemLine(
                words=each.words,
                mark=value_words(Act.MARK, each.id, sheet.marks.get(each.id), station),
                comment=sheet.comments.get(each.id, ""),
                is_gap=each.id not in sheet.marks,
            )
            for each in station.items
        ),
        grade=value_words(Act.GRADE, "", sheet.grade, station),
        comment=sheet.comments.get("", ""),
        concern=sheet.concern,
        disputes=tuple(_dispute(each, station) for each in sheet.disputes),
        sides=_sides(sheet.disputes),
        events=tuple(_event(each, station) for each in entries),
    )


def device_words(device: str) -> str:
    """Return who or what wrote: initials of who typed paper in, or the first letters of a device's name."""
    if device.startswith(TYPED):
        return f"paper, typed by {device.removeprefix(TYPED)}"
    return f"device {device[:_SHOWN_OF_A_DEVICE]}" if device else "before"


def _sides(disputes: tuple[Dispute, ...]) -> tuple[Side, ...]:
    """Return each device that is in more than one dispute."""
    said: dict[str, list[str]] = {}
    for each in disputes:
        for one in each.choices:
            said.setdefault(one.device, []).append(one.key)
    return tuple(
        Side(like=keys[0], words=device_words(device), number=len(keys))
        for device, keys in said.items()
        if device and len(keys) > 1
    )


def _dispute(each: Dispute, station: Station) -> DisputeView:
    return DisputeView(
        about=each.about.value,
        item=each.item,
        title=about_words(each.about, each.item, station),
        choices=tuple(
            (
                one.key,
                value_words(each.about, each.item, one.value, station),
                device_words(one.device)
                + (", after the sheet was finished elsewhere" if one.is_late else ""),
            )
            for one in each.choices
        ),
        left=each.left,
    )


def _event(entry: SheetEntry, station: Station) -> EventLine:
    event = entry.event
    words = _DONE.get(event.act, "")
    if event.act in (Act.SETTLE, Act.LEAVE) and event.about is not None:
        done = "settled" if event.act is Act.SETTLE else "left open"
        words = f"{about_words(event.about, event.item, station)}: {done}"
    elif event.about is not None:
        told = value_words(event.about, event.item, event.value, station)
        words = f"{about_words(event.about, event.item, station)}: {told}"
    if event.reason:
        words = f"{words}: {event.reason}"
    return EventLine(number=entry.number, at=event.moment, device=device_words(entry.device), words=words)
