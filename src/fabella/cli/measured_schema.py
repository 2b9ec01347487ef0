"""The published JSON Schemas of ``fabella measure`` and ``fabella gait``: points that are read, answers."""

from __future__ import annotations

from fabella.anatomy import Side
from fabella.cli.answer_schema import Schema, described, list_of, object_of, one_of, ref, schema_of
from fabella.cli.gait_answer import FORMAT as GAIT_FORMAT
from fabella.cli.measure_answer import FORMAT as MEASUREMENT_FORMAT
from fabella.cli.measure_answer import VIEWS_FORMAT
from fabella.cli.measure_points import FORMAT as POINTS_FORMAT
from fabella.cli.measure_points import MOST_PX
from fabella.measure import VIEWS, Medium, SeenFrom
from fabella.measure.walking_contacts import Foot
from fabella.measure.walking_knees import POINTS, READ
from fabella.measure.walking_pace import Timing

_TEXT: Schema = {"type": "string", "minLength": 1}
_ANY_TEXT: Schema = {"type": "string"}
_YES_NO: Schema = {"type": "boolean"}
_NUMBER: Schema = {"type": "number"}
_AMOUNT: Schema = {"type": "number", "minimum": 0}
_ABOVE_ZERO: Schema = {"type": "number", "exclusiveMinimum": 0}
_COUNT: Schema = {"type": "integer", "minimum": 1}
_VIEW: Schema = {"enum": [view.id for view in VIEWS]}


def points_schema() -> Schema:
    """Return the JSON Schema (draft 2020-12) of a file of points; what it leaves out is said by options."""
    place = {
        "type": "array",
        "items": {"type": "number", "minimum": -MOST_PX, "maximum": MOST_PX},
        "minItems": 2,
        "maxItems": 2,
    }
    schema = schema_of(
        POINTS_FORMAT,
        "Landmarks on a picture, in pixels of the upright picture from its upper left corner.",
        {
            "view": _VIEW,
            "side": one_of(Side),
            "mirrored": described(_YES_NO, "Right and left are exchanged on the picture, as in a mirror."),
            "points": {"type": "object", "additionalProperties": place},
        },
        {},
    )
    return {**schema, "required": ["format"]}


def measurement_schema() -> Schema:
    """Return the JSON Schema (draft 2020-12) of a measurement of a picture."""
    picture = object_of(
        {
            "kind": _TEXT,
            "width_px": _ABOVE_ZERO,
            "height_px": _ABOVE_ZERO,
            "pixel_width": described(_ABOVE_ZERO, "Of its height."),
            "mm_per_px": described(_or_null(_ABOVE_ZERO), "null: the picture has no scale."),
            "remarks": list_of(_TEXT),
        }
    )
    reading = object_of(
        {
            **_quantity(),
            "value": _NUMBER,
            "standard_error": _AMOUNT,
            "pointing_error": described(_AMOUNT, "What comes of placing the landmarks."),
            "low": described(_NUMBER, "Lower end of the 95 % interval."),
            "high": described(_NUMBER, "Upper end of the 95 % interval."),
        }
    )
    return schema_of(
        MEASUREMENT_FORMAT,
        "What one picture of one limb gives, each value with its standard error.",
        {
            "view": _VIEW,
            "side": one_of(Side),
            "mirrored": _YES_NO,
            "picture": picture,
            "points": {
                "type": "object",
                "additionalProperties": {"type": "array", "items": _NUMBER, "minItems": 2, "maxItems": 2},
            },
            "readings": described({**list_of(reading), "minItems": 1}, "The first is what the view is for."),
            "finding": described(_or_null(_finding({"side": one_of(Side)})), "null: it has no sign."),
            "against": described(_or_null(_TEXT), "In words; null without an examination."),
        },
        {},
    )


def views_schema() -> Schema:
    """Return the JSON Schema (draft 2020-12) of the views."""
    landmark = object_of({"id": _TEXT, "name": _TEXT, "where": _TEXT, "placed_mm": _AMOUNT, "source": _TEXT})
    quantity = object_of({**_quantity(), "method_error": _AMOUNT, "source": _TEXT})
    view = object_of(
        {
            "id": _VIEW,
            "name": _TEXT,
            "medium": one_of(Medium),
            "seen_from": one_of(SeenFrom),
            "taking": _TEXT,
            "method": _TEXT,
            "landmarks": described(list_of(landmark), "In the order in which they are pointed at."),
            "quantities": list_of(quantity),
        }
    )
    return schema_of(VIEWS_FORMAT, "How a limb is pictured to be measured.", {"views": list_of(view)}, {})


def gait_schema() -> Schema:
    """Return the JSON Schema (draft 2020-12) of a measured walk."""
    perhaps = _or_null(ref("estimate"))
    curve = {**list_of(_NUMBER), "minItems": POINTS, "maxItems": POINTS}
    knee = object_of(
        {
            "strides": _COUNT,
            **dict.fromkeys(READ, perhaps),
            "mean_deg": described(curve, "At 0 to 100 % of the stride."),
            "sd_deg": curve,
        }
    )
    feet = tuple(map(str, Foot))
    differences = object_of(dict.fromkeys(READ, perhaps))
    knees = object_of({**dict.fromkeys(feet, _or_null(knee)), "differences": _or_null(differences)})
    event = list_of(object_of({"foot": one_of(Foot), "at_s": _NUMBER}))
    return schema_of(
        GAIT_FORMAT,
        "A measured walk; what is not known is null. Differences are right less left.",
        {
            "timing": one_of(Timing),
            "cadence_per_min": ref("estimate"),
            "stride_s": ref("estimate"),
            "variation_s": perhaps,
            "jitter_s": described(_AMOUNT, "SD of the timing itself."),
            "speed_m_per_s": perhaps,
            "stride_m": perhaps,
            "step_s": object_of(dict.fromkeys((*feet, "difference", "asymmetry_pct"), ref("estimate"))),
            "stance_pct": object_of(dict.fromkeys((*feet, "difference"), perhaps)),
            "knees": _or_null(knees),
            "contacts": event,
            "leavings": event,
            "left_out": list_of(_TEXT),
            "findings": list_of(_finding({}, optional={"side": one_of(Side)})),
        },
        {
            "estimate": object_of(
                {
                    "value": _NUMBER,
                    "error": described(_AMOUNT, "Standard error."),
                    "low": described(_NUMBER, "Lower end of the 95 % interval."),
                    "high": described(_NUMBER, "Upper end of the 95 % interval."),
                    "n": described(_COUNT, "Steps or strides."),
                }
            )
        },
    )


def _quantity() -> Schema:
    return {
        "id": _TEXT,
        "name": _TEXT,
        "signs": list_of(_TEXT),
        "unit": _TEXT,
        "positive": described(_TEXT, "What a value above 0 means."),
    }


def _finding(placed: Schema, optional: Schema | None = None) -> Schema:
    finding = object_of(
        {"sign": _TEXT, **placed, "value": _NUMBER, "unit": _TEXT, "method": _TEXT, "note": _ANY_TEXT}
    )
    return {**finding, "properties": {**finding["properties"], **(optional or {})}}


def _or_null(schema: Schema) -> Schema:
    return {"anyOf": [schema, {"type": "null"}]}
