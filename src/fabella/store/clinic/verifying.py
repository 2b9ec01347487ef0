"""Whether the trail is whole, and everything that was written is what the trail says was written."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from fabella.store.actor import Actor, Role
from fabella.store.clinic.charting import entries_digest
from fabella.store.clinic.confirmation_models import Confirmation
from fabella.store.clinic.confirming import confirmation_digest
from fabella.store.clinic.models import Amendment, Entry, Paper, Signature, Trace, Visit
from fabella.store.clinic.picture_models import MeasuredPicture
from fabella.store.clinic.picturing import picture_digest
from fabella.store.clinic.signing import papers_digest, signature_digest
from fabella.store.clinic.trail import BEGINNING, Action, digest_of
from fabella.store.refusals import NotAllowed


@dataclass(frozen=True, slots=True, kw_only=True)
class Verification:
    """What was found.

    ``head`` is the hash of the last line: kept elsewhere, it tells later whether the end was cut off.
    ``faults`` is empty when everything is whole.
    """

    lines: int
    entries: int
    head: str
    faults: tuple[str, ...]


def verify(actor: Actor) -> Verification:
    """Check the trail, and every entry, amendment, signature, confirmation and picture against it.

    For administrators and clinicians; it shows nothing of any patient.
    """
    if not actor.roles & {Role.ADMINISTRATOR, Role.CLINICIAN}:
        raise NotAllowed("Only administrators and clinicians check the trail.")
    check = _Check()
    faults = [fault for line in Trace.objects.order_by("number").iterator() for fault in check.line(line)]
    faults += check.rest()
    return Verification(lines=check.lines, entries=check.entries, head=check.head, faults=tuple(faults))


class _Check:
    def __init__(self) -> None:
        self.lines, self.entries, self.head = 0, 0, BEGINNING
        self._written: dict[int, int] = {}
        self._signed = self._amended = self._papers = self._confirmed = self._measured = 0

    def line(self, line: Trace) -> Iterator[str]:
        """Check one line and what it tells of."""
        self.lines += 1
        if line.number != self.lines:
            yield f"line {self.lines} is missing"
            self.lines = line.number
        if digest_of(line, self.head) != line.digest:
            yield f"line {line.number} is not as it was written"
        self.head = line.digest
        if line.visit_id is None:
            return
        detail = json.loads(line.detail)
        match line.action:
            case Action.WROTE.value:
                yield from self._wrote(line.visit_id, detail)
            case Action.SIGNED.value:
                yield from self._has_signed(line.visit_id, detail)
            case Action.AMENDED.value:
                yield from self._has_amended(line.visit_id, detail)
            case Action.CONFIRMED.value:
                yield from self._has_confirmed(line.visit_id, detail)
            case Action.MEASURED.value:
                yield from self._has_measured(line.visit_id, detail)

    def _wrote(self, visit: int, detail: dict[str, Any]) -> Iterator[str]:
        first, last = detail["first"], detail["last"]
        rows = list(Entry.objects.filter(visit_id=visit, version__range=(first, last)).order_by("version"))
        self.entries += last - first + 1
        if entries_digest(rows) != detail["sha256"]:
            yield f"entries {first} to {last} of visit {visit} are not as they were written"
        if first != self._written.get(visit, 0) + 1:
            yield f"entries of visit {visit} before {first} are missing in the trail"
        self._written[visit] = last

    def _has_signed(self, visit: int, detail: dict[str, Any]) -> Iterator[str]:
        self._signed += 1
        row = Signature.objects.filter(visit_id=visit, number=detail["number"]).first()
        if row is None or signature_digest(row) != detail["sha256"]:
            yield f"signature {detail['number']} of visit {visit} is not as it was given"
        papers = [] if row is None else list(Paper.objects.filter(signature=row))
        self._papers += len(papers)
        if "papers" in detail and papers_digest(papers) != detail["papers"]:
            yield f"the papers of signature {detail['number']} of visit {visit} are not as they were signed"

    def _has_amended(self, visit: int, detail: dict[str, Any]) -> Iterator[str]:
        self._amended += 1
        row = Amendment.objects.filter(visit_id=visit, number=detail["number"]).first()
        if row is None or row.reason != detail["reason"]:
            yield f"amendment {detail['number']} of visit {visit} is not as it was written"

    def _has_confirmed(self, visit: int, detail: dict[str, Any]) -> Iterator[str]:
        self._confirmed += 1
        row = Confirmation.objects.filter(visit_id=visit, number=detail["number"]).first()
        if row is None or confirmation_digest(row) != detail["sha256"]:
            yield f"confirmation {detail['number']} of visit {visit} is not as it was written"

    def _has_measured(self, visit: int, detail: dict[str, Any]) -> Iterator[str]:
        self._measured += 1
        row = MeasuredPicture.objects.filter(visit_id=visit, number=detail["number"]).first()
        if row is None or picture_digest(row) != detail["sha256"]:
            yield f"picture {detail['number']} of visit {visit} is not as it was kept"

    def rest(self) -> Iterator[str]:
        """Check that nothing stands anywhere that the trail does not tell of."""
        for what, told, rows in (
            ("entries", self.entries, Entry.objects.count()),
            ("signatures", self._signed, Signature.objects.count()),
            ("papers", self._papers, Paper.objects.count()),
            ("amendments", self._amended, Amendment.objects.count()),
            ("confirmations", self._confirmed, Confirmation.objects.count()),
            ("pictures", self._measured, MeasuredPicture.objects.count()),
        ):
            if told != rows:
                yield f"the trail tells of {told} {what}, and there are {rows}"
        for visit in Visit.objects.order_by("id").iterator():
            if visit.version != self._written.get(visit.id, 0):
                yield f"visit {visit.id} says that it has {visit.version} entries"
