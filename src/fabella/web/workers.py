"""Other processes that conclude, so that a save never waits for a conclusion.

A conclusion is a tenth of a second of pure computing. In the server's own process it would keep every save
of every clinician waiting; here it waits for nobody but whoever asked for it.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import suppress
from multiprocessing import get_context, parent_process
from typing import Any, TypeVar

_Result = TypeVar("_Result")

_NICER = 5  # saving goes first


class Workers:
    """As many processes as there are cores besides the server's own, at least one."""

    def __init__(self, count: int | None = None) -> None:
        self._count = count or max(1, (os.cpu_count() or 2) - 1)
        self._lock = threading.Lock()
        self._pool: ProcessPoolExecutor | None = None

    def start(self, function: Callable[..., _Result], *arguments: Any) -> Future[_Result]:
        """Let a function be computed elsewhere, and return the promise of its result."""
        with self._lock:
            if self._pool is None:
                # Not forked: the server has threads, and a fork would copy their locks as they stand.
                context = get_context("spawn")
                self._pool = ProcessPoolExecutor(self._count, mp_context=context, initializer=_begin)
            return self._pool.submit(function, *arguments)

    def end(self) -> None:
        """Let every process go; the next start makes new ones."""
        with self._lock:
            pool, self._pool = self._pool, None
        if pool is not None:
            pool.shutdown(wait=False, cancel_futures=True)


def _begin() -> None:
    """Step back behind the server, and end with it, however it ends."""
    with suppress(OSError, AttributeError):
        os.nice(_NICER)
    threading.Thread(target=_end_with_the_server, daemon=True).start()


def _end_with_the_server() -> None:
    server = parent_process()
    if server is not None:
        server.join()
        os._exit(0)
