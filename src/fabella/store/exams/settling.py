"""What the lead does on sheets: says which of two things holds or which are void, and opens one again."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime

from fabella.errors import InputError, Problem, Problems
from fabella.exam import Act, Dispute, Sheet, SheetEvent, event_tree, read_event
from fabella.store.actor import Actor
from fabella.store.exams.duties import SheetKey
from fabella.store.exams.leading import Stage, exam_of
from fabella.store.exams.marking import Keeper, Sent
from fabella.store.exams.papers import station_of
from fabella.store.exams.sheets import led_sheet, unsettled_of
from fabella.store.exams.stations import stations_of
from fabella.store.refusals import Frozen, Moved
from fabella.store.router import EXAMS
from fabella.store.writing import writing


def in_dispute(exam_id: int) -> list[Problem]:
    """Return every dispute that hinders closing and deciding, each with what mends it."""
    stations_of(exam_id)  # at one that cannot be read there may be more
    return [_disputed(key, each) for key, each in unsettled_of(exam_id)]


def settle(
    actor: Actor,
    exam_id: int,
    key: SheetKey,
    *,
    about: Act,
    item: str,
    holds: str,
    reason: str,
    seen: int,
    now: datetime,
    name: Callable[[], str],
) -> None:
    """Say which of the things in dispute holds; the others stay among the sheet's events.

    Parameters
    ----------
    holds
        Id of the event that holds; empty where nothing is to stand.
    seen
        Number of the sheet's last event that was on the screen; `Moved` when there are more.
    name
        Makes an id that nobody had before.
    """
    _check_stage(actor, exam_id)
    event = SheetEvent(act=Act.SETTLE, at=now, seen=seen, about=about, item=item, holds=holds, reason=reason)
    _keep(actor, exam_id, key, event, now=now, name=name)


def settle_alike(
    actor: Actor,
    exam_id: int,
    key: SheetKey,
    *,
    like: str,
    reason: str,
    seen: int,
    now: datetime,
    name: Callable[[], str],
) -> None:
    """Say that wherever a sheet is in dispute, what one device or typist said holds; see `settle`.

    Parameters
    ----------
    like
        Id of one of the events in dispute: those of the same device hold. What that device said nothing of
        stays in dispute.
    """
    _check_stage(actor, exam_id)
    sheet, _ = led_sheet(actor, exam_id, key)
    device = next((one.device for each in sheet.disputes for one in each.choices if like == one.key), "")
    events = [
        SheetEvent(
            act=Act.SETTLE, at=now, seen=seen, about=each.about, item=each.item, holds=one.key, reason=reason
        )
        for each in sheet.disputes
        for one in each.choices
        if device and one.device == device
    ]
    if not events:
        remedy = "choose one of the devices in dispute"
        raise InputError.of(place="like", says="is not in dispute", remedy=remedy)
    _keep(actor, exam_id, key, *events, now=now, name=name)


def leave_open(
    actor: Actor,
    exam_id: int,
    key: SheetKey,
    *,
    about: Act,
    item: str,
    reason: str,
    seen: int,
    now: datetime,
    name: Callable[[], str],
) -> None:
    """Leave a dispute open for a reason: until it is settled nothing stands there, and it is missing."""
    _check_stage(actor, exam_id)
    event = SheetEvent(act=Act.LEAVE, at=now, seen=seen, about=about, item=item, reason=reason)
    _keep(actor, exam_id, key, event, now=now, name=name)


def reopen(
    actor: Actor,
    exam_id: int,
    key: SheetKey,
    *,
    reason: str,
    seen: int,
    now: datetime,
    name: Callable[[], str],
) -> None:
    """Open a finished sheet again, so that its examiner can change it; see `settle`."""
    if exam_of(actor, exam_id).stage is not Stage.OPEN:
        raise Frozen("Sheets are opened again while the exam is open.")
    event = SheetEvent(act=Act.REOPEN, at=now, seen=seen, reason=reason)
    _keep(actor, exam_id, key, event, now=now, name=name)


def call_void(
    actor: Actor,
    exam_id: int,
    keys: Iterable[SheetKey],
    *,
    is_void: bool = True,
    reason: str,
    now: datetime,
    name: Callable[[], str],
) -> None:
    """Say of blank sheets that they are lost, or that their station was not held; or that this is not so.

    What is void counts as a station that was not held. Marks that come after all stand.

    Raises
    ------
    Frozen
        Before the exam is open, and once its results are released.
    InputError
        Names every sheet with marks, or one void already; none is kept then.
    """
    if not exam_of(actor, exam_id).stage.can_be_settled:
        raise Frozen("Sheets are called lost while an exam is open or closed, before its release.")
    problems = Problems()
    with writing(EXAMS):
        keeper = Keeper(exam_id, (), device=actor.device, by=actor.name, now=now)
        for key in keys:
            sheet, _ = led_sheet(actor, exam_id, key)
            act = Act.VOID if is_void else Act.HELD
            event = SheetEvent(act=act, at=now, seen=sheet.number, reason=reason)
            read = read_event(event_tree(event), station=station_of(exam_id, key.station))
            if keeper.keep(Sent(key=name(), sheet=key, event=read)).problems:
                problems.append(_not_so(key, sheet, is_void=is_void))
        problems.raise_any()


def _not_so(key: SheetKey, sheet: Sheet, *, is_void: bool) -> Problem:
    says, remedy = "was not said to be lost", "leave it"
    if is_void:
        says = "has marks" if not sheet.is_blank else "was said to be lost already"
        remedy = "they stand; if they are wrong, open the sheet again" if not sheet.is_blank else "leave it"
    return Problem(place="sheet", value=", ".join(key.parts), says=says, remedy=remedy)


def _disputed(key: SheetKey, dispute: Dispute) -> Problem:
    remedy = "say which holds, or leave it open with a reason"
    what = {Act.GRADE: "the global rating", Act.CONCERN: "the concern for safety"}.get(dispute.about)
    says = f"has two entries that disagree on {what or f'item {dispute.item}'}"
    return Problem(place="sheet", value=", ".join(key.parts), says=says, remedy=remedy)


def _check_stage(actor: Actor, exam_id: int) -> None:
    if not exam_of(actor, exam_id).stage.can_be_settled:
        raise Frozen("Disputes are settled while an exam is open or closed, before its release.")


def _keep(
    actor: Actor,
    exam_id: int,
    key: SheetKey,
    *events: SheetEvent,
    now: datetime,
    name: Callable[[], str],
) -> None:
    """Keep events that were made with the same last event on the screen: all, or none."""
    station = station_of(exam_id, key.station)
    sent = [
        Sent(key=name(), sheet=key, event=read_event(event_tree(each), station=station)) for each in events
    ]
    with writing(EXAMS):
        sheet, _ = led_sheet(actor, exam_id, key)
        if any(sheet.number != each.seen for each in events):
            raise Moved("Something was added to this sheet; look at it again.")
        keeper = Keeper(exam_id, (), device=actor.device, by=actor.name, now=now)
        Problems([problem for each in sent for problem in keeper.keep(each).problems]).raise_any()
