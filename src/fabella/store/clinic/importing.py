"""An examination file brought into a visit: each of its statements becomes an operation of its own."""

from __future__ import annotations

import json
from datetime import date, datetime

from fabella.protocol import load_protocol
from fabella.record import change_to, read_examination, statements
from fabella.store.actor import Actor
from fabella.store.clinic.access import visit_of
from fabella.store.clinic.charting import Saved, save
from fabella.store.clinic.trail import sha256


def bring_in(
    actor: Actor, visit_id: int, text: str | bytes, *, base: int, today: date, now: datetime
) -> Saved:
    """Save everything that an examination file states on a visit, once, however often it is sent.

    ``base`` is the version of the visit that was on the screen. Whose file it is, and when it was made, is
    not taken over: patient and day are those of the visit. Raises `InputError` with everything wrong with
    the file.
    """
    visit_of(actor, visit_id)
    examination = read_examination(text, protocol=load_protocol(), today=today)
    mark = sha256(f"{visit_id} {text!r}")[:32]
    operations = [
        {"id": f"file-{mark}-{number}", "base": base, **change_to(key, value)}
        for number, (key, value) in enumerate(statements(examination).items())
    ]
    return save(actor, visit_id, json.dumps({"operations": operations}), now=now)
