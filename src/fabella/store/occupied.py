"""Whether anybody is at work in a data folder, so that nobody exchanges its files under their hands."""

from __future__ import annotations

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from fabella.errors import FabellaError
from fabella.store.private import PRIVATE_FILE

_NAME = "in-use"


@contextmanager
def occupied(folder: Path, *, alone: bool = False) -> Iterator[None]:
    """Be at work in a data folder: together with others, or alone; end with the process at the latest.

    Raises `FabellaError` when somebody is there who would be disturbed, or who is there alone.
    """
    handle = os.open(folder / _NAME, os.O_RDWR | os.O_CREAT, PRIVATE_FILE)
    try:
        try:
            fcntl.flock(handle, (fcntl.LOCK_EX if alone else fcntl.LOCK_SH) | fcntl.LOCK_NB)
        except BlockingIOError:
            who = "a fabella server or command" if alone else "a fabella command that must be alone"
            raise FabellaError(f"{folder}: {who} is at work there; end it first, or wait for it") from None
        yield
    finally:
        os.close(handle)
