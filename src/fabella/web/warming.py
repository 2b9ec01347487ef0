"""What somebody would wait for, worked out after the start before anybody does."""

from __future__ import annotations

from collections.abc import Callable
from threading import Timer

from fabella.record import Examination, Origin
from fabella.web.concluding import live
from fabella.web.evidence.warming import pool_and_compile
from fabella.web.practice.warming import draw_every_kind

DRAWN_AFTER_S, POOLED_AFTER_S = 2.0, 20.0
"""How long after the start: whoever opens the first page comes first."""


def conclude_for_nobody() -> None:
    """Conclude an empty examination, so that other processes are there for the first patient."""
    live(Examination(id="nobody", origin=Origin.INVENTED))


WORK: tuple[tuple[float, Callable[[], object]], ...] = (
    (0.0, conclude_for_nobody),
    (DRAWN_AFTER_S, draw_every_kind),
    (POOLED_AFTER_S, pool_and_compile),
)
"""What is worked out, and how many seconds after the start."""


def warm_later() -> None:
    """Work everything out in its time, in threads that end with the server."""
    for after_s, work in WORK:
        later = Timer(after_s, work)
        later.daemon = True
        later.start()
