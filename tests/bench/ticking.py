"""A clock that goes on by the same step whenever it is read, so that times are known beforehand."""

from itertools import count

from fabella.bench.machine import Clock


def ticking(step: float = 1.0) -> Clock:
    """Return a clock that has gone on by ``step`` seconds between any two readings."""
    ticks = count()
    return lambda: next(ticks) * step
