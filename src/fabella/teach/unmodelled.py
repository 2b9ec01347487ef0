"""Signs the model gives no meaning to, drawn by the rates of ``unmodelled.toml``."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from fabella.anatomy import Side
from fabella.infer.states import Slot
from fabella.packaged import packaged_table
from fabella.record import Mechanism
from fabella.teach.dice import Dice


def rates() -> Mapping[str, Mapping[str, Mapping[str, Any]]]:
    """Read the table: ``signs`` and ``history``, by sign."""
    return packaged_table("teach/data/unmodelled.toml")


def shown_level(
    sign: str,
    row: Mapping[str, Any],
    *,
    side: Side | None,
    lesions: Iterable[Slot],
    mechanism: Mechanism | None,
    shown: Iterable[str],
    dice: Dice,
) -> int:
    """Return the level that a sign shows.

    Parameters
    ----------
    row
        Its row of the table.
    lesions, mechanism, shown
        What the knee has, how it came about, and the signs already known to show, which may raise the rate.
    """
    with_it = row.get("with", {})
    here = {lesion for lesion, _ in lesions} | {f"{lesion}:{level}" for lesion, level in lesions}
    here |= set(shown) | ({f"mechanism:{mechanism.value}"} if mechanism is not None else set())
    chance = max([row["rate"], *(rate for name, rate in with_it.items() if name in here)])
    drawn_for = None if row.get("both") else side  # how feet are built is alike on both sides
    return row.get("level", 1) if dice.happens(chance, drawn_for, sign) else 0
