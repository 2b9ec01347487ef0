"""Pictures that were taken of invented knees, measured on as the page does it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from importlib.resources import files
from typing import Any

from fabella.measure import Point, side_of, view_of
from fabella.store import Actor
from fabella.store.clinic.picturing import Taken, keep_picture
from fabella.store.clinic.visits import examination_now, line_of
from fabella.web.measuring.draft import begin_draft
from fabella.web.measuring.reading import entry_of, measured


def keep_pictures(actor: Actor, visit: int, pictures: Iterable[dict[str, Any]], *, now: datetime) -> None:
    """Keep the pictures of a visit, and enter what their points come to."""
    for number, each in enumerate(pictures, start=1):
        content = files("fabella.web.demo").joinpath(each["file"]).read_bytes()
        draft = begin_draft(
            content,
            name=each["file"],
            view=view_of(each["view"]),
            side=side_of(each["side"]),
            visit_id=visit,
        )
        points = {name: Point(*place) for name, place in each["points"].items()}
        found = measured(draft.view, side=draft.side, points=points, frame=draft.frame, mirrored=False)
        taken = Taken(
            measurement=found,
            jpeg=draft.jpeg,
            remarks=draft.remarks,
            finding=entry_of(found, examination_now(actor, visit), each["sign"]),
        )
        base = line_of(actor, visit).version
        keep_picture(actor, visit, taken, id_=f"invented-picture-{visit}-{number}", base=base, now=now)
