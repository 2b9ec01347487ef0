"""How good a differential is, by scores that reward saying what one believes (Brier 1950; Good 1952)."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

UNNAMED = 0.01
"""Probability that a lesion is taken to have been given by somebody who did not name it (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scores:
    """Brier and log score of probabilities of lesions, added up over all lesions; 0 is best, less is better.

    ``brier`` adds (p - y)², ``log`` the surprise in bits, y being 1 for a lesion that is there, else 0.
    """

    brier: float
    log: float


def score(given: Mapping[str, float], *, present: Iterable[str], lesions: Iterable[str]) -> Scores:
    """Return the scores of a differential.

    Parameters
    ----------
    given
        Probability (0..1) by lesion; one that is not named counts as `UNNAMED`. For the log score certainty
        counts as 0.99 at most, and 0.01 at least.
    present
        The lesions that are there.
    lesions
        All that could be.
    """
    there = set(present)
    brier = surprise = 0.0
    for lesion in lesions:
        p, y = given.get(lesion, UNNAMED), float(lesion in there)
        brier += (p - y) ** 2
        held = min(max(p, UNNAMED), 1 - UNNAMED)
        surprise -= math.log2(held if y else 1 - held)
    return Scores(brier=brier, log=surprise)
