"""Saving what was done at the bedside: each operation once, in order, kept before it is acknowledged."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from django.db import transaction

from fabella.errors import Problem
from fabella.protocol import load_protocol
from fabella.record import Entry, Operation, Refused, Sheet, fold, read_batch
from fabella.store.actor import Actor
from fabella.store.clinic import models
from fabella.store.clinic.access import visit_of
from fabella.store.clinic.lines import repeat_context
from fabella.store.clinic.sheets import examination_of, keep_sheet, sheet_of
from fabella.store.clinic.trail import Action, add_lines, canonical, deed_at, sha256
from fabella.store.router import CLINIC
from fabella.store.writing import writing

_NOT_YET = "was made on a version that this examination has not reached, as after restoring an older copy"


class Outcome(StrEnum):
    """What became of an operation."""

    SAVED = "saved"
    CONFLICT = "conflict"
    """Saved, but beside what somebody else had written: nothing was overwritten."""
    REFUSED = "refused"
    """Not saved, and never will be as it stands."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """The answer to one operation; a repeat of it is answered the same."""

    id: str | None
    outcome: Outcome
    version: int | None = None
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Saved:
    """The answers to a batch, and the sheet after it."""

    results: tuple[Result, ...]
    sheet: Sheet


def save(actor: Actor, visit_id: int, text: str | bytes, *, now: datetime) -> Saved:
    """Save a batch of operations on a visit, written as `read_batch` reads it.

    An operation that is known already is not applied again. One that is wrong is refused by itself. On a
    signed visit every new one is refused. Raises `InputError` when the text is no batch.
    """
    visit = visit_of(actor, visit_id)
    batch = read_batch(text, protocol=load_protocol(), day=visit.day)
    with writing(CLINIC):
        visit = visit_of(actor, visit_id)
        sheet = sheet_of(visit)
        known = _known(batch)
        new: dict[str, Operation] = {}
        refused: dict[int, Refused] = {}
        for place, each in enumerate(batch):
            if isinstance(each, Refused):
                refused[place] = each
            elif (earlier := known.get(each.id) or new.get(each.id)) is not None:
                if not _same(earlier, each, visit):
                    refused[place] = _refusal(
                        each, place, "id", "was used for another change", "make a new id"
                    )
            elif visit.is_signed:
                remedy = "amend the examination first"
                refused[place] = _refusal(each, place, "", "comes after the signature", remedy)
            elif each.base > visit.version:
                refused[place] = _refusal(
                    each, place, "base", _NOT_YET, "look whether it belongs here, and enter it again"
                )
            else:
                new[each.id] = each
        sheet = add_operations(actor, visit, sheet, tuple(new.values()), now)
    versions = {key: row.version for key, row in known.items()}
    versions |= {key: visit.version - len(new) + at for at, key in enumerate(new, start=1)}
    return Saved(results=tuple(_results(batch, refused, versions, sheet)), sheet=sheet)


def save_one(
    actor: Actor, visit_id: int, operation: Mapping[str, object], *, now: datetime
) -> tuple[Problem, ...]:
    """Save one operation on a visit, and return what is wrong with it: nothing once it is saved."""
    (result,) = save(actor, visit_id, json.dumps({"operations": [operation]}), now=now).results
    return result.problems


def _known(batch: Sequence[Operation | Refused]) -> dict[str, models.Entry]:
    ids = [each.id for each in batch if isinstance(each, Operation)]
    return {row.operation: row for row in models.Entry.objects.filter(operation__in=ids)}


def _same(earlier: models.Entry | Operation, again: Operation, visit: models.Visit) -> bool:
    """Return whether two operations ask for the same; what a touch covers may have grown since."""
    if isinstance(earlier, Operation):
        return (earlier.change, earlier.text) == (again.change, again.text)
    asked = [
        {key: value for key, value in json.loads(text).items() if key != "covers"}
        for text in (earlier.payload, again.text)
    ]
    return (earlier.visit_id, earlier.change) == (visit.id, again.change) and asked[0] == asked[1]


def _refusal(operation: Operation, place: int, key: str, says: str, remedy: str) -> Refused:
    at = f"operations[{place}].{key}".rstrip(".")
    value = operation.base if key == "base" else operation.id
    problem = Problem(place=at, value=str(value), says=says, remedy=remedy)
    return Refused(id=operation.id, problems=(problem,))


def add_operations(
    actor: Actor, visit: models.Visit, sheet: Sheet, operations: Sequence[Operation], now: datetime
) -> Sheet:
    """Keep new operations, with their line in the trail, and return the sheet after them.

    To be called while `writing` to the clinic.
    """
    if not operations:
        return sheet
    first = visit.version + 1
    entries = [Entry(first + at, actor.writer, each) for at, each in enumerate(operations)]
    sheet = fold(entries, sheet)
    rows = [_row(visit, entry, now) for entry in entries]
    models.Entry.objects.bulk_create(rows)
    visit.version = sheet.version
    repeat_context(visit, examination_of(visit, sheet).context)
    visit.save(update_fields=["version", "setting", "complaint"])
    detail = {"first": first, "last": sheet.version, "sha256": entries_digest(rows)}
    add_lines(actor, [deed_at(visit, Action.WROTE, detail)], now)
    transaction.on_commit(lambda: keep_sheet(visit.id, sheet), using=CLINIC)
    return sheet


def _row(visit: models.Visit, entry: Entry, now: datetime) -> models.Entry:
    operation = entry.operation
    return models.Entry(
        visit=visit,
        version=entry.version,
        operation=operation.id,
        base=operation.base,
        change=operation.change.value,
        payload=operation.text,
        author=entry.writer.author,
        device=entry.writer.device,
        at=now,
    )


def entries_digest(rows: Iterable[models.Entry]) -> str:
    """Return the hash over entries, which the line of the trail about their writing holds."""
    return sha256(
        canonical(
            [
                [row.version, row.operation, row.base, row.change, row.payload, row.author, row.device]
                for row in rows
            ]
        )
    )


def _results(
    batch: Sequence[Operation | Refused], refused: dict[int, Refused], versions: dict[str, int], sheet: Sheet
) -> Iterable[Result]:
    for place, each in enumerate(batch):
        if place in refused:
            wrong = refused[place]
            yield Result(id=wrong.id, outcome=Outcome.REFUSED, problems=wrong.problems)
        else:
            version = versions[str(each.id)]
            outcome = Outcome.CONFLICT if version in sheet.contested else Outcome.SAVED
            yield Result(id=each.id, outcome=outcome, version=version)
