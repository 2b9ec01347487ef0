"""From one examination to the text of its file: one way to write it, always the same."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping

from fabella.record.context import NO_COMPLAINT, Context, Patient
from fabella.record.examination import Examination
from fabella.record.finding import Finding
from fabella.record.imaging import Imaging
from fabella.record.layout import (
    CONTEXT_KEYS,
    EXAMINATION_KEYS,
    FINDING_KEYS,
    IMAGING_KEYS,
    PATIENT_KEYS,
    PROCEDURE_KEYS,
    TOTAL_KEYS,
)
from fabella.record.totals import Procedure, Total


def write_examination(examination: Examination, *, one_line: bool = False) -> str:
    """Return the text of an examination's file, ending in a line break; what is unknown is left out.

    Equal examinations give equal texts, and reading the text gives the examination back.
    One finding a line for the eye, or everything on ``one_line`` for a stream of examinations.
    """
    tree = _tree(examination, EXAMINATION_KEYS)
    parts = [f"{_dumps(key)}: {_block(value, one_line=one_line)}" for key, value in tree.items()]
    if one_line:
        return "{" + ", ".join(parts) + "}\n"
    return "{\n  " + ",\n  ".join(parts) + "\n}\n"


_KEYS: Mapping[type, tuple[str, ...]] = {
    Patient: PATIENT_KEYS,
    Context: CONTEXT_KEYS,
    Procedure: PROCEDURE_KEYS,
    Total: TOTAL_KEYS,
    Imaging: IMAGING_KEYS,
    Finding: FINDING_KEYS,
}
_LEFT_OUT_EMPTY = (("totals", ()), ("imaging", ()), ("limited", False))
_NOBODY_COMPLAINS = ("complaint", ())


def _tree(thing: object, keys: Iterable[str]) -> dict[str, object]:
    values = ((key, getattr(thing, key)) for key in keys)
    return {
        key: NO_COMPLAINT if (key, value) == _NOBODY_COMPLAINS else _plain(value)
        for key, value in values
        if value is not None and (key, value) not in _LEFT_OUT_EMPTY
    }


def _plain(value: object) -> object:
    if keys := _KEYS.get(type(value)):
        return _tree(value, keys)
    match value:
        case Mapping():
            return {key: _plain(each) for key, each in value.items()}
        case tuple():
            return [_plain(each) for each in value]
        case float() if value.is_integer():
            return int(value)
        case bool() | int() | float():
            return value
        case _:
            return str(value)


def _block(value: object, *, one_line: bool) -> str:
    """Return a value as JSON; unless on one line, each finding and each answer of the history has its own."""
    if one_line or not value:
        return _dumps(value)
    if isinstance(value, list):
        return "[\n    " + ",\n    ".join(map(_dumps, value)) + "\n  ]"
    if isinstance(value, dict):
        return "{\n    " + ",\n    ".join(f"{_dumps(k)}: {_dumps(v)}" for k, v in value.items()) + "\n  }"
    return _dumps(value)


def _dumps(value: object) -> str:
    return json.dumps(value, ensure_ascii=False)
