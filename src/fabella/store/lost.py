"""A database that is gone while others beside it are in use: refused by name, and never made anew unasked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from fabella.errors import FabellaError

NO_TABLES = "holds no tables"
"""Why a database is gone that is there: what belongs in it is not."""

_HELD: Mapping[str, str] = {
    "accounts": "no account",
    "clinic": "no patient and no examination",
    "school": "no practice run, class or set of patients",
    "exams": "no exam and no mark",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Lost:
    """A database that is gone: its name among the four, where it belongs, and why what is there is none."""

    name: str
    place: str
    why: str


def why_gone(path: Path) -> str:
    """Return why the file of a database is none, empty when it may be one."""
    if not path.exists():
        return "is missing"
    return "" if path.stat().st_size else "is empty (0 bytes)"


def left_a_log(path: Path) -> bool:
    """Say whether the log of last changes lies where a database belongs: then there was one."""
    log = path.with_name(f"{path.name}-wal")
    return log.exists() and log.stat().st_size > 0


def lost(databases: Sequence[Lost]) -> FabellaError:
    """Return the refusal that names what is gone, what that would look like, and the ways out."""
    told = "".join(
        f"{each.place} {each.why}, though this clinic is in use: "
        f"there would seem to have been {_HELD[each.name]}.\n"
        for each in databases
    )
    anew = " ".join(f"--anew {each.name}" for each in databases)
    return FabellaError(
        f"{told}Nothing was changed. Put it back, or restore a backup into a new place: fabella restore "
        f"BACKUPS.\nOnly if what it held is given up for good: fabella serve {anew}, once."
    )
