"""A measurement of a picture as JSON: ``fabella.measurement/1``; and the views, ``fabella.views/1``."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from fabella.measure import PictureMeasurement, PictureReading, Quantity, View
from fabella.picture import Picture
from fabella.record import Finding

FORMAT = "fabella.measurement/1"
VIEWS_FORMAT = "fabella.views/1"
_DIGITS = 3


def measure_tree(
    measurement: PictureMeasurement, finding: Finding | None, picture: Picture, *, against: str | None
) -> dict[str, Any]:
    """Return a measurement as plain data; ``finding`` and ``against`` are null where there is none."""
    frame = measurement.frame
    return {
        "format": FORMAT,
        "view": measurement.view.id,
        "side": measurement.side,
        "mirrored": measurement.mirrored,
        "picture": {
            "kind": picture.kind,
            "width_px": frame.width_px,
            "height_px": frame.height_px,
            "pixel_width": round(frame.pixel_width, _DIGITS + 3),
            "mm_per_px": frame.mm_per_px,
            "remarks": list(picture.remarks),
        },
        "points": {name: [point.x, point.y] for name, point in measurement.points.items()},
        "readings": [_reading(each) for each in measurement.readings],
        "finding": None
        if finding is None
        else {
            "sign": finding.sign,
            "side": str(finding.side),
            "value": finding.value,
            "unit": finding.unit,
            "method": finding.method,
            "note": finding.note,
        },
        "against": against,
    }


def views_tree(views: Iterable[View]) -> dict[str, Any]:
    """Return views as plain data, landmarks in the order in which they are pointed at."""
    return {
        "format": VIEWS_FORMAT,
        "views": [
            {
                "id": view.id,
                "name": view.name,
                "medium": view.medium.value,
                "seen_from": view.seen_from.value,
                "taking": view.taking,
                "method": view.method,
                "landmarks": [
                    {
                        "id": each.id,
                        "name": each.name,
                        "where": each.where,
                        "placed_mm": each.placed_mm,
                        "source": each.source,
                    }
                    for each in view.landmarks
                ],
                "quantities": [
                    {**_named(each), "method_error": each.method_error, "source": each.source}
                    for each in view.quantities
                ],
            }
            for view in views
        ],
    }


def _named(quantity: Quantity) -> dict[str, Any]:
    return {
        "id": quantity.id,
        "name": quantity.name,
        "signs": list(quantity.signs),
        "unit": quantity.unit,
        "positive": quantity.positive,
    }


def _reading(reading: PictureReading) -> dict[str, Any]:
    low, high = reading.interval
    return {
        **_named(reading.quantity),
        "value": round(reading.value, _DIGITS) + 0.0,
        "standard_error": round(reading.standard_error, _DIGITS),
        "pointing_error": round(reading.pointing_error, _DIGITS),
        "low": round(low, _DIGITS) + 0.0,
        "high": round(high, _DIGITS) + 0.0,
    }
