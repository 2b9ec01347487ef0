"""The published JSON Schemas of what ``fabella conclude --json`` and ``fabella next --json`` print."""

from __future__ import annotations

import json
from collections.abc import Iterable
from enum import StrEnum
from typing import Any

from fabella.anatomy import Lesions, Side
from fabella.record import Origin
from fabella.report.answer import FORMAT, STEPS_FORMAT
from fabella.workup import ANY_LEVEL, AlarmVerdict, Urgency

Schema = dict[str, Any]

_TEXT: Schema = {"type": "string", "minLength": 1}
_ANY_TEXT: Schema = {"type": "string"}
_SHARE: Schema = {"type": "number", "minimum": 0, "maximum": 1}
_AMOUNT: Schema = {"type": "number", "minimum": 0}
_YES_NO: Schema = {"type": "boolean"}


def conclusion_schema(lesions: Lesions) -> Schema:
    """Return the JSON Schema (draft 2020-12) of one conclusion, alone or as one line of many."""
    return _schema(
        FORMAT,
        "Everything concluded from one examination; file and line are there when it is one of many.",
        {
            **_made_by(),
            "cannot_wait": _list(_ref("alarm")),
            "knees": {
                **_object({side.value: _ref("knee") for side in (Side.RIGHT, Side.LEFT)}),
                "required": [],
                "description": "Empty when the conclusion failed; only the knee asked for with --side.",
            },
            **_advice(),
        },
        {"alarm": _alarm(), "knee": _knee(), "lesion": _lesion(lesions), "step": _step()},
        optional={"file": _TEXT, "line": {"type": ["integer", "null"], "minimum": 1}},
    )


def steps_schema() -> Schema:
    """Return the JSON Schema (draft 2020-12) of the next steps."""
    return _schema(
        STEPS_FORMAT,
        "What cannot wait, and what to ask, examine or image next.",
        {**_made_by(), "cannot_wait": _list(_ref("alarm")), **_advice()},
        {"alarm": _alarm(), "step": _step()},
    )


def _made_by() -> Schema:
    return {
        "examination": _object({"id": _TEXT, "origin": _one_of(Origin)}),
        "edition": {**_TEXT, "description": "Of the evidence."},
        "version": {**_TEXT, "description": "Of the program."},
    }


def _alarm() -> Schema:
    criteria = _list(_object({"id": _TEXT, "words": _TEXT, "ask": _TEXT}))
    return _object(
        {
            "rule": _TEXT,
            "name": _TEXT,
            "side": {"enum": [*Side, None], "description": "null: of the person."},
            "verdict": _one_of(AlarmVerdict),
            "urgency": _one_of(Urgency),
            "met": criteria,
            "unknown": {**criteria, "description": "Each with the question that would settle it."},
            "unmet": criteria,
            "action": _TEXT,
            "source": _TEXT,
            "doi_or_pmid": _ANY_TEXT,
            "from_memory": {**_YES_NO, "description": "The source was not re-read."},
        }
    )


def _knee() -> Schema:
    part = _object({"id": _TEXT, "level": _TEXT})
    return _object(
        {
            "symptomatic": _YES_NO,
            "lesions": {**_list(_ref("lesion")), "description": "The most probable first."},
            "combinations": _list(_object({"lesions": _list(part), "probability": _SHARE})),
            "nothing_listed": {**_SHARE, "description": "That no lesion of the model is present."},
            "guarding": {**_SHARE, "description": "That the knee guards against stress tests."},
            "fit": _object({"p_value": _SHARE, "poor": _YES_NO, "odd": _list(_TEXT)}),
            "look_again": {
                **_list(_object({"signs": _list(_TEXT), "why": _TEXT})),
                "description": "Two findings of which one denies the other.",
            },
            "findings": {**_list(_TEXT), "description": "Signs that entered the conclusion."},
            "unused": {**_list(_TEXT), "description": "Signs that say nothing of this knee."},
        }
    )


def _lesion(lesions: Lesions) -> Schema:
    levels = dict.fromkeys(level.id for lesion in lesions.values() for level in lesion.levels)
    grounding = _object({"published": _SHARE, "derived": _SHARE, "judgement": _SHARE})
    reason = _object(
        {
            "sign": _TEXT,
            "name": _TEXT,
            "abnormal": _YES_NO,
            "weight_bits": {"type": "number", "description": "Change of the log2 odds; +1 doubles them."},
            "sources": _list(_TEXT),
            "grounding": grounding,
            "explained_otherwise": {
                **_YES_NO,
                "description": "The lesion often brings it, but something else explains it better.",
            },
        }
    )
    return _object(
        {
            "id": {"enum": list(lesions)},
            "level": {"enum": [ANY_LEVEL, *levels]},
            "probability": _SHARE,
            "low": {**_SHARE, "description": "Lower end of the 90 % interval."},
            "high": {**_SHARE, "description": "Upper end of the 90 % interval."},
            "prior": {**_SHARE, "description": "Before any finding."},
            "for": {**_list(reason), "description": "The strongest first."},
            "against": {**_list(reason), "description": "The strongest first."},
            "grounding": grounding,
        }
    )


def _advice() -> Schema:
    withheld = _object(
        {
            "kind": {"enum": ["sign", "image"]},
            "id": _TEXT,
            "name": _TEXT,
            "side": _one_of(Side),
            "why": _TEXT,
        }
    )
    return {
        "next_steps": {
            **_list(_ref("step")),
            "description": "What met rules order, then at the bedside, then images.",
        },
        "withheld": {**_list(withheld), "description": "What must not be done now, and why."},
        "enough": {
            "type": ["boolean", "null"],
            "description": "Whether nothing left at the bedside would change the plan; null: not computed.",
        },
        "together": {
            "type": ["number", "null"],
            "minimum": 0,
            "maximum": 1,
            "description": "Chance that the rest of the examination changes the plan; null: one step may.",
        },
        "deferred": {
            "type": ["boolean", "null"],
            "description": "Whether steps are left out beside what cannot wait; null: not computed.",
        },
        "unsettled": {
            "type": ["boolean", "null"],
            "description": "Whether a pressing rule is open and to be settled first; null: not computed.",
        },
        "failures": {**_list(_TEXT), "description": "What could not be computed."},
    }


def _step() -> Schema:
    outlook = _object({"outcome": _TEXT, "chance": _SHARE, "lesion": _TEXT, "now": _SHARE, "then": _SHARE})
    return _object(
        {
            "kind": {"enum": ["question", "manoeuvre", "image"]},
            "id": _TEXT,
            "name": _TEXT,
            "side": _one_of(Side),
            "bits": _AMOUNT,
            "minutes": _AMOUNT,
            "bits_per_minute": {**_AMOUNT, "description": "Pain counted as time."},
            "hurts": {"type": "integer", "minimum": 0, "maximum": 3},
            "outlooks": {**_list(outlook), "description": "The lesion each outcome would move most."},
            "sources": _list(_TEXT),
            "ordered_by": {"type": ["string", "null"], "description": "The met rule that asks for it."},
            "confirms": {**_list(_TEXT), "description": "The lesions whose treatment rests on it."},
            "how": {"type": ["string", "null"], "description": "In which way an image is to be taken."},
            "spared_by": {
                "type": ["string", "null"],
                "description": "The rule by which the first of these lesions is diagnosed without it.",
            },
        }
    )


def _schema(
    name: str, description: str, properties: Schema, definitions: Schema, optional: Schema | None = None
) -> Schema:
    whole = _object({"format": {"const": name}, **properties})
    schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:{name.replace('.', ':').replace('/', ':')}",
        "title": name,
        "description": description,
        **whole,
        "properties": {**(optional or {}), **whole["properties"]},
        "$defs": definitions,
    }
    plain: Schema = json.loads(json.dumps(schema))
    return plain


def _object(properties: Schema) -> Schema:
    return {
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


def _list(items: Schema) -> Schema:
    return {"type": "array", "items": items}


def _one_of(choices: Iterable[StrEnum]) -> Schema:
    return {"enum": list(choices)}


def _ref(name: str) -> Schema:
    return {"$ref": f"#/$defs/{name}"}
