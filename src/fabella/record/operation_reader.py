"""Operations read from JSON, each by itself, so that a wrong one never stops those beside it."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import date

from fabella.errors import InputError, Problem
from fabella.protocol import Protocol
from fabella.record.jsontext import Keyed, parse, shown
from fabella.record.layout import OPERATION_ID, WORDS
from fabella.record.operation import Change, Operation
from fabella.record.operation_steps import KEYS, steps_of
from fabella.record.section import Notes, Section, read_object
from fabella.record.sheet import SEEN

MAX_OPERATIONS = 1000
"""In one batch; a whole examination has fewer."""

_MAX_BASE = 10**9
_ENVELOPE = ("id", "base", "change", SEEN)


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """An operation that could not be read: its id, if it has one, and everything wrong with it."""

    id: str | None
    problems: tuple[Problem, ...]


def read_batch(text: str | bytes, *, protocol: Protocol, day: date) -> tuple[Operation | Refused, ...]:
    """Return the operations of ``{"operations": […]}`` in order, each read or refused by itself.

    ``day`` is that of the examination. Raises `InputError` when the text is no batch at all.
    """
    members = read_object(text, _members, keys=("operations",))
    return tuple(_read(each, f"operations[{place}]", protocol, day) for place, each in enumerate(members))


def _members(top: Section) -> list[object]:
    members = top.members("operations")
    top.require("operations", "write a list of operations")
    if len(members) > MAX_OPERATIONS:
        top.wrong("operations", f"holds more than {MAX_OPERATIONS}", "send them in several batches")
    return members


def restore_operation(
    *, identity: str, base: int, change: str, text: str, protocol: Protocol, day: date
) -> Operation:
    """Return an operation from its envelope and the `Operation.text` that was kept of it."""
    kept = parse(text)
    if not isinstance(kept, Keyed):
        raise TypeError("the payload of an operation is an object")
    kind = Change(change)
    seen = {SEEN: kept.pop(SEEN)} if SEEN in kept else {}
    payload, steps = steps_of(kind, kept, protocol=protocol, day=day)
    return Operation(id=identity, base=base, change=kind, payload={**payload, **seen}, steps=steps)


def _read(value: object, place: str, protocol: Protocol, day: date) -> Operation | Refused:
    notes = Notes()
    section = Section(value, place=place, keys=None, notes=notes)
    if not section.is_object:
        return Refused(id=None, problems=tuple(notes.problems))
    section.require("id", f"write {WORDS[OPERATION_ID]}, never used before")
    section.require("base", "write the version of the examination that its author saw")
    section.require("change", f"allowed: {', '.join(Change)}")
    identity = section.text("id", OPERATION_ID)
    base = section.number("base", 0, _MAX_BASE, "")
    if base is not None and not base.is_integer():
        section.wrong("base", "is no whole number")
    seen = _seen(section)
    change = section.choice("change", Change)
    keys = KEYS[change] if change else ()
    for key in section:
        if change and key not in (*_ENVELOPE, *keys):
            notes.add(section.at(key), key, f"does not belong to {change}", notes.nearest(key, keys))
    _note_repeated(section.raw("finding"), f"{place}.finding", notes)
    if notes.problems or identity is None or base is None or change is None:
        return Refused(id=identity, problems=tuple(notes.problems))
    given = {key: section.raw(key) for key in keys if section.given(key)}
    try:
        payload, steps = steps_of(change, given, protocol=protocol, day=day)
    except InputError as error:
        problems = (replace(each, place=f"{place}.{each.place}") for each in error.problems)
        return Refused(id=identity, problems=tuple(problems))
    payload = {**payload, **seen}
    return Operation(id=identity, base=int(base), change=change, payload=payload, steps=steps)


def _seen(section: Section) -> dict[str, object]:
    """Return what an operation says of others that were on the screen, to be kept with its payload."""
    ids = section.members(SEEN)
    if len(ids) > MAX_OPERATIONS:
        section.wrong(SEEN, f"holds more than {MAX_OPERATIONS}", "name those about the same statement")
    for place, each in enumerate(ids):
        if not isinstance(each, str) or not re.search(OPERATION_ID, each):
            section.notes.add(f"{section.at(SEEN)}[{place}]", each, f"is not {WORDS[OPERATION_ID]}")
    return {SEEN: ids} if section.given(SEEN) else {}


def _note_repeated(value: object, place: str, notes: Notes) -> None:
    if isinstance(value, Keyed):
        for key in value.twice:
            notes.add(f"{place}.{shown(key)}", key, "stands here more than once", "keep one")
