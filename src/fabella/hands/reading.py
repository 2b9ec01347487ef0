"""From the text of a confirmation to what it states, or to one message that lists all that is wrong."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import fields
from datetime import date

from fabella.anatomy import Lesions, Side
from fabella.hands.confirmation import ABSENT, FORMAT, PRESENT, Confirmation, Method
from fabella.record.layout import ID, LINE, PROSE, WORDS
from fabella.record.section import Section, read_object

KEYS = ("format", *(each.name for each in fields(Confirmation)))


def read_confirmation(text: str | bytes, *, lesions: Lesions, today: date, line: int = 1) -> Confirmation:
    """Return the confirmation that a text in the format `fabella.confirmation/1` holds.

    Parameters
    ----------
    text
        JSON; bytes must be UTF-8. Key order and whitespace are free; a key that is null counts as absent.
    lesions
        Names what can be found, and its levels.
    today
        The day after which nothing can have been seen.
    line
        The number of the text's first line, for messages.

    Raises
    ------
    InputError
        Listing every problem with its place, value, and what is allowed. Nothing is half read.
    """
    return read_object(text, lambda top: _confirmation(top, lesions, today), keys=KEYS, line=line)


def _confirmation(top: Section, lesions: Lesions, today: date) -> Confirmation | None:
    top.require("format", f"write {FORMAT}")
    top.require("examination", f"the id of the examination that was judged: {WORDS[ID]}")
    top.require("side", f"allowed: {', '.join(Side)}")
    top.require("on", "write the day, YYYY-MM-DD")
    top.require("method", f"allowed: {', '.join(Method)}")
    top.require("found", f'write {{"lesion": "{ABSENT}", "{PRESENT}" or its level, …}}')
    top.word("format", [FORMAT])
    examination = top.text("examination", ID)
    side = top.choice("side", Side)
    on = top.day("on", until=today, beyond="lies in the future")
    method = top.choice("method", Method)
    found = dict(_found(top, lesions)) if top.given("found") else {}
    by, note = top.text("by", LINE), top.text("note", PROSE)
    if examination is None or side is None or on is None or method is None:
        return None
    return Confirmation(
        examination=examination, side=side, on=on, method=method, found=found, by=by, note=note
    )


def _found(top: Section, lesions: Lesions) -> Iterator[tuple[str, str]]:
    section = Section(top.raw("found"), place="found", keys=lesions, notes=top.notes)
    if section.is_object and not any(section.given(key) for key in section):
        top.wrong("found", "states nothing", "name at least one lesion that was looked for")
    for key in section:
        if key in lesions and section.given(key):
            stated = section.word(key, (ABSENT, PRESENT, *(level.id for level in lesions[key].levels)))
            if stated is not None:
                yield key, stated


def write_confirmation(confirmation: Confirmation) -> str:
    """Return the text of a confirmation on one line, ending in a line break; reading it gives it back."""
    tree: dict[str, object] = {"format": FORMAT}
    for key in KEYS[1:]:
        value = getattr(confirmation, key)
        if value is not None:
            tree[key] = dict(value) if key == "found" else value.isoformat() if key == "on" else value
    return json.dumps(tree, ensure_ascii=False) + "\n"
