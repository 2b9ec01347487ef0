"""The sender's name and address, from a plain text file, for the head of letters."""

from __future__ import annotations

from pathlib import Path

from fabella.errors import UsageError

MOST_LINES, LONGEST_LINE = 6, 80


def letterhead_in(path: Path | None) -> tuple[str, ...]:
    """Return the lines of a letterhead, without empty ones; none without a file.

    Raises
    ------
    UsageError
        When the file cannot be read, is not UTF-8, or holds more than 6 lines, one of more than 80
        characters, or a character that cannot be printed.
    """
    if path is None:
        return ()
    try:
        with path.open(encoding="utf-8-sig") as file:
            text = file.read(_LONGEST + 1)
    except OSError as error:
        raise UsageError(f"{path}: cannot be read: {error.strerror or error}") from None
    except UnicodeDecodeError:
        raise UsageError(f"{path}: is no plain text in UTF-8") from None
    lines = tuple(filter(None, (" ".join(line.split()) for line in text.splitlines())))
    fits = len(lines) <= MOST_LINES and all(len(line) <= LONGEST_LINE for line in lines)
    if len(text) > _LONGEST or not fits or not all(map(str.isprintable, lines)):
        raise UsageError(
            f"{path}: is no letterhead; write up to {MOST_LINES} lines of up to {LONGEST_LINE} characters"
        )
    return lines


_LONGEST = 4096
