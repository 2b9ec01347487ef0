"""What a scan or an operation showed of one knee after an examination, frozen.

What it did not look at is not stated: *not seen* is not *absent*.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from types import MappingProxyType

from fabella.anatomy import Side

FORMAT = "fabella.confirmation/1"

ABSENT = "absent"
PRESENT = "present"
"""What may be stated of a lesion besides one of its levels: that it is there, its level not told."""


class Method(StrEnum):
    """How a knee was looked into, the surest first (common practice)."""

    OPEN_OPERATION = "open_operation"
    ARTHROSCOPY = "arthroscopy"
    HISTOLOGY = "histology"
    LABORATORY = "laboratory"
    MRI = "mri"
    CT = "ct"
    ULTRASOUND = "ultrasound"
    RADIOGRAPH = "radiograph"
    COURSE = "course"

    @property
    def rank(self) -> int:
        """How sure it is against the others, 0 for the surest."""
        return list(Method).index(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Confirmation:
    """What one look into one knee showed.

    Parameters
    ----------
    examination
        The id of the examination that it judges; a knee hurt again in between must not be judged.
    side, on, method
        Which knee, on which day, and how.
    found
        By lesion `ABSENT`, `PRESENT` or the level found; one that was not looked for does not stand here.
    by, note
        Who looked, and what else was said.
    """

    examination: str
    side: Side
    on: date
    method: Method
    found: Mapping[str, str]
    by: str | None = None
    note: str | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "found", MappingProxyType(dict(self.found)))
