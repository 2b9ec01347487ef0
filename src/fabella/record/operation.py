"""One change to an examination, as a hand at the bedside makes it, and what it does to each statement."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from fabella.anatomy import Side
from fabella.protocol import Protocol, SideRule
from fabella.record.layout import is_examined
from fabella.record.passage import parts_of_name
from fabella.record.statement import Key, Part, Value, plain
from fabella.record.totals import Total


class Change(StrEnum):
    """What kind of change an operation makes; the word with which it is written."""

    SET_FINDING = "set_finding"
    REMOVE_FINDING = "remove_finding"
    SET_HISTORY = "set_history"
    SET_TOTAL = "set_total"
    SET_IMAGING = "set_imaging"
    SET_CONTEXT = "set_context"
    SET_CONDUCT = "set_conduct"
    SET_PASSAGE = "set_passage"
    MARK_NORMAL = "mark_normal"
    UNMARK_NORMAL = "unmark_normal"


class Mode(StrEnum):
    """How a step meets what already stands there."""

    SET = "set"
    """It takes its place."""
    FILL = "fill"
    """It gives way: it states something only where nothing is stated."""
    CLEAR = "clear"
    """It takes back what a fill stated, and leaves anything else alone."""
    UNFILL = "unfill"
    """It does so only where a touch for a whole position stated it, and nobody since."""


@dataclass(frozen=True, slots=True)
class Step:
    """What an operation does to one statement.

    ``under`` are the statements that sum it up: where one of them is abnormal, a fill states nothing, for
    nobody said which part of it is.
    """

    key: Key
    value: Value
    mode: Mode = Mode.SET
    under: tuple[Key, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """One change to an examination.

    Parameters
    ----------
    id
        Made by the client and never used for another change, so that a repeat can be told from a new one.
    base
        The version of the examination that its author had before them.
    payload
        Its own part of what was written, as JSON values; with it and ``change`` it can be read again.
    steps
        What it does, one for each statement that it touches.
    """

    id: str
    base: int
    change: Change
    payload: Mapping[str, object]
    steps: tuple[Step, ...]

    @property
    def text(self) -> str:
        """The payload as JSON, always the same for the same change."""
        return json.dumps(self.payload, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def places_marked_normal(
    protocol: Protocol, position: str, side: Side | None = None
) -> tuple[tuple[str, Side | None], ...]:
    """Return the signs, with their sides, that one touch marks as normal in a position.

    Those are what every careful examiner looks at there: routine signs of the examination that are judged
    by eye or hand on both knees. What must be measured, and what is done only when the picture asks for it,
    is not normal until somebody did it. With a ``side`` only that knee's.
    Raises `InputError` when there is no such position.
    """
    seen_at_once = {SideRule.SOUND_SIDE_FIRST, SideRule.TOGETHER, SideRule.ONCE}
    return tuple(
        (sign.id, each)
        for sign in protocol.at(position)
        if is_examined(sign) and sign.routine and sign.scale.levels and not sign.is_summary
        if sign.side_rule in seen_at_once
        for each in _sides(is_person=sign.is_person, side=side)
    )


def _sides(*, is_person: bool, side: Side | None) -> Iterable[Side | None]:
    if is_person:
        return (None,) if side is None else ()
    return tuple(Side) if side is None else (side,)


def change_to(key: Key, value: Value) -> dict[str, object]:
    """Return the change that states a value, or takes it back when it is None, as it is written in JSON.

    An id and a base make it an operation.
    """
    written = plain(key, value)
    match key.part:
        case Part.FINDING if value is None:
            return {"change": Change.REMOVE_FINDING, "sign": key.name, "side": key.side}
        case Part.FINDING:
            return {"change": Change.SET_FINDING, "finding": written}
        case Part.TOTAL:
            points = value.value if isinstance(value, Total) else None
            return {"change": Change.SET_TOTAL, "score": key.name, "side": key.side, "value": points}
        case Part.IMAGING:
            place = {"image": key.name, "side": key.side}
            told = {each: what for each, what in _texts(written).items() if each not in place}
            return {"change": Change.SET_IMAGING, **place, "result": None if value is None else told}
        case Part.HISTORY:
            return {"change": Change.SET_HISTORY, "item": key.name, "value": written}
        case Part.CONTEXT:
            return {"change": Change.SET_CONTEXT, "field": key.name, "value": written}
        case Part.CONDUCT:
            return {"change": Change.SET_CONDUCT, "field": key.name, "value": written}
        case Part.PASSAGE:
            document, passage = parts_of_name(key.name)
            own = {"text": None} if value is None else written
            return {"change": Change.SET_PASSAGE, "document": document, "passage": passage, **_texts(own)}


def _texts(written: object) -> dict[str, object]:
    return dict(written) if isinstance(written, dict) else {}
