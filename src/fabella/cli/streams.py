"""What goes out: streams that take any character and any reader's haste, and JSON for every stream."""

from __future__ import annotations

import codecs
import errno
import io
import json
import os
import sys
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import TextIO

_PLAIN = str.maketrans("–—−×·’‘′“”\u00a0", "---x-'''\"\" ") | str.maketrans(
    {"…": "...", "→": "->", "±": "+/-", "≥": ">=", "≤": "<=", "°": " deg"}
)


UNREADABLE = "\ufffd"


def prepare() -> None:
    """Let both outgoing streams write plainly what their encoding cannot say, instead of failing.

    One that is closed takes what is written, and keeps nothing. What comes in and is no text reads as
    `UNREADABLE`, so that a line which nobody understands is told like any other.
    """
    codecs.register_error("plainly", _plainly)
    if sys.stdout is None:
        sys.stdout = _nowhere()
    if sys.stderr is None:
        sys.stderr = _nowhere()
    if isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(errors="replace")
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="plainly")


def _nowhere() -> TextIO:
    return Path(os.devnull).open("w", encoding="utf-8")


def finish() -> None:
    """Write out what is left; leave with 1 when that fails, silently if the reader has gone away."""
    try:
        if sys.stdout is not None:
            sys.stdout.flush()
    except OSError as error:
        silence()
        if error.errno != errno.EPIPE:
            print(f"fabella: cannot write the output: {error.strerror}", file=sys.stderr)
        sys.exit(1)


def silence() -> None:
    """Send what is still to be written nowhere, so that nothing complains when the program ends."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)


def print_json(tree: object, *, one_line: bool = False) -> None:
    """Print a value as JSON, indented or on one line, in pure ASCII where the stream knows no more.

    A day is written as text, and any mapping as an object.
    """
    print(json.dumps(tree, ensure_ascii=is_ascii(sys.stdout), indent=None if one_line else 2, default=_plain))


def _plain(value: object) -> object:
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return dict(value)
    raise TypeError(f"{type(value).__name__} is nothing that JSON holds")


def is_ascii(stream: TextIO | None) -> bool:
    """Say whether a stream cannot write every character."""
    return not (getattr(stream, "encoding", None) or "utf-8").lower().startswith("utf")


def _plainly(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    bad = error.object[error.start : error.end]
    return bad.translate(_PLAIN).encode("ascii", "replace").decode(), error.end
