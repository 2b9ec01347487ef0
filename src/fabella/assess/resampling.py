"""Resample candidates by dice that are seeded from the marks themselves, so that 2031 throws as today.

The raw bits of the generator are used, whose stream is promised not to change; no function of a library
that may change its ways stands between them and the indices.
"""

from __future__ import annotations

from hashlib import sha256

import numpy as np
from numpy.typing import NDArray

from fabella.assess.marks import Numbers

TIMES = 2000  # our default


def resample(n: int, *, seed: str, times: int = TIMES, strata: NDArray[np.int32] | None = None) -> Numbers:
    """Return how often each of n candidates is drawn in each resample, shape (times, n).

    Parameters
    ----------
    n
        Number of candidates, at least 1.
    seed
        Text that the dice come from, such as the digest of the marks.
    times
        Number of resamples.
    strata
        Group of each candidate, shape (n,); with it, as many are drawn from each group as it has.
    """
    bits = np.random.PCG64(int.from_bytes(sha256(seed.encode()).digest()[:16], "little"))
    shares = (bits.random_raw(times * n) >> np.uint64(11)) * 2.0**-53
    shares = shares.reshape(times, n)
    groups = np.zeros(n, dtype=np.int32) if strata is None else strata
    counts = np.zeros((times, n))
    row = np.arange(times)[:, None] * n
    for group in np.unique(groups):
        members = np.flatnonzero(groups == group)
        drawn = members[(shares[:, members] * len(members)).astype(np.int64)]
        counts += np.bincount((row + drawn).ravel(), minlength=times * n).reshape(times, n)
    return counts
