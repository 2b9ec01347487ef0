"""What each kind of change does to which statement, read from its payload.

What an operation states is right exactly when the smallest examination file that states it is right: it is
put into such a file and read by the reader of files, so that there is one set of rules.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from math import nan

from fabella.anatomy import Side
from fabella.errors import InputError, Problem, suggestion
from fabella.protocol import Protocol
from fabella.record.examination import FORMAT, Examination
from fabella.record.finding import Finding, State
from fabella.record.jsontext import shown
from fabella.record.layout import CONDUCT_KEYS, CONTEXT_KEYS
from fabella.record.operation import Change, Mode, Step, places_marked_normal
from fabella.record.passage import read_passage
from fabella.record.reader import read_examination
from fabella.record.statement import Key, Part
from fabella.record.totals import SCORES

Payload = Mapping[str, object]

KEYS: Mapping[Change, tuple[str, ...]] = {
    Change.SET_FINDING: ("finding",),
    Change.REMOVE_FINDING: ("sign", "side"),
    Change.SET_HISTORY: ("item", "value"),
    Change.SET_TOTAL: ("score", "side", "value"),
    Change.SET_IMAGING: ("image", "side", "result"),
    Change.SET_CONTEXT: ("field", "value"),
    Change.SET_CONDUCT: ("field", "value"),
    Change.SET_PASSAGE: ("document", "passage", "text", "computed", "reason"),
    Change.MARK_NORMAL: ("position", "side"),
    Change.UNMARK_NORMAL: ("position", "side"),
}
"""The keys of each change's payload, as it comes from a client."""


def steps_of(
    change: Change, payload: Payload, *, protocol: Protocol, day: date
) -> tuple[Payload, tuple[Step, ...]]:
    """Return a payload as it is to be kept, and its steps.

    What one touch marks as normal is written into the payload, so that it stays the same when a later
    protocol counts other signs as routine. Raises `InputError` with places within the operation.
    """
    if change in {Change.MARK_NORMAL, Change.UNMARK_NORMAL}:
        payload = {**payload, "covers": payload.get("covers") or _covers(payload, protocol)}
    return payload, tuple(_STEPS[change](payload, _Alone(protocol, day)))


@dataclass(frozen=True, slots=True)
class _Alone:
    """Reads one part of an examination as the only one of its file."""

    protocol: Protocol
    day: date

    def __call__(self, part: Payload, at: str = "", called: str = "") -> Examination:
        """Return the smallest examination with this part; in messages, the place ``at`` is ``called`` so."""
        file = {"format": FORMAT, "id": "one", "origin": "patient", "examined_on": str(self.day), **part}
        text = json.dumps(file, default=lambda _: nan)  # what is no number stays none, and is refused
        try:
            return read_examination(text, protocol=self.protocol, today=self.day)
        except InputError as error:
            raise InputError(_renamed(error.problems, at, called)) from None


def _renamed(problems: Iterable[Problem], at: str, called: str) -> Iterator[Problem]:
    for each in problems:
        place = called + each.place.removeprefix(at) if each.place.startswith(at) else each.place
        yield replace(each, place=place)


def _set_finding(payload: Payload, alone: _Alone) -> Iterator[Step]:
    read = alone({"findings": [payload.get("finding")]}, "findings[0]", "finding")
    for finding in read.findings:
        yield Step(Key(Part.FINDING, finding.sign, finding.side), finding)
        parts = alone.protocol.sign(finding.sign).summary_of if finding.state is State.ABNORMAL else ()
        for part in parts:  # nobody said of which of them it is true
            yield Step(Key(Part.FINDING, part, finding.side), None, Mode.UNFILL)


def _remove_finding(payload: Payload, alone: _Alone) -> Iterator[Step]:
    read = alone({"findings": [{**payload, "state": State.NOT_EXAMINED}]}, "findings[0].")
    for finding in read.findings:
        yield Step(Key(Part.FINDING, finding.sign, finding.side), None)


def _set_history(payload: Payload, alone: _Alone) -> Iterator[Step]:
    item = _named(payload, "item", (sign.id for sign in alone.protocol.history()))
    read = alone({"history": {item: payload.get("value")}}, f"history.{item}", "value")
    yield Step(Key(Part.HISTORY, item), read.history.get(item))


def _set_total(payload: Payload, alone: _Alone) -> Iterator[Step]:
    score = _named(payload, "score", SCORES)
    taken_back = payload.get("value") is None
    stated = {**payload, "value": SCORES[score].low} if taken_back else payload
    for total in alone({"totals": [stated]}, "totals[0].").totals:
        yield Step(Key(Part.TOTAL, score, total.side), None if taken_back else total)


def _set_imaging(payload: Payload, alone: _Alone) -> Iterator[Step]:
    result = payload.get("result")
    if result is not None and not isinstance(result, Mapping):
        remedy = 'write {"shows": […]}, or null to take it back'
        raise InputError.of(place="result", value=shown(result), says="is no object", remedy=remedy)
    stated = {**(result or {}), "image": payload.get("image"), "side": payload.get("side")}
    for image in alone({"imaging": [stated]}, "imaging[0].").imaging:
        yield Step(Key(Part.IMAGING, image.image, image.side), None if result is None else image)


def _set_context(payload: Payload, alone: _Alone) -> Iterator[Step]:
    name = _named(payload, "field", CONTEXT_KEYS)
    read = alone({"context": {name: payload.get("value")}}, f"context.{name}", "value")
    yield Step(Key(Part.CONTEXT, name), getattr(read.context, name))


def _set_conduct(payload: Payload, alone: _Alone) -> Iterator[Step]:
    name = _named(payload, "field", CONDUCT_KEYS)
    read = alone({name: payload.get("value")}, name, "value")
    yield Step(Key(Part.CONDUCT, name), getattr(read, name))


def _set_passage(payload: Payload, _: _Alone) -> Iterator[Step]:
    name, passage = read_passage(payload)
    yield Step(Key(Part.PASSAGE, name), passage)


def _mark(mode: Mode) -> Callable[[Payload, _Alone], Iterator[Step]]:
    def steps(payload: Payload, alone: _Alone) -> Iterator[Step]:
        covers, summaries = payload["covers"], _summaries(alone.protocol)
        for sign, side in covers if isinstance(covers, list) else ():
            of = None if side is None else Side(side)
            normal = Finding(sign=sign, side=of, state=State.NORMAL)
            under = tuple(Key(Part.FINDING, each, of) for each in summaries.get(sign, ()))
            yield Step(Key(Part.FINDING, sign, of), normal, mode, under)

    return steps


def _summaries(protocol: Protocol) -> Mapping[str, tuple[str, ...]]:
    """Return the signs that sum up each sign."""
    found: dict[str, tuple[str, ...]] = {}
    for sign in protocol.signs:
        for part in sign.summary_of:
            found[part] = (*found.get(part, ()), sign.id)
    return found


_STEPS: Mapping[Change, Callable[[Payload, _Alone], Iterator[Step]]] = {
    Change.SET_FINDING: _set_finding,
    Change.REMOVE_FINDING: _remove_finding,
    Change.SET_HISTORY: _set_history,
    Change.SET_TOTAL: _set_total,
    Change.SET_IMAGING: _set_imaging,
    Change.SET_CONTEXT: _set_context,
    Change.SET_CONDUCT: _set_conduct,
    Change.SET_PASSAGE: _set_passage,
    Change.MARK_NORMAL: _mark(Mode.FILL),
    Change.UNMARK_NORMAL: _mark(Mode.CLEAR),
}


def _named(payload: Payload, key: str, allowed: Iterable[str]) -> str:
    names = tuple(allowed)
    name = payload.get(key)
    if isinstance(name, str) and name in names:
        return name
    says = "is missing" if name is None else "is not known here"
    near = suggestion(str(name or ""), names)
    raise InputError.of(place=key, value="" if name is None else shown(name), says=says, remedy=near)


def _covers(payload: Payload, protocol: Protocol) -> list[list[str | None]]:
    """Return the places that one touch marks, as lists: read again from JSON they are the same."""
    position = _named(payload, "position", (each.id for each in protocol.positions))
    side = Side(_named(payload, "side", Side)) if payload.get("side") is not None else None
    covers = places_marked_normal(protocol, position, side)
    if not covers:
        says, remedy = "holds nothing that one touch marks as normal", "state each by itself"
        raise InputError.of(place="position", value=position, says=says, remedy=remedy)
    return [list(each) for each in covers]
