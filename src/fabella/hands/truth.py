"""What is known of the inside of one knee when everything that was seen of it is put together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType

from fabella.hands.confirmation import ABSENT, Confirmation, Method


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What was seen of one lesion: `ABSENT`, `PRESENT` or its level, how, and on which day."""

    found: str
    method: Method
    on: date

    @property
    def present(self) -> bool:
        """Whether the lesion was there."""
        return self.found != ABSENT


@dataclass(frozen=True, slots=True)
class Truth:
    """What was seen of one knee, by lesion; a lesion that nobody looked for is missing."""

    seen: Mapping[str, Seen]

    def any_of(self, lesions: Iterable[str]) -> bool | None:
        """Return whether any of the lesions is there: True by one, False only when all were looked for."""
        each = [self.seen[lesion].present if lesion in self.seen else None for lesion in lesions]
        return True if True in each else None if None in each else False


NOTHING_SEEN = Truth(MappingProxyType({}))


def truth_of(looks: Iterable[Confirmation]) -> Truth:
    """Return what several looks into one knee make known of it.

    Where two say different things of a lesion, the surer method is believed (`Method.rank`), and of two alike
    the later.
    """
    seen: dict[str, Seen] = {}
    for each in sorted(looks, key=lambda one: (-one.method.rank, one.on)):
        for lesion, found in each.found.items():
            seen[lesion] = Seen(found=found, method=each.method, on=each.on)
    return Truth(MappingProxyType(seen))
