"""The trail of one patient, as their own clinicians read it; reading it is in the trail too."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from fabella.store.actor import Actor
from fabella.store.clinic.access import patient_of
from fabella.store.clinic.lines import PatientLine, patient_line
from fabella.store.clinic.models import Trace
from fabella.store.clinic.trail import Action, Deed, add_reading

SHOWN_AT_MOST = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class TrailLine:
    """One line, with its particulars: what was taken, which entries were written, what stood there before."""

    number: int
    at: datetime
    actor: str
    device: str
    action: Action
    visit: int | None
    detail: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trail:
    """The last lines about a patient, the latest first."""

    patient: PatientLine
    lines: tuple[TrailLine, ...]


def trail_of(actor: Actor, patient_id: int, *, today: date, now: datetime) -> Trail:
    """Return the trail of a patient, its last line being about this very reading."""
    patient = patient_of(actor, patient_id)
    add_reading(actor, [Deed(action=Action.OPENED, patient=patient.id, detail={"what": "trail"})], now)
    rows = Trace.objects.filter(patient=patient).order_by("-number")[:SHOWN_AT_MOST]
    lines = tuple(
        TrailLine(
            number=row.number,
            at=row.at,
            actor=row.actor,
            device=row.device,
            action=Action(row.action),
            visit=row.visit_id,
            detail=json.loads(row.detail),
        )
        for row in rows
    )
    return Trail(patient=patient_line(patient, today), lines=lines)
