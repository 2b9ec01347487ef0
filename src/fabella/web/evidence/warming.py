"""What the evidence pages work out once, worked out before somebody waits for it."""

from __future__ import annotations

from fabella.evidence import load_edition
from fabella.evidence.pool_model import LEVEL, POOLED, TARGET
from fabella.report.roc import roc
from fabella.workup import tellings


def pool_and_compile() -> None:
    """Pool the studies and compile what every sign tells; both are kept."""
    for sign in POOLED:
        roc(load_edition(), sign, TARGET, LEVEL)
    tellings()
