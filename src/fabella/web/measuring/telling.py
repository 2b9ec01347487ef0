"""Kept pictures in words, for the page of their visit and their own."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from fabella.protocol import load_protocol
from fabella.report.measured_words import spoken
from fabella.report.wording import quantity
from fabella.store.clinic.picturing import KeptPicture
from fabella.web.measuring.reading import Value, values_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """One picture in words.

    ``entered`` says as what its value was put into the visit; empty where the protocol has no sign for it.
    """

    number: int
    title: str
    side: str
    method: str
    values: tuple[Value, ...]
    entered: str
    spoken: str
    by: str
    at: datetime


def shown(kept: tuple[KeptPicture, ...]) -> tuple[Shown, ...]:
    """Return pictures in words."""
    return tuple(_shown(each) for each in kept)


def _shown(each: KeptPicture) -> Shown:
    measurement, stated = each.measurement, each.stated
    entered = ""
    if stated is not None:
        name = load_protocol().sign(stated["sign"]).name
        entered = f"{name}, {stated['side']}: {quantity(stated['value'], stated['unit'])}"
    return Shown(
        number=each.number,
        title=measurement.view.name,
        side=measurement.side,
        method=measurement.method,
        values=values_of(measurement),
        entered=entered,
        spoken=spoken(measurement),
        by=each.shown,
        at=each.at,
    )
