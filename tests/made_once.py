"""A folder that takes long to fill, filled once for all processes that run tests side by side."""

from __future__ import annotations

import fcntl
import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest


def made_once(places: pytest.TempPathFactory, name: str, make: Callable[[Path], None]) -> Path:
    """Return a folder that ``make`` has filled, here or in another process; nobody may change it."""
    own = places.getbasetemp()
    together = own.parent if "PYTEST_XDIST_WORKER" in os.environ else own  # each has a folder in that of all
    folder, making = together / name, together / f"{name}.making"
    with (together / f"{name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not folder.exists():
            shutil.rmtree(making, ignore_errors=True)
            make(making)
            making.rename(folder)
    return folder
