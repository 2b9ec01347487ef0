"""Dice that are thrown by name: the same seed and the same name give the same number everywhere.

A sign added to the protocol, another order of drawing or another machine changes no number but its own, so
that a patient stays the same for a whole class.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import blake2b
from itertools import accumulate
from statistics import NormalDist
from typing import Final

MAX_SEED: Final = 2**53 - 1
"""The greatest seed: whole numbers up to it survive every JSON reader."""

_BITS = 53
_STANDARD = NormalDist()


@dataclass(frozen=True, slots=True)
class Dice:
    """Random numbers of one patient; ``seed`` is 0 to `MAX_SEED`."""

    seed: int

    def fraction(self, *name: object) -> float:
        """Return a number evenly spread over the open interval from 0 to 1."""
        text = "/".join((str(self.seed), *map(str, name)))
        whole = int.from_bytes(blake2b(text.encode(), digest_size=8).digest(), "big") >> (64 - _BITS)
        return float((whole + 0.5) / (1 << _BITS))

    def normal(self, *name: object, most: float = 2.5) -> float:
        """Return a standard normal deviate, held within ``most`` to either side."""
        return max(-most, min(most, _STANDARD.inv_cdf(self.fraction(*name))))

    def between(self, low: float, high: float, *name: object) -> float:
        """Return a number evenly spread from ``low`` to ``high``."""
        return low + (high - low) * self.fraction(*name)

    def happens(self, chance: float, *name: object) -> bool:
        """Return true with a chance from 0 to 1."""
        return self.fraction(*name) < chance

    def pick(self, weights: Sequence[float], *name: object) -> int:
        """Return a position, each as likely as its weight, which is 0 or more; they need not add up to 1."""
        sums = tuple(accumulate(weights))
        at = self.fraction(*name) * sums[-1]
        return next((i for i, edge in enumerate(sums) if at < edge), len(sums) - 1)
