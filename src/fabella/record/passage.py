"""A passage of a letter or of the patient's page in somebody's own words, and what the program said there."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from fabella.errors import InputError, Problems, suggestion
from fabella.record.jsontext import kind, shown

LONGEST_PASSAGE = 8000
"""In characters (judgement): two pages, more than any knee needs."""

_ID = re.compile(r"[a-z][a-z0-9_-]{0,59}")
_CONTROL = re.compile(r"[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u2028\u2029\ud800-\udfff]")


class Writing(StrEnum):
    """A document whose passages can be put into other words."""

    LETTER = "letter"
    SUMMARY = "summary"


@dataclass(frozen=True, slots=True, kw_only=True)
class Passage:
    """A passage as somebody wrote it.

    Parameters
    ----------
    text
        Their words, with line breaks between paragraphs; empty leaves the passage out.
    computed
        What the program said there when it was written.
    reason
        Why what cannot wait was put otherwise or left out; empty when it was not.
    """

    text: str
    computed: str
    reason: str = ""


def passage_name(writing: Writing, passage: str) -> str:
    """Return the name under which a passage of a document is stated."""
    return f"{writing}-{passage}"


def parts_of_name(name: str) -> tuple[Writing, str]:
    """Return document and passage of a name that `passage_name` made."""
    writing, _, passage = name.partition("-")
    return Writing(writing), passage


def read_passage(payload: Mapping[str, object]) -> tuple[str, Passage | None]:
    """Return the name of a passage and what it says; None takes somebody's own words back.

    Spaces at the ends of lines, and blank lines, say nothing and are not kept.
    Raises `InputError` with everything wrong with the payload.
    """
    problems = Problems()
    writing = payload.get("document")
    if writing not in list(Writing):
        says = "is missing" if writing is None else "has no passages"
        problems.add("document", _written(writing), says, suggestion(str(writing or ""), Writing))
    passage = payload.get("passage")
    if not isinstance(passage, str) or not _ID.fullmatch(passage):
        remedy = "write the id of a passage of the document"
        problems.add("passage", _written(passage), "is no passage", remedy)
    texts = {name: _text(name, payload.get(name), problems) for name in ("text", "computed", "reason")}
    if problems or not isinstance(passage, str):
        raise InputError(problems)
    stated = None
    if payload.get("text") is not None:
        stated = Passage(
            text=texts["text"], computed=texts["computed"], reason=" ".join(texts["reason"].split())
        )
    return passage_name(Writing(str(writing)), passage), stated


def _text(place: str, value: object, problems: Problems) -> str:
    if value is None:
        return ""
    if not isinstance(value, str):
        problems.add(place, shown(value), f"is {kind(value)}, not text", "")
        return ""
    lines = (" ".join(line.split(" ")).strip() for line in value.replace("\r\n", "\n").split("\n"))
    text = "\n".join(line for line in lines if line)
    if len(text) > LONGEST_PASSAGE:
        remedy = f"write up to {LONGEST_PASSAGE} characters"
        problems.add(place, shown(value), "is too long", remedy)
    elif _CONTROL.search(text):
        problems.add(place, shown(value), "holds a control character", "leave it out")
    return text


def _written(value: object) -> str:
    return "" if value is None else shown(value)
