"""The machine during the run: what it multiplies a second, measured again and again, and what it runs on."""

from __future__ import annotations

import os
import platform
import sys
from collections.abc import Callable
from importlib.metadata import PackageNotFoundError, version
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from threadpoolctl import threadpool_info

from fabella.bench.figure import Figure

if sys.platform != "win32":
    import resource

Clock: TypeAlias = Callable[[], float]
"""Seconds since some moment, never going back."""

DRIFT = 1.5
"""Between its best and its worst rate a machine this unsteady makes every figure in seconds doubtful."""
_GIGA = 1e9
_LIBRARIES = ("numpy", "scipy", "pyagrum", "scikit-learn", "typst")


class Machine:
    """Measures the rate at which this machine multiplies matrices, on all its cores.

    A shared machine's speed drifts, so that the rate is measured beside everything it is compared with: the
    best of ``rounds`` products of square matrices of ``size``. ``clock`` tells the time, ``processor`` only
    that in which this process had a processor.
    """

    def __init__(self, clock: Clock, processor: Clock, *, size: int = 2048, rounds: int = 4) -> None:
        self.clock = clock
        self.processor = processor
        self._rounds = rounds
        self._matrix = np.random.default_rng(0).random((size, size), dtype=np.float32)
        self.rates: list[float] = []

    def rate(self) -> float:
        """Return the single-precision rate now, in floating-point operations a second."""
        self.rates.append(self._rate(self._matrix))
        return self.rates[-1]

    def _rate(self, matrix: NDArray[np.float32] | NDArray[np.float64]) -> float:
        product = np.empty_like(matrix)
        seconds = []
        for _ in range(self._rounds):
            start = self.clock()
            np.matmul(matrix, matrix, out=product)
            seconds.append(self.clock() - start)
        return 2.0 * len(matrix) ** 3 / min(seconds)

    def figures(self) -> tuple[Figure, ...]:
        """Return the best rates in single and double precision, and how much the former drifted."""
        double = self._rate(self._matrix.astype(np.float64))
        best, worst = max(self.rates), min(self.rates)
        drift = f"from {worst / _GIGA:.0f} to {best / _GIGA:.0f} in {len(self.rates)} measurements"
        if best > DRIFT * worst:
            drift += ": the machine was not quiet, figures in seconds are too high"
        what = "matrix product, {} precision"
        return (
            Figure(
                part="machine",
                what=what.format("single"),
                measured=best / _GIGA,
                unit="GFLOP/s",
                note=drift,
            ),
            Figure(part="machine", what=what.format("double"), measured=double / _GIGA, unit="GFLOP/s"),
        )


def cores() -> int:
    """Return how many cores there are."""
    return os.cpu_count() or 1


def software() -> dict[str, str]:
    """Return the versions of what the figures depend on; a library that is not there is left out."""
    found = {"python": platform.python_version()}
    for library in _LIBRARIES:
        try:
            found[library] = version(library)
        except PackageNotFoundError:
            continue
    blas = {
        (str(each["internal_api"]), str(each["version"]))
        for each in threadpool_info()
        if each.get("user_api") == "blas"
    }
    for name, each in sorted(blas):  # libraries bring one each
        found[name] = f"{found[name]} and {each}" if name in found else each
    return found


def peak_memory_gib() -> float | None:
    """Return the most memory this process ever held, or None where the system does not tell."""
    if sys.platform == "win32":
        return None
    units = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return units / 2**30 if sys.platform == "darwin" else units / 2**20
