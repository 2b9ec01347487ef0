"""Invented people and the few things that most tests of the store do with them."""

from __future__ import annotations

import itertools
import json
from datetime import UTC, date, datetime, timedelta
from typing import Any

from fabella.anatomy import Side
from fabella.record import Setting
from fabella.store import Actor, Role
from fabella.store.clinic.details import PatientDetails, VisitDetails
from fabella.store.clinic.patients import add_patient
from fabella.store.clinic.visits import begin_visit

TODAY = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
LATER = NOW + timedelta(hours=1)

_ids = (f"made-for-tests-{number:06}" for number in itertools.count(1))


def actor(name: str, *roles: Role, device: str = "tablet", service: str = "knee") -> Actor:
    """A person at a device, by default a clinician."""
    wanted = frozenset(roles or {Role.CLINICIAN})
    return Actor(name=name, shown=name.title(), roles=wanted, service=service, device=device)


ANN, BEN = actor("ann"), actor("ben", device="phone")
STRANGER = actor("zoe", service="hip")
LACHMAN = {"sign": "lachman", "side": "right", "state": "normal"}
LAX = {"sign": "lachman", "side": "right", "state": "abnormal", "level": "2+"}


def new_patient(who: Actor = ANN, number: str = "K-1", label: str = "Ada Invented") -> int:
    """Add a patient."""
    details = PatientDetails(number=number, label=label, birth_date=date(1990, 3, 1))
    return add_patient(who, details, now=NOW)


def new_visit(who: Actor = ANN, patient: int | None = None) -> int:
    """Begin a visit of a patient, by default a new one; its version is then 2."""
    details = VisitDetails(day=TODAY, setting=Setting.SPECIALIST_CLINIC, complaint=(Side.RIGHT,))
    return begin_visit(who, new_patient(who) if patient is None else patient, details, now=NOW)


BEGUN = 2
"""The version of a visit that has just begun."""


def finding(written: dict[str, Any], *, base: int = BEGUN, id: str | None = None) -> dict[str, Any]:  # noqa: A002
    """An operation that states a finding, with an id of its own."""
    return {"id": id or next(_ids), "base": base, "change": "set_finding", "finding": written}


def answer(item: str, value: object, *, base: int = BEGUN) -> dict[str, Any]:
    """An operation that answers a question of the history."""
    return {"id": next(_ids), "base": base, "change": "set_history", "item": item, "value": value}


def batch(*operations: dict[str, Any]) -> str:
    """Operations as they are sent."""
    return json.dumps({"operations": operations})
