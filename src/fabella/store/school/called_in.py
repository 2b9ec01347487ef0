"""Patients whom a browser calls in beside its classes, for what its record says is due."""

from __future__ import annotations

from datetime import datetime, timedelta

from fabella.store.refusals import Frozen
from fabella.store.school import models
from fabella.store.school.learner import ClassPass
from fabella.teach import Act

MOST_A_DAY = 10
"""More than anybody practises in a day, and an end to a prank: no account stands for a pass."""


def called_in(bearer: ClassPass, *, now: datetime) -> int | None:
    """Return the run beside its classes that still goes on, None when another patient may be called in.

    Raises `Frozen` when a day had as many as it may have.
    """
    own = models.PracticeRun.objects.filter(student=bearer.name, in_class__isnull=True)
    begun = own.filter(begun__gt=now - timedelta(days=1)).count()
    ended = models.PracticeEvent.objects.filter(run__student=bearer.name, act=Act.FINISH.value)
    going = own.exclude(id__in=ended.values("run_id")).order_by("-id").first()
    if going is not None:
        return going.id
    if begun >= MOST_A_DAY:
        raise Frozen(f"{MOST_A_DAY} patients a day are enough; what is due tomorrow still is.")
    return None
