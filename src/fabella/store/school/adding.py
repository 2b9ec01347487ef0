"""What is done in practice runs, kept as it comes in: once, numbered, on the disk before it is answered."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db.models import Count, Max, Q

from fabella.errors import InputError
from fabella.protocol import load_protocol
from fabella.store.batches import Result, read_batch, refused, refused_for, saved, unreadable, used_otherwise
from fabella.store.router import SCHOOL
from fabella.store.school import models
from fabella.store.school.learner import Learner
from fabella.store.school.practising import own_run
from fabella.store.school.together import Together
from fabella.store.writing import writing
from fabella.teach import Act, event_tree, named_twice, read_event

_FINISHED = Q(act=Act.FINISH.value)
MOST_AT_ONCE = 100
MOST_EVENTS = 2000
"""Events a run can have: far more than an examination needs, so that no run grows without end."""


def read_events(text: str | bytes) -> tuple[Mapping[str, Any], ...]:
    """Return the events of a batch; `InputError` if it is none."""
    return read_batch(text, name="events", most=MOST_AT_ONCE)


def add_events(
    learner: Learner, run_id: int, batch: Sequence[Mapping[str, Any]], *, now: datetime
) -> tuple[Result, ...]:
    """Keep what a student did, in order, each event once; every event has its own answer."""
    run = own_run(learner, run_id).id
    return _together.ask(_Batch(run=run, sent=tuple(_sent(each) for each in batch), now=now))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sent:
    """What came in for one event: its kind and its text as it is kept, or why it cannot be."""

    key: str
    act: str = ""
    text: str = ""
    refused: Result | None = None


def _sent(given: Mapping[str, Any]) -> _Sent:
    if (wrong := unreadable(given)) is not None:
        return _Sent(key=wrong.key, refused=wrong)
    tree = dict(given)
    key = tree.pop("id")
    try:
        event = read_event(tree, protocol=load_protocol())
    except InputError as error:
        return _Sent(key=key, refused=refused_for(key, error.problems))
    if problems := named_twice(event):
        return _Sent(key=key, refused=refused_for(key, tuple(problems)))
    return _Sent(key=key, act=event.act.value, text=json.dumps(event_tree(event)))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Batch:
    """What came in at once for one run."""

    run: int
    sent: tuple[_Sent, ...]
    now: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class _Rows:
    """The runs written to: what is known of the keys sent, the last numbers, which are over, what is new."""

    known: dict[tuple[int, str], models.PracticeEvent]
    last: dict[int, int]
    over: set[int]
    new: list[models.PracticeEvent] = field(default_factory=list)


def _keep(batches: Sequence[_Batch]) -> tuple[tuple[Result, ...], ...]:
    """Keep what is new of every batch and answer all of it; everybody waits here, so little is done."""
    keys = {each.key for batch in batches for each in batch.sent if each.refused is None}
    with writing(SCHOOL):
        kept = models.PracticeEvent.objects.filter(run_id__in={each.run for each in batches})
        ends = kept.values_list("run_id").annotate(last=Max("number"), ends=Count("id", filter=_FINISHED))
        rows = _Rows(
            known={(each.run_id, each.key): each for each in kept.filter(key__in=keys)},
            last={run: last for run, last, _ in ends},
            over={run for run, _, ended in ends if ended},
        )
        results = tuple(tuple([_kept(batch, each, rows) for each in batch.sent]) for batch in batches)
        models.PracticeEvent.objects.bulk_create(rows.new)
    return results


_together: Together[_Batch, tuple[Result, ...]] = Together(_keep)


def _kept(batch: _Batch, sent: _Sent, rows: _Rows) -> Result:
    """Answer one event, and add it to what is new; events of a run are numbered without a gap."""
    if sent.refused is not None:
        return sent.refused
    earlier, number = rows.known.get((batch.run, sent.key)), rows.last.get(batch.run, 0) + 1
    if earlier is not None and earlier.event != sent.text:
        return used_otherwise(sent.key)
    if earlier is not None:
        return saved(sent.key, earlier.number)
    if batch.run in rows.over:
        return refused(sent.key, "event", "comes after the end of the run", "begin another run")
    if number > MOST_EVENTS:
        return refused(sent.key, "event", "is one too many for a run", "finish the run")
    row = models.PracticeEvent(
        run_id=batch.run, number=number, key=sent.key, act=sent.act, event=sent.text, at=batch.now
    )
    rows.new.append(row)
    rows.known[batch.run, sent.key], rows.last[batch.run] = row, number
    if sent.act == Act.FINISH.value:
        rows.over.add(batch.run)
    return saved(sent.key, number)
