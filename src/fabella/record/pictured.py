"""A value read off a picture as a finding: in the unit of its sign, with how it was taken and its error."""

from __future__ import annotations

from fabella.anatomy import Side
from fabella.measure import PictureMeasurement
from fabella.record.finding import Finding


def finding_of_picture(measurement: PictureMeasurement, sign: str) -> Finding:
    """Return what a picture gives for a sign of the protocol, rounded to what its error leaves; never graded.

    Parameters
    ----------
    measurement
        Of a view that speaks of ``sign`` (`fabella.measure.View.signs`); another sign is a ValueError.
    """
    reading = measurement.reading_for(sign)
    if reading is None:
        raise ValueError(f"{measurement.view.id} says nothing of {sign}")
    unit = reading.quantity.unit
    mirrored = ", mirrored" if measurement.mirrored else ""
    return Finding(
        sign=sign,
        side=Side(measurement.side),
        value=reading.rounded(reading.value),
        unit=unit,
        method=measurement.view.method + mirrored,
        note=f"standard error {reading.standard_error:.1f} {unit}",
    )
