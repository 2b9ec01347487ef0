"""Pictures on which something was measured: kept with their points, together with the entry they give."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from fabella.errors import InputError
from fabella.measure import Frame, PictureMeasurement, PictureReading, Point, side_of, view_of
from fabella.protocol import load_protocol
from fabella.record import Refused, read_batch
from fabella.store.actor import Actor
from fabella.store.clinic.access import visit_of
from fabella.store.clinic.charting import add_operations
from fabella.store.clinic.models import Entry, Visit
from fabella.store.clinic.picture_models import MeasuredPicture
from fabella.store.clinic.sheets import sheet_of
from fabella.store.clinic.trail import Action, add_lines, canonical, deed_at, sha256
from fabella.store.kept import reading_kept
from fabella.store.refusals import Frozen, Moved, NotThere
from fabella.store.router import CLINIC
from fabella.store.writing import writing

MOST_BYTES = 4_000_000
"""Of a picture as it is kept (judgement): a photograph of 1600 pixels a side has an eighth of that."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """A picture with what was measured on it.

    Parameters
    ----------
    measurement
        Where the points lie on the picture, and what they give.
    jpeg
        The picture, without any further data, at most `MOST_BYTES`.
    remarks
        What a reader should know of the file, one sentence each.
    finding
        What was stated by it, as in an examination file; None where the protocol has no sign for it.
    """

    measurement: PictureMeasurement
    jpeg: bytes
    remarks: tuple[str, ...]
    finding: Mapping[str, object] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptPicture:
    """One picture of a visit as it is kept: its number, who kept it and when.

    ``measurement`` has the values as they were read off then; ``stated`` is the finding, None for none.
    """

    number: int
    shown: str
    at: datetime
    measurement: PictureMeasurement
    remarks: tuple[str, ...]
    stated: Mapping[str, Any] | None


def keep_picture(actor: Actor, visit_id: int, taken: Taken, *, id_: str, base: int, now: datetime) -> int:
    """Keep a picture, and enter its finding as any other, together or not at all; return its number.

    The same picture sent again under its id is not kept twice.

    Parameters
    ----------
    id_
        Never used for another change: 16 to 64 letters, digits and dashes.
    base
        The version of the visit that was on the screen. What somebody wrote since stays, and the finding is
        kept beside it as a conflict.

    Raises
    ------
    Frozen
        When the visit is signed.
    Moved
        When the id was used for something else, or the visit has not reached the ``base``.
    InputError
        When the picture is too large, or the finding cannot be stated.
    """
    if len(taken.jpeg) > MOST_BYTES:
        says, remedy = "is too large to be kept", "save it smaller; a side of 2000 pixels is plenty"
        raise InputError.of(place="picture", says=says, remedy=remedy)
    payload = _written(taken)
    with writing(CLINIC):
        visit = visit_of(actor, visit_id)
        earlier = MeasuredPicture.objects.filter(operation=id_).first()
        if earlier and (earlier.visit_id, earlier.payload) == (visit.id, payload):
            return earlier.number
        if visit.is_signed:
            raise Frozen("This examination is signed. Amend it first.")
        if earlier or Entry.objects.filter(operation=id_).exists() or base > visit.version:
            raise Moved("This examination is not as it stood on your screen. Load the page again.")
        if taken.finding is not None:
            _enter(actor, visit, taken.finding, id_=id_, base=base, now=now)
        row = MeasuredPicture.objects.create(
            visit=visit,
            number=MeasuredPicture.objects.filter(visit=visit).count() + 1,
            operation=id_,
            payload=payload,
            picture=taken.jpeg,
            author=actor.name,
            shown=actor.shown,
            device=actor.device,
            at=now,
        )
        detail = {"number": row.number, "sha256": picture_digest(row)}
        add_lines(actor, [deed_at(visit, Action.MEASURED, detail)], now)
    return row.number


def pictures_of(actor: Actor, visit_id: int) -> tuple[KeptPicture, ...]:
    """Return what was measured on pictures at a visit, in order; who is shown it has `see_visit`."""
    rows = MeasuredPicture.objects.filter(visit=visit_of(actor, visit_id)).order_by("number")
    return tuple(map(_kept, rows.defer("picture")))


def picture_of(actor: Actor, visit_id: int, number: int) -> tuple[KeptPicture, bytes]:
    """Return one picture of a visit and its file; who is shown it has `see_visit`.

    Raises `NotThere` when the visit has none of that number.
    """
    row = MeasuredPicture.objects.filter(visit=visit_of(actor, visit_id), number=number).first()
    if row is None:
        raise NotThere("There is no such picture at this visit.")
    return _kept(row), bytes(row.picture)


def picture_digest(row: MeasuredPicture) -> str:
    """Return the hash over a picture and what was measured on it, which the line of the trail holds."""
    return sha256(canonical([row.number, row.operation, row.payload, sha256(bytes(row.picture)), row.shown]))


def _enter(
    actor: Actor, visit: Visit, finding: Mapping[str, object], *, id_: str, base: int, now: datetime
) -> None:
    """Enter a finding; nothing newer than the ``base`` was on the screen, not even the author's own."""
    operation = {"id": id_, "base": base, "seen": [], "change": "set_finding", "finding": finding}
    (read,) = read_batch(json.dumps({"operations": [operation]}), protocol=load_protocol(), day=visit.day)
    if isinstance(read, Refused):
        raise InputError(read.problems)
    add_operations(actor, visit, sheet_of(visit), (read,), now)


def _written(taken: Taken) -> str:
    one = taken.measurement
    return canonical(
        {
            "view": one.view.id,
            "side": one.side,
            "mirrored": one.mirrored,
            "width_px": one.frame.width_px,
            "height_px": one.frame.height_px,
            "mm_per_px": one.frame.mm_per_px,
            "points": {name: list(point) for name, point in one.points.items()},
            "read": [
                {
                    "quantity": each.quantity.id,
                    "value": each.value,
                    "pointing_error": each.pointing_error,
                    "standard_error": each.standard_error,
                }
                for each in one.readings
            ],
            "remarks": list(taken.remarks),
            "finding": taken.finding,
        }
    )


def _kept(row: MeasuredPicture) -> KeptPicture:
    with reading_kept(f"Measured picture {row.number} of visit {row.visit_id}"):
        return _read(row)


def _read(row: MeasuredPicture) -> KeptPicture:
    tree = json.loads(row.payload)
    view = view_of(tree["view"])
    quantities = {each.id: each for each in view.quantities}
    frame = Frame(width_px=tree["width_px"], height_px=tree["height_px"], mm_per_px=tree["mm_per_px"])
    return KeptPicture(
        number=row.number,
        shown=row.shown,
        at=row.at,
        measurement=PictureMeasurement(
            view=view,
            side=side_of(tree["side"]),
            mirrored=tree["mirrored"],
            frame=frame,
            points={name: Point(*at) for name, at in tree["points"].items()},
            readings=tuple(
                PictureReading(
                    quantity=quantities[each["quantity"]],
                    value=each["value"],
                    pointing_error=each["pointing_error"],
                    standard_error=each["standard_error"],
                )
                for each in tree["read"]
            ),
        ),
        remarks=tuple(tree["remarks"]),
        stated=tree["finding"],
    )
