"""Files that only their owner reads, each whole or not at all."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

PRIVATE_FILE, PRIVATE_FOLDER = 0o600, 0o700


def make_private_folder(folder: Path) -> None:
    """Make a folder that only its owner enters, unless it is there."""
    folder.mkdir(mode=PRIVATE_FOLDER, parents=True, exist_ok=True)


def write_private(path: Path, content: bytes) -> None:
    """Write a file so that after a loss of power either the old one or the new one is there, whole."""
    fresh = path.with_name(f".{path.name}.new")
    with suppress(FileNotFoundError):
        fresh.unlink()
    with open(os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, PRIVATE_FILE), "wb") as file:  # noqa: PTH123
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    fresh.replace(path)
    settle(path.parent)


def settle(path: Path) -> None:
    """Wait until a file, or the names in a folder, are on the disk."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
