"""The trail: who saw or wrote what of which patient, in lines that are chained by their hashes.

Each line holds a hash over itself and the line before it, and lines about writing hold one over what was
written: nothing can be altered, left out or put between without every later line telling of it.
"""

from __future__ import annotations

import hashlib
import json
import threading
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from enum import StrEnum

from fabella.store.actor import Actor
from fabella.store.clinic.models import Trace, Visit
from fabella.store.router import CLINIC
from fabella.store.writing import writing


class Action(StrEnum):
    """What was done."""

    LISTED = "listed"
    OPENED = "opened"
    FOLLOWED = "followed"
    TOOK = "took"
    ADDED = "added"
    CORRECTED = "corrected"
    BEGAN = "began"
    WROTE = "wrote"
    SIGNED = "signed"
    AMENDED = "amended"
    CONFIRMED = "confirmed"
    MEASURED = "measured"


@dataclass(frozen=True, slots=True, kw_only=True)
class Deed:
    """What is to stand on one line: an action on a patient, at a visit or None, with its particulars."""

    action: Action
    patient: int
    visit: int | None = None
    detail: Mapping[str, object] = field(default_factory=dict)


def deed_at(visit: Visit, action: Action, detail: Mapping[str, object]) -> Deed:
    """Return what is to stand on a line about a visit."""
    return Deed(action=action, patient=visit.patient_id, visit=visit.id, detail=detail)


BEGINNING = "0" * 64
"""What stands for the line before the first."""

SITTING = timedelta(minutes=15)
"""How long a list or a page that stays open is one reading (judgement)."""


def add_lines(actor: Actor, deeds: Iterable[Deed], now: datetime) -> None:
    """Add lines to the trail; to be called while `writing` to the clinic."""
    last = Trace.objects.order_by("-number").first()
    number, digest = (0, BEGINNING) if last is None else (last.number, last.digest)
    lines = []
    for deed in deeds:
        number += 1
        line = Trace(
            number=number,
            at=now,
            actor=actor.name,
            device=actor.device,
            action=deed.action.value,
            patient_id=deed.patient,
            visit_id=deed.visit,
            detail=canonical(deed.detail),
        )
        line.digest = digest = digest_of(line, digest)
        lines.append(line)
    Trace.objects.bulk_create(lines)


def add_reading(actor: Actor, deeds: Iterable[Deed], now: datetime) -> None:
    """Add what a person is about to be shown; if it cannot be kept, it must not be shown."""
    new = [deed for deed in deeds if _sittings.begins(actor, deed, now)]
    if new:
        with writing(CLINIC):
            add_lines(actor, new, now)
        _sittings.remember(actor, new, now)


def clinic_mark() -> str:
    """Return what tells this clinic's numbers from another's: the first hash of its trail, or nothing."""
    first = Trace.objects.order_by("number").first()
    return "" if first is None else first.digest


def digest_of(line: Trace, before: str) -> str:
    """Return the hash of a line, given that of the line before it."""
    parts = [before, line.number, line.at.astimezone(UTC).isoformat(), line.actor, line.device, line.action,
             line.patient_id, line.visit_id, line.detail]  # fmt: skip
    return sha256(canonical(parts))


def canonical(value: object) -> str:
    """Return a value as JSON that is always the same."""
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def sha256(content: str | bytes) -> str:
    """Return the hash of a text or of bytes in hexadecimal digits."""
    return hashlib.sha256(content.encode() if isinstance(content, str) else content).hexdigest()


class _Sittings:
    """Which lists and open pages a person is still looking at, so that each is one line and not hundreds.

    A page that is opened, and everything that is written or taken away, has its own line every time. Only
    what a page fetches again while it stays open, and a list shown again, is one line a sitting.
    """

    _REPEATED = frozenset({Action.LISTED, Action.FOLLOWED})
    _MANY = 10_000

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._last: dict[tuple[object, ...], datetime] = {}

    def begins(self, actor: Actor, deed: Deed, now: datetime) -> bool:
        """Say whether a line is due."""
        if deed.action not in self._REPEATED:
            return True
        with self._lock:
            last = self._last.get(self._key(actor, deed))
        return last is None or not timedelta(0) <= now - last < SITTING

    def remember(self, actor: Actor, deeds: Iterable[Deed], now: datetime) -> None:
        """Remember that lines were kept."""
        with self._lock:
            if len(self._last) > self._MANY:
                self._last.clear()
            self._last.update((self._key(actor, deed), now) for deed in deeds)

    def forget(self) -> None:
        """Forget every sitting."""
        with self._lock:
            self._last.clear()

    @staticmethod
    def _key(actor: Actor, deed: Deed) -> tuple[object, ...]:
        """An open page is followed at its visit; a list is told by its patients."""
        listed = deed.action is Action.LISTED
        return actor.name, actor.device, deed.patient, deed.visit, listed


_sittings = _Sittings()
forget_sittings = _sittings.forget
