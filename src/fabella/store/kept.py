"""What is kept is read, or refused by its place: whoever opens a page did nothing wrong."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import fabella
from fabella.errors import InputError
from fabella.store.refusals import Unreadable


@contextmanager
def reading_kept(what: str) -> Iterator[None]:
    """Read something that is kept, such as "Entry 3 of visit 7".

    Raises `Unreadable`, with its name and the way out, when this program cannot read it.
    """
    try:
        yield
    except (InputError, ValueError, KeyError, TypeError) as error:
        first, *_ = str(error).splitlines() or [type(error).__name__]
        raise Unreadable(
            f"{what} cannot be read by Fabella {fabella.__version__}: {first}. "
            "If a newer version wrote it, start that one. Nothing is lost, and nothing was changed."
        ) from error
