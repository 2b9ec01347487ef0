"""What the evidence pages work out once, worked out before somebody waits for it."""

from __future__ import annotations

from threading import Timer

from fabella.evidence import load_edition
from fabella.evidence.pool_model import LEVEL, POOLED, TARGET
from fabella.report.roc import roc
from fabella.workup import tellings

AFTER_SECONDS = 20.0
"""How long after the start: whoever opens the first page comes first."""


def warm_later() -> None:
    """Work it out a while after the start, in a thread that ends with the server."""
    later = Timer(AFTER_SECONDS, warm)
    later.daemon = True
    later.start()


def warm() -> None:
    """Pool the studies and compile what every sign tells; both are kept."""
    for sign in POOLED:
        roc(load_edition(), sign, TARGET, LEVEL)
    tellings()
