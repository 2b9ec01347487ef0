"""The signed visits of a patient before another one, since which its letter says what has changed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import lru_cache

from fabella.errors import InputError
from fabella.protocol import load_protocol
from fabella.record import Examination, read_examination
from fabella.store.actor import Actor
from fabella.store.clinic import models
from fabella.store.clinic.access import visit_of
from fabella.store.clinic.trail import canonical, sha256

_KEPT = 256
"""Files that stay read: an open page asks for them with every touch, and what is signed stays as it is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Earlier:
    """The earlier visits that a letter is held against: their files as signed, and what stands in them.

    Both are in the order of time, and empty for a first visit. ``unsigned`` is the day of the very visit
    before when nobody has signed it, so that it does not count; None else.
    """

    files: tuple[str, ...] = ()
    examinations: tuple[Examination, ...] = ()
    unsigned: date | None = None

    @property
    def mark(self) -> str:
        """What tells these files from any others; empty for none."""
        return sha256(canonical(self.files)) if self.files else ""


NO_EARLIER = Earlier()


def earlier_visits(actor: Actor, visit_id: int, examination: Examination) -> Earlier:
    """Return the earlier visits that the letter about an examination of this visit is held against."""
    visit = visit_of(actor, visit_id)
    before = models.Visit.objects.filter(patient_id=visit.patient_id, day__lt=visit.day)
    last = before.order_by("day", "pk").last()
    found = earlier_among(files_before(visit), examination)
    if last is None or models.Signature.objects.filter(visit=last).exists():
        return found
    return replace(found, unsigned=last.day)


def files_before(visit: models.Visit) -> tuple[str, ...]:
    """Return the files of all visits of the same patient on days before, each as it was signed last."""
    rows = models.Signature.objects.filter(visit__patient_id=visit.patient_id, visit__day__lt=visit.day)
    ordered = rows.order_by("visit__day", "visit_id", "number").values_list("visit_id", "file")
    return tuple(dict(ordered).values())


def signed_after(visit: models.Visit, at: datetime) -> tuple[date, ...]:
    """Return the days of earlier visits of the same patient that were signed, or signed again, after then."""
    rows = models.Signature.objects.filter(
        visit__patient_id=visit.patient_id, visit__day__lt=visit.day, at__gt=at
    )
    return tuple(rows.order_by("visit__day").values_list("visit__day", flat=True).distinct())


def earlier_among(files: Iterable[str], examination: Examination) -> Earlier:
    """Return what an examination is held against: every file but one that cannot be read any more.

    All of them, as it is said of what an earlier visit told whether an operation or an image came since.
    """
    read = {}
    for file in files:
        try:
            read[file] = read_earlier(file, examination)
        except InputError:
            continue
    return Earlier(files=tuple(read), examinations=tuple(read.values()))


def read_earlier(file: str, examination: Examination) -> Examination:
    """Return an earlier examination of the patient of this one, whose name or sex was corrected since.

    Raises `InputError` when it cannot be read.
    """
    earlier = _read(file, examination.examined_on or date.max)
    patient = replace(earlier.patient, label=examination.patient.label, sex=examination.patient.sex)
    return replace(earlier, patient=patient, origin=examination.origin)


@lru_cache(maxsize=_KEPT)
def _read(file: str, today: date) -> Examination:
    return read_examination(file, protocol=load_protocol(), today=today)
