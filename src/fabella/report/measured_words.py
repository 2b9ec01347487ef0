"""A value read off a picture, in words: with its error, its interval and where they come from."""

from __future__ import annotations

import re

from fabella.measure import PictureMeasurement, PictureReading
from fabella.report.wording import quantity, with_unit

CLINICAL_CAUTION = (
    "A measurement of a picture is as good as the picture: see that its points lie on their landmarks."
)
PRIVACY_CAUTION = (
    "A picture of a patient is part of the record: it needs consent, and is kept by the rules of the house."
)


def value_words(reading: PictureReading) -> str:
    """Return the value and what it means, such as ``4° varus``."""
    unit, positive = reading.quantity.unit, reading.quantity.positive
    value = reading.rounded(reading.value)
    sides = re.fullmatch(r"(?:foot )?(\w+); (\w+) is negative", positive)
    if sides and value:
        return f"{quantity(abs(value), unit)} {sides[1] if value > 0 else sides[2]}"
    return quantity(value, unit)


def error_words(reading: PictureReading) -> str:
    """Return the standard error to one decimal place, such as ``± 3.4°``."""
    return f"± {with_unit(f'{reading.standard_error:.1f}', reading.quantity.unit)}"


def interval_words(reading: PictureReading) -> str:
    """Return the 95 % interval with its sign: ``-3° to 9°``."""
    low, high = (quantity(reading.rounded(end), reading.quantity.unit) for end in reading.interval)
    return f"{low} to {high}"


def parts_words(reading: PictureReading) -> str:
    """Return what the standard error is made of, and where the second part comes from."""
    quantity_ = reading.quantity
    pointing = with_unit(f"{reading.pointing_error:.1f}", quantity_.unit)
    method = with_unit(f"{quantity_.method_error:.1f}", quantity_.unit)
    return f"Placing the points {pointing}; taking the picture anew {method} ({quantity_.source})."


def spoken(measurement: PictureMeasurement) -> str:
    """Return in one sentence what was measured, on which limb, how."""
    main = measurement.main
    return (
        f"{main.quantity.name} of the {measurement.side} limb {value_words(main)}, standard error "
        f"{error_words(main)[2:]}, 95 % {interval_words(main)}; {measurement.method}."
    )
