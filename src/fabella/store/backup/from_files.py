"""Copies of databases in files, all of the same moment, while a server goes on writing."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import ExitStack, closing, contextmanager
from pathlib import Path
from typing import Any

from fabella.errors import FabellaError
from fabella.store.backup.contents import end_of_trail, held_by, refuse_lost
from fabella.store.backup.manifest import Database
from fabella.store.lost import why_gone
from fabella.store.private import PRIVATE_FILE, settle
from fabella.store.router import NAMES
from fabella.store.sealed import DataKey
from fabella.store.sealed.changing import faults
from fabella.store.sealed.files import connect, engine, files_in


def errors_of(key: DataKey | None) -> tuple[type[Exception], ...]:
    """Return what the engine raises that opens databases with, or without, a key."""
    return (sqlite3.Error,) if key is None else (sqlite3.Error, engine().Error)


def copy_files(folder: Path, key: DataKey | None, to: Path) -> None:
    """Copy the databases of a folder as they stand at one moment; encrypted ones stay encrypted.

    For as long as it takes to look at all four, some milliseconds, nobody writes; the copying itself
    stops nobody. Raises `FabellaError` when one is missing, or cannot be copied.
    """
    paths = files_in(folder)
    places = {path.stem: str(path) for path in paths}
    refuse_lost(places, {path.stem: why for path in paths if (why := why_gone(path))})
    with ExitStack() as stack:
        for origin, reader in _looking_at_one_moment(stack, paths, key):
            path = to / origin.name
            path.touch(PRIVATE_FILE)
            with _telling(origin, key, f"copied into {to.parent}"), closing(connect(path, key)) as copy:
                reader.backup(copy)
                copy.execute("PRAGMA journal_mode = DELETE")  # one file, with nothing beside it
                if found := faults(copy):
                    raise FabellaError(f"{origin}: is damaged: {'; '.join(found[:3])}")
            settle(path)


@contextmanager
def _telling(path: Path, key: DataKey | None, what: str = "read") -> Iterator[None]:
    """Name a database, and what cannot be done with it, when its engine fails."""
    try:
        yield
    except errors_of(key) as error:
        raise FabellaError(f"{path}: cannot be {what}: {error}") from None


def _looking_at_one_moment(
    stack: ExitStack, paths: tuple[Path, ...], key: DataKey | None
) -> list[tuple[Path, Any]]:
    """Return a connection to each database that sees it as it is now, whatever is written later."""
    holding = [stack.enter_context(closing(connect(path, key))) for path in paths]
    looking = [(path, stack.enter_context(closing(connect(path, key)))) for path in paths]
    for path, connection in zip(paths, holding, strict=True):
        with _telling(path, key):
            connection.execute("BEGIN IMMEDIATE")
    for path, connection in looking:
        with _telling(path, key):
            connection.execute("BEGIN")
            connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    for connection in holding:
        connection.execute("ROLLBACK")
    return looking


def look_into(
    folder: Path, key: DataKey | None, names: Iterable[str] = tuple(NAMES.values())
) -> tuple[dict[str, Database], int, str, tuple[str, ...]]:
    """Return what the databases of a folder hold, the end of the trail, and what is wrong in them.

    ``names`` are all, or those that there were when a backup was made.
    """
    held, wrong = {}, []
    lines, head = 0, ""
    for name in names:
        path = folder / f"{name}.sqlite3"
        with _telling(path, key), closing(connect(path, key)) as connection:
            wrong += [f"{path.name}: {each}" for each in faults(connection)]

            def ask(question: str, connection: Any = connection) -> list[tuple[Any, ...]]:
                return list(connection.execute(question).fetchall())

            held[name] = held_by(ask, "files")
            if name == "clinic":
                lines, head = end_of_trail(ask, held[name].rows)
    return held, lines, head, tuple(wrong)
