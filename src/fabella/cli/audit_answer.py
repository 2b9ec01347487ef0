"""Own hands as the tree that ``--json`` prints: ``fabella.hands/1``."""

from __future__ import annotations

from typing import Any

from fabella.cli.trees import plain_tree
from fabella.evidence.facts import AccuracyUsed
from fabella.hands import OwnHands
from fabella.workup import Reason

FORMAT = "fabella.hands/1"


def audit_tree(hands: OwnHands) -> dict[str, Any]:
    """Return everything that own hands say."""
    tree: dict[str, Any] = plain_tree(hands, {AccuracyUsed: _used, Reason: _reason})
    return {"format": FORMAT, **tree}


def _used(used: AccuracyUsed) -> dict[str, Any]:
    return {
        "sign": used.sign,
        "setting": used.setting or None,
        "targets": list(used.targets),
        "provenance": used.provenance.value,
        "source": used.source,
        "row": used.row,
    }


def _reason(reason: Reason) -> dict[str, Any]:
    weight = plain_tree(reason.weight_bits)
    return {"sign": reason.sign, "abnormal": reason.abnormal, "weight_bits": weight}
