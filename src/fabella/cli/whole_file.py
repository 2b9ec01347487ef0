"""A file that is read at once, unless it has no end, or written at once."""

from __future__ import annotations

import sys
from pathlib import Path

from fabella.cli.intake import STANDARD_INPUT
from fabella.errors import InputError, Problem, UsageError

MOST_BYTES = 300_000_000
"""Some three million marks (judgement: more than any exam brings, less than a machine holds)."""


def read_whole(path: Path) -> bytes:
    """Return what a file holds, - being standard input.

    Raises `UsageError` when it cannot be read, or is a device without end.
    """
    try:
        if path == STANDARD_INPUT:
            content = sys.stdin.buffer.read(MOST_BYTES + 1)
        else:
            with path.open("rb") as file:
                content = file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:  # a null character in the name is a ValueError
        raise UsageError(f"{path}: cannot be read: {getattr(error, 'strerror', None) or error}") from None
    if len(content) > MOST_BYTES:
        raise UsageError(f"{path}: has more than {MOST_BYTES:,} bytes, or no end; name a smaller file")
    return content


def write_whole(path: Path, content: bytes) -> None:
    """Write a file; raise `UsageError` when it cannot be written."""
    try:
        path.write_bytes(content)
    except OSError as error:
        raise UsageError(f"cannot write {path}: {error.strerror or error}") from None


def made_folder(folder: Path) -> Path:
    """Return a folder, made if need be; raise `UsageError` when it cannot be made."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UsageError(f"cannot write into {folder}: {error.strerror or error}") from None
    return folder


def text_of(path: Path) -> str:
    """Return the text of a file, - being standard input, or say that it is none."""
    return text_in(read_whole(path), name=str(path))


def text_in(content: bytes, *, name: str) -> str:
    """Return what a file of this name holds as text with plain line ends, or say that it is none."""
    try:
        return content.decode().replace("\r\n", "\n").replace("\r", "\n")
    except UnicodeDecodeError:
        problem = Problem(place=name, value="", says="is not UTF-8 text", remedy="save it as UTF-8")
        raise InputError([problem]) from None
