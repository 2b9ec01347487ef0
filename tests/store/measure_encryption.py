"""Measure what encryption costs a save: ``python -m tests.store.measure_encryption`` prints the ratio.

The same saves on plain and on encrypted files, in turns, so that whatever else the machine does meets both.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path

from django.db import connections

from tests.database import forget, fresh_sealed, fresh_sqlite
from tests.store.people import ANN, LACHMAN, NOW, batch, finding, new_visit

_ROUNDS, _SAVES = 8, 60


def main() -> None:
    """Measure and print."""
    from fabella.store.clinic.charting import save  # noqa: PLC0415  after the framework's start

    kinds: dict[str, Callable[[], AbstractContextManager[Path]]] = {
        "plain": fresh_sqlite,
        "encrypted": fresh_sealed,
    }
    wall: dict[str, list[float]] = {kind: [] for kind in kinds}
    worked: dict[str, float] = dict.fromkeys(kinds, 0.0)
    for _ in range(_ROUNDS):
        for kind, fresh in kinds.items():
            with fresh():
                forget()
                visit = new_visit()
                for at in range(_SAVES):
                    began, cpu = time.perf_counter(), time.process_time()
                    save(ANN, visit, batch(finding(LACHMAN, base=at + 2)), now=NOW)
                    worked[kind] += time.process_time() - cpu
                    wall[kind].append((time.perf_counter() - began) * 1000)
                connections.close_all()
    middle = {kind: statistics.median(times) for kind, times in wall.items()}
    for kind in kinds:
        each = worked[kind] / (_ROUNDS * _SAVES) * 1000
        sys.stdout.write(f"{kind}: median {middle[kind]:.2f} ms a save, {each:.2f} ms of it computing\n")
    sys.stdout.write(
        f"encrypted / plain: {middle['encrypted'] / middle['plain']:.2f} in time, "
        f"{worked['encrypted'] / worked['plain']:.2f} in computing\n"
    )


if __name__ == "__main__":
    main()
