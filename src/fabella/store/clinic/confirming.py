"""What was found after a visit was signed: told once, then corrected or withdrawn for a reason."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby

from fabella.anatomy import load_lesions
from fabella.errors import InputError, Problem, Problems
from fabella.hands import FORMAT, Confirmation, read_confirmation, write_confirmation
from fabella.report.wording import written_date
from fabella.store.actor import Actor
from fabella.store.clinic import models
from fabella.store.clinic.access import patient_of, visit_of
from fabella.store.clinic.confirmation_models import Confirmation as Kept
from fabella.store.clinic.sheets import blank_examination
from fabella.store.clinic.signing import LONGEST_REASON
from fabella.store.clinic.trail import Action, add_lines, canonical, deed_at, sha256
from fabella.store.kept import reading_kept
from fabella.store.refusals import Frozen, Moved, NotThere
from fabella.store.router import CLINIC
from fabella.store.writing import writing


@dataclass(frozen=True, slots=True, kw_only=True)
class Confirmed:
    """One confirmation of a visit as it is kept.

    Parameters
    ----------
    number
        Of the visit's, in the order in which they were written.
    confirmation
        What was seen; None where an earlier one is withdrawn.
    author, shown, at
        Who wrote it, by account and name, and when.
    replaces, reason
        Number of the earlier one whose place it takes, None for none, and why.
    """

    number: int
    confirmation: Confirmation | None
    author: str
    shown: str
    at: datetime
    replaces: int | None
    reason: str


def confirm(
    actor: Actor,
    visit_id: int,
    stated: Mapping[str, object],
    *,
    today: date,
    now: datetime,
    replaces: int | None = None,
    reason: str = "",
    problems: Iterable[Problem] = (),
) -> int:
    """Keep what a look showed of a signed visit's knee, and return its number.

    The same statement of the same person, sent again while it stands, is not kept twice.

    Parameters
    ----------
    stated
        What the format `fabella.confirmation/1` holds, but for its name and the id of the examination.
    replaces, reason
        The number of one that it corrects, and why; None for a look of its own.
    problems
        What was found wrong before; it is raised with whatever else is wrong, and nothing is kept.

    Raises
    ------
    Frozen
        While the visit is not signed: what is known before signing is no test of it.
    Moved
        When the one to be corrected stands no more.
    InputError
        With everything wrong with the statement or the reason.
    """
    visit = _signed(visit_of(actor, visit_id))
    problems = Problems([*problems, *_reason_problems(reason if replaces is not None else None)])
    seen = _checked(stated, visit, today, problems)
    with writing(CLINIC):
        kept = _kept(_signed(visit_of(actor, visit_id)))
        same = [each for each in standing(kept) if (each.confirmation, each.author) == (seen, actor.name)]
        if same:
            return same[0].number
        return _add(actor, kept, _New(visit, seen, replaces, reason), now)


def withdraw(actor: Actor, visit_id: int, number: int, reason: str, *, now: datetime) -> int:
    """Let a confirmation stand no more, for a reason, and return the number of the row that says so."""
    Problems(_reason_problems(reason)).raise_any()
    with writing(CLINIC):
        visit = _signed(visit_of(actor, visit_id))
        return _add(actor, _kept(visit), _New(visit, None, number, reason), now)


def confirmations_of(actor: Actor, visit_id: int) -> tuple[Confirmed, ...]:
    """Return all confirmations of a visit as they were written; who is shown them has `see_visit`."""
    return _kept(visit_of(actor, visit_id))


def confirmations_by_visit(actor: Actor, patient_id: int) -> dict[int, tuple[Confirmed, ...]]:
    """Return the standing confirmations of a patient's visits; who is shown them has `see_patient`."""
    patient = patient_of(actor, patient_id)
    rows = Kept.objects.filter(visit__patient=patient).order_by("visit_id", "number")
    return {
        visit: standing(tuple(map(confirmed_of, each)))
        for visit, each in groupby(rows, key=lambda row: row.visit_id)
    }


def standing(all_of_a_visit: Sequence[Confirmed]) -> tuple[Confirmed, ...]:
    """Return the confirmations of a visit that hold: neither corrected nor withdrawn."""
    gone = {each.replaces for each in all_of_a_visit}
    return tuple(each for each in all_of_a_visit if each.confirmation and each.number not in gone)


def confirmed_of(row: Kept) -> Confirmed:
    """Return a confirmation from its row."""
    return Confirmed(
        number=row.number,
        confirmation=_read(row) if row.payload else None,
        author=row.author,
        shown=row.shown,
        at=row.at,
        replaces=row.replaces,
        reason=row.reason,
    )


def confirmation_digest(row: Kept) -> str:
    """Return the hash over what was confirmed, which the line of the trail about it holds."""
    return sha256(canonical([row.number, row.replaces, row.payload, row.reason, row.shown]))


def _signed(visit: models.Visit) -> models.Visit:
    if not visit.is_signed:
        raise Frozen(
            "This examination is not signed. Sign it first: what is known before signing is no test of it."
        )
    return visit


def _checked(
    stated: Mapping[str, object], visit: models.Visit, today: date, problems: Problems
) -> Confirmation:
    """Return what is to be kept, or raise everything that is wrong with it besides what was before."""
    tree = {**stated, "format": FORMAT, "examination": blank_examination(visit).id}
    seen: Confirmation | None = None
    told = Problems()
    try:
        seen = read_confirmation(json.dumps(tree), lesions=load_lesions(), today=today)
    except InputError as error:
        told += error.problems
    if str(stated.get("on") or visit.day) < str(visit.day) and "on" not in {each.place for each in told}:
        says, remedy = "lies before the examination", f"give a day from {written_date(visit.day)} on"
        told.add("on", str(stated["on"]), says, remedy)
    if seen is None or told or problems:
        raise InputError([*told, *problems])
    return seen


def _reason_problems(reason: str | None) -> Iterator[Problem]:
    """Yield what is wrong with a reason; None where none is needed."""
    line = " ".join((reason or "").split())
    if reason is not None and not line:
        says, remedy = "is missing", "say why what was written has to change"
        yield Problem(place="reason", says=says, remedy=remedy)
    elif len(line) > LONGEST_REASON or not line.isprintable():
        says, remedy = "is too long or cannot be printed", f"write up to {LONGEST_REASON} characters"
        yield Problem(place="reason", value=line[:40], says=says, remedy=remedy)


def _kept(visit: models.Visit) -> tuple[Confirmed, ...]:
    return tuple(map(confirmed_of, Kept.objects.filter(visit=visit).order_by("number")))


@dataclass(frozen=True, slots=True)
class _New:
    """What is about to be written; no confirmation withdraws."""

    visit: models.Visit
    confirmation: Confirmation | None
    replaces: int | None
    reason: str


def _add(actor: Actor, kept: Sequence[Confirmed], new: _New, now: datetime) -> int:
    place, reason = new.replaces, " ".join(new.reason.split())
    if place is not None and place not in {each.number for each in kept if each.confirmation}:
        raise NotThere("There is no such thing to correct at this visit.")
    if place is not None and place not in {each.number for each in standing(kept)}:
        raise Moved("It was corrected or withdrawn since you read it. Read what stands there now.")
    row = Kept.objects.create(
        visit=new.visit,
        number=len(kept) + 1,
        replaces=place,
        payload=write_confirmation(new.confirmation) if new.confirmation else "",
        reason=reason,
        author=actor.name,
        shown=actor.shown,
        device=actor.device,
        at=now,
    )
    detail: dict[str, object] = {"number": row.number, "sha256": confirmation_digest(row)}
    if place is not None:
        detail |= {"replaces": place, "reason": reason, "withdrawn": new.confirmation is None}
    add_lines(actor, [deed_at(new.visit, Action.CONFIRMED, detail)], now)
    return row.number


def _read(row: Kept) -> Confirmation:
    with reading_kept(f"What was found later, number {row.number} of visit {row.visit_id},"):
        return read_confirmation(row.payload, lesions=load_lesions(), today=date.max)
