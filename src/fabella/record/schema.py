"""The published JSON Schema of the file, made from the protocol.

It says all that a schema can say. `BEYOND_THE_SCHEMA` lists what only the reader refuses.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from enum import StrEnum
from typing import Any

from fabella.anatomy import Side, load_lesions
from fabella.protocol import Measure, Protocol, Sign
from fabella.record.context import NO_COMPLAINT, Acuity, Mechanism, Setting, Sex
from fabella.record.examination import FORMAT, Origin
from fabella.record.finding import Reason, State
from fabella.record.imaging import ImageKind
from fabella.record.layout import (
    CONDUCT_KEYS,
    DATE,
    EXAMINATION_KEYS,
    FINDING_KEYS,
    ID,
    IMAGING_KEYS,
    LINE,
    MAX_AGE_YEARS,
    MAX_ONSET_DAYS,
    PROCEDURE_KEYS,
    PROSE,
    READING_KEYS,
    TOTAL_KEYS,
    is_examined,
)
from fabella.record.totals import SCORES, ProcedureName

BEYOND_THE_SCHEMA = (
    "a key stands twice in one object",
    "a text holds half of a surrogate pair",
    "the examination lies in the future",
    "a procedure lies after the examination",
    "the onset lies before birth",
    "a total is stated twice for one side",
    "an image was taken after the examination",
    "an image is stated twice for one side",
    "a sign is stated twice for one side",
    "two statements cannot both be true",
    "the file is larger than 5 MB, is not UTF-8 or has a byte order mark",
)

Schema = dict[str, Any]
_NOTHING: Schema = {"type": "null"}  # null and an absent key are the same
_SOMETHING: Schema = {"not": _NOTHING}
_SIDES: Schema = {"type": ["array", "null"], "items": {"enum": list(Side)}, "uniqueItems": True}


def examination_schema(protocol: Protocol) -> Schema:
    """Return the JSON Schema (draft 2020-12) of `fabella.examination/1`, with every sign's limits.

    Every text that it refuses is refused by `read_examination`; ``format: date`` has to be asserted for that.
    """
    sections: Schema = {
        "format": {"const": FORMAT},
        "id": {"type": "string", "pattern": ID},
        "origin": {"enum": list(Origin)},
        "source": _text(PROSE),
        "examined_on": {**_text(DATE), "format": "date"},
        "examiner": _text(LINE),
        "patient": _object(
            {
                "age_years": _number(0, MAX_AGE_YEARS),
                "sex": _one_of(Sex),
                "label": _text(LINE),
            }
        ),
        "context": _object(
            {
                "setting": _one_of(Setting),
                "acuity": _one_of(Acuity),
                "onset_days": _number(0, MAX_ONSET_DAYS),
                "mechanism": _one_of(Mechanism),
                "mechanism_words": _text(PROSE),
                "complaint": {"anyOf": [_SIDES, {"const": NO_COMPLAINT}]},
                "procedure": _procedure(),
            }
        ),
        **{key: {"type": ["boolean", "null"]} for key in CONDUCT_KEYS},
        "history": _object({sign.id: _answer(sign) for sign in protocol.history()}),
        "totals": {"type": ["array", "null"], "items": _total()},
        "imaging": {"type": ["array", "null"], "items": _imaging()},
        "findings": {"type": ["array", "null"], "items": {"$ref": "#/$defs/finding"}},
    }
    schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:{FORMAT.replace('.', ':').replace('/', ':')}",
        "title": FORMAT,
        "description": "One examination of both knees. A key that is null counts as absent: unknown.",
        **_object({key: sections[key] for key in EXAMINATION_KEYS}),
        "type": "object",
        "required": ["format", "id", "origin"],
        **_when({"origin": {"const": Origin.PUBLISHED}}, {"source": _SOMETHING}),
        "$defs": {"finding": _finding(protocol)},
    }
    plain: Schema = json.loads(json.dumps(schema))
    return plain


def _procedure() -> Schema:
    properties: Schema = {
        "name": _one_of(ProcedureName),
        "sides": {**_SIDES, "minItems": 1},
        "on": {**_text(DATE), "format": "date"},
    }
    given: Schema = {"type": "object", "properties": dict.fromkeys(properties, _SOMETHING)}
    rule: Schema = {"if": {"type": "object"}, "then": {**given, "required": list(PROCEDURE_KEYS)}}
    return {**_object({key: properties[key] for key in PROCEDURE_KEYS}), "allOf": [rule]}


def _total() -> Schema:
    properties: Schema = {
        "score": {"enum": list(SCORES)},
        "value": {"type": "number"},
        "side": _one_of(Side),
    }
    ranges = [
        _when({"score": {"const": score.id}}, {"value": {"minimum": score.low, "maximum": score.high}})
        for score in SCORES.values()
    ]
    return {
        **_object({key: properties[key] for key in TOTAL_KEYS}),
        "type": "object",
        "required": ["score", "value"],
        "allOf": ranges,
    }


def _imaging() -> Schema:
    properties: Schema = {
        "image": {"enum": list(ImageKind)},
        "side": {"enum": list(Side)},
        "on": {**_text(DATE), "format": "date"},
        "shows": {"type": ["array", "null"], "items": {"enum": list(load_lesions())}, "uniqueItems": True},
        "limited": {"type": ["boolean", "null"]},
        "words": _text(PROSE),
    }
    return {
        **_object({key: properties[key] for key in IMAGING_KEYS}),
        "type": "object",
        "required": ["image", "side"],
    }


def _finding(protocol: Protocol) -> Schema:
    signs = [sign for sign in protocol.signs if is_examined(sign)]
    alike: dict[tuple[bool, tuple[str, ...], Measure | None], list[str]] = {}
    for sign in signs:
        levels = tuple(level.id for level in sign.scale.levels)
        alike.setdefault((sign.is_person, levels, sign.scale.measure), []).append(sign.id)
    properties: Schema = {
        "sign": {"enum": [sign.id for sign in signs]},
        "side": _one_of(Side),
        "state": _one_of(State),
        "level": {"type": ["string", "null"]},
        "value": {"type": ["number", "null"]},
        "unit": {"type": ["string", "null"]},
        "method": _text(LINE),
        "reason": _one_of(Reason),
        "note": _text(PROSE),
    }
    nothing_read: Schema = dict.fromkeys(READING_KEYS, _NOTHING)
    untestable: Schema = {**nothing_read, "reason": _SOMETHING}
    rules = [
        _when({"state": {"const": State.NOT_EXAMINED}}, nothing_read),
        _when({"state": {"const": State.UNTESTABLE}}, untestable, {"reason": _NOTHING}),
        _when({"state": _SOMETHING}, {}, {"value": _SOMETHING, "level": _NOTHING}),
        _when({"value": _SOMETHING}, {"unit": _SOMETHING}, {"unit": _NOTHING}),
        *(_of_signs(names, *what) for what, names in alike.items()),
    ]
    return {
        **_object({key: properties[key] for key in FINDING_KEYS}),
        "type": "object",
        "required": ["sign"],
        "allOf": rules,
    }


def _of_signs(names: list[str], is_person: bool, levels: tuple[str, ...], measure: Measure | None) -> Schema:  # noqa: FBT001
    """Return what holds for every sign that has these sides, these levels and this measure."""
    normal, abnormal = levels[:1], levels[1:]
    holds: Schema = {
        "side": _NOTHING if is_person else {"enum": list(Side)},
        "level": {"enum": [*levels, None]},
        "value": _number(measure.low, measure.high) if measure else _NOTHING,
        "unit": {"enum": [measure.unit, None]} if measure else _NOTHING,
    }
    graded = [
        _when({"state": {"const": State.NORMAL}}, {"level": {"enum": [*normal, None]}}),
        _when({"state": {"const": State.ABNORMAL}}, {"level": {"enum": [*abnormal, None]}}),
    ]
    rule = _when({"sign": {"enum": names}}, holds)
    if levels:
        rule["then"]["allOf"] = graded
    return rule


def _answer(sign: Sign) -> Schema:
    measure = sign.scale.measure
    answer = _number(measure.low, measure.high) if measure else {"type": ["boolean", "null"]}
    unit = f" ({measure.unit})" if measure else ""
    return {**answer, "description": f"{sign.technique}{unit}"}


def _object(properties: Schema) -> Schema:
    return {"type": ["object", "null"], "properties": properties, "additionalProperties": False}


def _number(low: float, high: float) -> Schema:
    return {"type": ["number", "null"], "minimum": low, "maximum": high}


def _text(pattern: str) -> Schema:
    return {"type": ["string", "null"], "pattern": pattern}


def _one_of(choices: Iterable[StrEnum]) -> Schema:
    return {"enum": [*choices, None]}


def _when(given: Schema, then: Schema, otherwise: Schema | None = None) -> Schema:
    """Return the rule that ``then`` holds where all keys of ``given`` are as said, else ``otherwise``."""
    rule: Schema = {"if": {"properties": given, "required": list(given)}, "then": _holding(then)}
    return rule if otherwise is None else {**rule, "else": _holding(otherwise)}


def _holding(properties: Schema) -> Schema:
    """Return the rule that these keys are as said, and there unless null would do."""
    required = [key for key, rule in properties.items() if not _allows_null(rule)]
    return {"properties": properties, **({"required": required} if required else {})}


def _allows_null(rule: Schema) -> bool:
    return None in rule.get("enum", ()) or "null" in rule.get("type", ())
