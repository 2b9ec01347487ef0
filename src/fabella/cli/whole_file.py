"""A file that is read at once, unless it has no end, or written at once."""

from __future__ import annotations

import os
import stat
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from secrets import token_hex
from shutil import copyfile
from typing import BinaryIO

from fabella.cli.intake import STANDARD_INPUT
from fabella.errors import InputError, UsageError

STANDARD_OUTPUT = Path("-")
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
    """Write what is there all at once, as `writing` does."""
    with writing(path) as file:
        file.write(content)


@contextmanager
def writing(path: Path) -> Iterator[BinaryIO]:
    """Write a file piece by piece, so that nobody ever finds half of it; - is standard output.

    It takes its place once all is written, and never when that fails; raises `UsageError` when it cannot be
    written. A link stays one, and a file that was there keeps its owner and permissions. What is no file,
    such as a pipe, is written to as it is.
    """
    try:
        if path == STANDARD_OUTPUT:
            sys.stdout.flush()
            yield sys.stdout.buffer
        elif _is_stream(path):
            with path.open("wb") as stream:
                yield stream
        else:
            with _fresh(Path(os.path.realpath(path))) as file:
                yield file
    except OSError as error:
        raise UsageError(f"cannot write {path}: {error.strerror or error}") from None


def _is_stream(path: Path) -> bool:
    """Say whether a path is there and no file, or names one that is open already, such as ``/dev/stdout``."""
    return (path.exists() and not path.is_file()) or path.absolute().is_relative_to("/dev")


@contextmanager
def _fresh(file: Path) -> Iterator[BinaryIO]:
    """Write a file beside another one, and put it in its place."""
    beside = file.with_name(f".fabella-{token_hex(8)}")
    try:
        fresh = beside.open("xb")
    except PermissionError:  # of its folder: then it is written where it lies
        with file.open("wb") as plain:
            yield plain
        return
    try:
        with fresh:
            yield fresh
        try:
            _exchange(beside, file)
        except PermissionError:  # perhaps of its owner or folder alone
            copyfile(beside, file)
    finally:
        beside.unlink(missing_ok=True)


def _exchange(beside: Path, file: Path) -> None:
    if file.exists():
        file.open("ab").close()  # one that may not be written to is not exchanged either
        was = file.stat()
        os.chown(beside, was.st_uid, was.st_gid)
        beside.chmod(stat.S_IMODE(was.st_mode))
    beside.replace(file)


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
        raise InputError.of(place=name, says="is not UTF-8 text", remedy="save it as UTF-8") from None
