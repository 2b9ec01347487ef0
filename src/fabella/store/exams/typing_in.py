"""Paper sheets typed in: twice, by two people who do not see each other's; differences are disputes."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from fabella.errors import InputError, Problems
from fabella.exam import Act, Missing, Sheet, SheetEvent, event_tree, read_event
from fabella.store.actor import Actor
from fabella.store.exams.duties import SheetKey
from fabella.store.exams.leading import Stage, exam_of
from fabella.store.exams.marking import Keeper, Sent
from fabella.store.exams.papers import station_of
from fabella.store.exams.sheets import led_sheet
from fabella.store.refusals import Frozen
from fabella.store.router import EXAMS
from fabella.store.writing import writing

TYPED: Final = "typed:"
"""What begins the device of somebody who types paper in; their initials follow."""

_TWICE, _LONGEST = 2, 12


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperSheet:
    """A sheet as it stands on paper; an item or a grade that is left out has no mark there."""

    marks: Mapping[str, int | Missing]
    grade: int | None
    comment: str = ""
    concern: str = ""


def typists_of(sheet: Sheet) -> tuple[str, ...]:
    """Return the initials of those who typed a sheet in, in order."""
    return tuple(each.removeprefix(TYPED) for each in sheet.finishers if each.startswith(TYPED))


def type_in(
    actor: Actor,
    exam_id: int,
    key: SheetKey,
    paper: PaperSheet,
    *,
    typist: str,
    now: datetime,
    name: Callable[[], str],
) -> None:
    """Keep what one person typed from paper.

    It is kept as unseen of everything else on the sheet, so that whatever differs is in dispute: between the
    two who typed, and with a tablet that had begun.

    Parameters
    ----------
    typist
        Initials; not those of the other one.
    name
        Makes an id that nobody had before.
    """
    if exam_of(actor, exam_id).stage is not Stage.OPEN:
        raise Frozen("Paper sheets are typed in while the exam is open.")
    initials = " ".join(typist.split()).upper()
    station = station_of(exam_id, key.station)
    sent = [
        Sent(key=name(), sheet=key, event=read_event(event_tree(each), station=station))
        for each in _events(paper, [item.id for item in station.items], now)
    ]
    with writing(EXAMS):
        sheet, _ = led_sheet(actor, exam_id, key)
        _check(initials, typists_of(sheet))
        keeper = Keeper(exam_id, (), device=TYPED + initials, by=actor.name, now=now)
        Problems(problem for each in sent for problem in keeper.keep(each).problems).raise_any()


def _check(initials: str, before: tuple[str, ...]) -> None:
    says = ""
    if not 0 < len(initials) <= _LONGEST:
        says, remedy = "are missing or too long", f"write 1 to {_LONGEST} letters"
    elif initials in before:
        says, remedy = "have typed this sheet already", "let somebody else type it"
    elif len(before) >= _TWICE:
        says, remedy = "come third: two have typed this sheet", "settle what differs"
    if says:
        raise InputError.of(place="typist", value=initials, says=says, remedy=remedy)


def _events(paper: PaperSheet, items: list[str], now: datetime) -> list[SheetEvent]:
    unknown = sorted(set(paper.marks) - set(items))  # refused where they are read
    about: list[dict[str, Any]] = [
        {"act": Act.MARK, "item": item, "value": paper.marks.get(item)} for item in (*items, *unknown)
    ]
    about.append({"act": Act.GRADE, "value": paper.grade})
    about.append({"act": Act.COMMENT, "value": paper.comment or None})
    about.append({"act": Act.CONCERN, "value": paper.concern or None})
    return [SheetEvent(at=now, about=each["act"], **each) for each in (*about, {"act": Act.FINISH})]
