"""Whence a run was begun, and where its pages lead back to: the list of practice, or its class."""

from __future__ import annotations

from dataclasses import dataclass

from fabella.store.school.classes import class_of_run
from fabella.web.templating import url


@dataclass(frozen=True, slots=True, kw_only=True)
class Home:
    """An address and its words, and where the record over all runs stands that count there."""

    address: str
    words: str
    record: str


def own_home() -> Home:
    """Return where runs lead back to that are in no class."""
    return Home(address=url("practice"), words="Practice", record=url("practice_record"))


def class_home() -> Home:
    """Return where a browser without a run leads back to."""
    return Home(address=url("class_door"), words="Class", record=url("class_record"))


def home_of(run_id: int) -> Home:
    """Return where a run leads back to."""
    kept = class_of_run(run_id)
    if kept is None:
        return own_home()
    return Home(address=url("class_room", code=kept.code), words=kept.name, record=url("class_record"))
