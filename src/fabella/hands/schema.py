"""The published JSON Schema of a confirmation, made from the lesions.

It says all that a schema can say; that nothing was seen in the future, and that no key stands twice, only the
reader can tell.
"""

from __future__ import annotations

from typing import Any

from fabella.anatomy import Lesions, Side
from fabella.hands.confirmation import ABSENT, FORMAT, PRESENT, Method
from fabella.hands.reading import KEYS
from fabella.record.layout import DATE, ID, LINE, PROSE

REQUIRED = ("format", "examination", "side", "on", "method", "found")


def confirmation_schema(lesions: Lesions) -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of `fabella.confirmation/1`, with every lesion's levels."""
    found = {
        lesion: {"enum": [ABSENT, PRESENT, *(level.id for level in lesions[lesion].levels), None]}
        for lesion in lesions
    }
    properties: dict[str, Any] = {
        "format": {"const": FORMAT},
        "examination": {"type": "string", "pattern": ID},
        "side": {"enum": list(Side)},
        "on": {"type": "string", "format": "date", "pattern": DATE},
        "method": {"enum": list(Method)},
        "found": {
            "type": "object",
            "properties": found,
            "additionalProperties": False,
            "not": {"additionalProperties": {"type": "null"}},
        },
        "by": {"type": ["string", "null"], "pattern": LINE},
        "note": {"type": ["string", "null"], "pattern": PROSE},
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"What a scan or an operation showed of one knee, {FORMAT}",
        "type": "object",
        "properties": {key: properties[key] for key in KEYS},
        "required": list(REQUIRED),
        "additionalProperties": False,
    }
