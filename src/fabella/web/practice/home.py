"""Whose a run is, whence it was begun, and where its pages lead back to: practice, or its class."""

from __future__ import annotations

from dataclasses import dataclass

from fabella.store import NotThere
from fabella.store.school.classes import KeptClass, class_of_run, last_class_of
from fabella.store.school.learner import ClassPass, Learner
from fabella.store.school.practising import owns
from fabella.web.templating import url
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class Home:
    """An address and its words, and where the record over all runs stands that count there."""

    address: str
    words: str
    record: str


def owner_of(request: Request, run_id: int) -> Learner:
    """Return as whom a run may be seen, the account or the pass; raise `NotThere` when it is neither's."""
    for learner in (request.actor, request.bearer):
        if learner is not None and owns(learner, run_id):
            return learner
    raise NotThere("There is no such practice run of yours.")


def own_home() -> Home:
    """Return where runs lead back to that are in no class."""
    return Home(address=url("practice"), words="Practice", record=url("practice_record"))


def home_of(run_id: int, learner: Learner) -> Home:
    """Return where a run of somebody leads back to; a browser's that is in no class came from its record."""
    kept = class_of_run(run_id)
    if kept is not None:
        return _room(kept)
    if isinstance(learner, ClassPass):
        return Home(address=url("class_record"), words="Your record", record=url("class_record"))
    return own_home()


def class_home(bearer: ClassPass) -> Home:
    """Return where a browser leads back to: the class it was last in, or the door of classes."""
    if (last := last_class_of(bearer)) is not None:
        return _room(last)
    return Home(address=url("class_door"), words="Class", record=url("class_record"))


def _room(kept: KeptClass) -> Home:
    return Home(address=url("class_room", code=kept.code), words=kept.name, record=url("class_record"))
