"""Whence a run was begun, and where its pages lead back to: the list of practice, or its class."""

from __future__ import annotations

from dataclasses import dataclass

from fabella.store.school.classes import class_of_run
from fabella.web.templating import url


@dataclass(frozen=True, slots=True, kw_only=True)
class Home:
    """An address and its words."""

    address: str
    words: str


def home_of(run_id: int) -> Home:
    """Return where a run leads back to."""
    kept = class_of_run(run_id)
    if kept is None:
        return Home(address=url("practice"), words="Practice")
    return Home(address=url("class_room", code=kept.code), words=kept.name)
