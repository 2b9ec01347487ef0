"""The published JSON Schemas of what ``fabella conclude`` and ``fabella next`` print, and their parts."""

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
    return schema_of(
        FORMAT,
        "Everything concluded from one examination; file and line are there when it is one of many.",
        {
            **_made_by(),
            "cannot_wait": list_of(ref("alarm")),
            "knees": {
                **object_of({side.value: ref("knee") for side in (Side.RIGHT, Side.LEFT)}),
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
    return schema_of(
        STEPS_FORMAT,
        "What cannot wait, and what to ask, examine or image next.",
        {**_made_by(), "cannot_wait": list_of(ref("alarm")), **_advice()},
        {"alarm": _alarm(), "step": _step()},
    )


def _made_by() -> Schema:
    return {
        "examination": object_of({"id": _TEXT, "origin": one_of(Origin)}),
        "edition": {**_TEXT, "description": "Of the evidence."},
        "version": {**_TEXT, "description": "Of the program."},
    }


def _alarm() -> Schema:
    criteria = list_of(object_of({"id": _TEXT, "words": _TEXT, "ask": _TEXT}))
    return object_of(
        {
            "rule": _TEXT,
            "name": _TEXT,
            "side": {"enum": [*Side, None], "description": "null: of the person."},
            "verdict": one_of(AlarmVerdict),
            "urgency": one_of(Urgency),
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
    part = object_of({"id": _TEXT, "level": _TEXT})
    return object_of(
        {
            "symptomatic": _YES_NO,
            "lesions": {**list_of(ref("lesion")), "description": "The most probable first."},
            "combinations": list_of(object_of({"lesions": list_of(part), "probability": _SHARE})),
            "nothing_listed": {**_SHARE, "description": "That no lesion of the model is present."},
            "guarding": {**_SHARE, "description": "That the knee guards against stress tests."},
            "fit": object_of({"p_value": _SHARE, "poor": _YES_NO, "odd": list_of(_TEXT)}),
            "look_again": {
                **list_of(object_of({"signs": list_of(_TEXT), "why": _TEXT})),
                "description": "Two findings of which one denies the other.",
            },
            "findings": {**list_of(_TEXT), "description": "Signs that entered the conclusion."},
            "images": {**list_of(_TEXT), "description": "Images that entered it."},
            "unused": {**list_of(_TEXT), "description": "Signs that say nothing of this knee."},
        }
    )


def _lesion(lesions: Lesions) -> Schema:
    levels = dict.fromkeys(level.id for lesion in lesions.values() for level in lesion.levels)
    grounding = object_of({"published": _SHARE, "derived": _SHARE, "judgement": _SHARE})
    reason = object_of(
        {
            "sign": _TEXT,
            "name": _TEXT,
            "image": {
                **_YES_NO,
                "description": "Whether the sign is an image, abnormal where it shows the lesion.",
            },
            "abnormal": _YES_NO,
            "weight_bits": {"type": "number", "description": "Change of the log2 odds; +1 doubles them."},
            "sources": list_of(_TEXT),
            "grounding": grounding,
            "explained_otherwise": {
                **_YES_NO,
                "description": "It moves the lesion only by what it says of others: the lesion often brings "
                "it, but something else explains it better; or hardly does, and others are less likely.",
            },
        }
    )
    return object_of(
        {
            "id": {"enum": list(lesions)},
            "level": {"enum": [ANY_LEVEL, *levels]},
            "probability": _SHARE,
            "low": {**_SHARE, "description": "Lower end of the 90 % interval."},
            "high": {**_SHARE, "description": "Upper end of the 90 % interval."},
            "prior": {**_SHARE, "description": "Before any finding."},
            "for": {**list_of(reason), "description": "The strongest first."},
            "against": {**list_of(reason), "description": "The strongest first."},
            "grounding": grounding,
        }
    )


def _advice() -> Schema:
    withheld = object_of(
        {
            "kind": {"enum": ["sign", "image"]},
            "id": _TEXT,
            "name": _TEXT,
            "side": one_of(Side),
            "why": _TEXT,
        }
    )
    return {
        "next_steps": {
            **list_of(ref("step")),
            "description": "What met rules order, then at the bedside, then images.",
        },
        "withheld": {**list_of(withheld), "description": "What must not be done now, and why."},
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
        "failures": {**list_of(_TEXT), "description": "What could not be computed."},
    }


def _step() -> Schema:
    outlook = object_of({"outcome": _TEXT, "chance": _SHARE, "lesion": _TEXT, "now": _SHARE, "then": _SHARE})
    return object_of(
        {
            "kind": {"enum": ["question", "manoeuvre", "image"]},
            "id": _TEXT,
            "name": _TEXT,
            "side": one_of(Side),
            "bits": _AMOUNT,
            "minutes": _AMOUNT,
            "bits_per_minute": {**_AMOUNT, "description": "Pain counted as time."},
            "hurts": {"type": "integer", "minimum": 0, "maximum": 3},
            "outlooks": {**list_of(outlook), "description": "The lesion each outcome would move most."},
            "sources": list_of(_TEXT),
            "ordered_by": {"type": ["string", "null"], "description": "The met rule that asks for it."},
            "confirms": {**list_of(_TEXT), "description": "The lesions whose treatment rests on it."},
            "how": {"type": ["string", "null"], "description": "In which way an image is to be taken."},
            "spared_by": {
                "type": ["string", "null"],
                "description": "The rule by which the first of these lesions is diagnosed without it.",
            },
            "before": {"type": ["string", "null"], "description": "The image that it is taken before."},
        }
    )


def schema_of(
    name: str, description: str, properties: Schema, definitions: Schema, optional: Schema | None = None
) -> Schema:
    """Return the whole schema (draft 2020-12) of a format of this name."""
    whole = object_of({"format": {"const": name}, **properties})
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


def object_of(properties: Schema) -> Schema:
    """Return the schema of an object that has all of these properties and no others."""
    return {
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


def list_of(items: Schema) -> Schema:
    """Return the schema of a list of such items."""
    return {"type": "array", "items": items}


def one_of(choices: Iterable[StrEnum]) -> Schema:
    """Return the schema of a word that is one of these."""
    return {"enum": list(choices)}


def described(schema: Schema, says: str) -> Schema:
    """Return a schema with what it says."""
    return {**schema, "description": says}


def ref(name: str) -> Schema:
    """Return the schema that stands under this name among the definitions."""
    return {"$ref": f"#/$defs/{name}"}
