"""Saying which of two disputed values holds: a new statement by somebody who has both before them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from fabella.anatomy import Side
from fabella.record import Key, Part, Stated, change_to
from fabella.store.actor import Actor
from fabella.store.clinic.access import visit_of
from fabella.store.clinic.charting import save_one
from fabella.store.clinic.sheets import sheet_of
from fabella.store.refusals import Frozen, Moved, NotThere

_MOST_DIGITS = 18  # no version has more


def settle_dispute(actor: Actor, visit_id: int, form: Mapping[str, str], *, now: datetime) -> None:
    """Let one of the values that were written about a statement hold.

    ``form`` names the statement (``part``, ``name``, ``side``), the ``version`` of the value that holds and
    the one that was ``seen``. Raises `Moved` when somebody wrote about it since, `NotThere` when there is no
    such dispute, `Frozen` when the visit is signed.
    """
    visit = visit_of(actor, visit_id)
    if visit.is_signed:
        raise Frozen("This examination is signed already.")
    sheet = sheet_of(visit)
    key, seen = _key(form), _number(form, "seen")
    values = (*sheet.conflicts.get(key, ()), sheet.stated.get(key))
    written = [each for each in values if each is not None]
    chosen = next((each for each in written if each.version == _number(form, "version")), None)
    if chosen is None or key not in sheet.conflicts:
        raise NotThere("There is no such disagreement any more.")
    if any(each.version > seen for each in written):
        raise Moved("Something was written about it since you read it. Read it again.")
    save_one(actor, visit_id, _operation(key, chosen, visit_id, seen), now=now)


def _operation(key: Key, chosen: Stated, visit_id: int, seen: int) -> dict[str, object]:
    side = key.side.value if key.side else "person"
    identity = f"settled-{visit_id}-{seen}-{chosen.version}-{side}-{key.name.replace('_', '-')}"[:64]
    return {"id": identity, "base": seen, **change_to(key, chosen.value)}


def _key(form: Mapping[str, str]) -> Key:
    part, side = form.get("part", ""), form.get("side", "")
    if part not in list(Part) or side not in {"", *Side}:
        raise NotThere("There is no such statement.")
    return Key(Part(part), form.get("name", ""), Side(side) if side else None)


def _number(form: Mapping[str, str], name: str) -> int:
    text = form.get(name, "")
    return int(text) if text.isdecimal() and len(text) <= _MOST_DIGITS else -1
