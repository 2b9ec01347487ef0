"""What is kept is read, or refused by its place: whoever opens a page did nothing wrong."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Generic, TypeVar

import fabella
from fabella.errors import InputError
from fabella.store.refusals import Unreadable

Row = TypeVar("Row")
Value = TypeVar("Value")


@contextmanager
def reading_kept(what: str) -> Iterator[None]:
    """Read something that is kept, such as "Entry 3 of visit 7".

    Raises `Unreadable`, with its name and the way out, when this program cannot read it.
    """
    try:
        yield
    except (InputError, ValueError, KeyError, TypeError) as error:
        first, *_ = str(error).splitlines() or [type(error).__name__]
        end = "" if first.endswith("?") else "."
        raise Unreadable(
            f"{what} cannot be read by Fabella {fabella.__version__}: {first}{end} "
            "If a newer version wrote it, start that one. Nothing is lost, and nothing was changed."
        ) from error


@dataclass(frozen=True, slots=True, kw_only=True)
class Several(Generic[Value]):
    """Of several things that are kept, those that could be read, and what is said of each that could not."""

    read: tuple[Value, ...]
    unread: tuple[str, ...]


def reading_each(rows: Iterable[Row], read: Callable[[Row], Value]) -> Several[Value]:
    """Read several things, so that one that is `Unreadable` costs no other; ``read`` names what it reads."""
    found, refused = list[Value](), list[str]()
    for row in rows:
        try:
            found.append(read(row))
        except Unreadable as error:
            refused.append(str(error))
    return Several(read=tuple(found), unread=tuple(refused))
