"""A value read off a picture as a finding: in the unit of its sign, with how it was taken and its error."""

from __future__ import annotations

from fabella.anatomy import Side
from fabella.measure import PictureMeasurement
from fabella.record.finding import Finding


def finding_of_picture(measurement: PictureMeasurement, sign: str) -> Finding | None:
    """Return what a picture gives for a sign of the protocol, rounded to what its error leaves; never graded.

    None where its view says nothing of that sign (`fabella.measure.View.signs`).
    """
    reading = measurement.reading_for(sign)
    if reading is None:
        return None
    unit = reading.quantity.unit
    return Finding(
        sign=sign,
        side=Side(measurement.side),
        value=reading.rounded(reading.value),
        unit=unit,
        method=measurement.method,
        note=f"standard error {reading.standard_error:.1f} {unit}",
    )
