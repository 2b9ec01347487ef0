"""Encrypting the databases of a folder, and decrypting them: a copy first, then one name for the other.

What is interrupted goes on where it stopped when it is asked for again: each database is the old one or the
new one, whole, and the key lies there before the first is encrypted and until the last is decrypted.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

from fabella.errors import FabellaError
from fabella.store.private import PRIVATE_FILE, settle
from fabella.store.sealed.files import State, connect, engine, files_in, state_of, unlock
from fabella.store.sealed.key import KEY_NAME, DataKey, draw_key, lock_key, unlock_key


def encrypt(folder: Path, secret: bytes) -> None:
    """Encrypt every database of a folder; nobody else may have it open."""
    engine()
    path = folder / KEY_NAME
    if not path.exists():
        lock_key(draw_key(), path, secret)
    key = unlock_key(path, secret)
    for each in files_in(folder):
        if state_of(each) is State.PLAIN:
            _exchange(each, None, key)


def decrypt(folder: Path, secret: bytes) -> None:
    """Decrypt every database of a folder; nobody else may have it open."""
    path = folder / KEY_NAME
    key = unlock_key(path, secret)
    for each in files_in(folder):
        if state_of(each) is State.SEALED:
            _exchange(each, key, None)
    path.unlink()
    settle(folder)


def change_secret(folder: Path, old: bytes, new: bytes) -> None:
    """Let another passphrase or key file open the same databases; backups keep the one of their time."""
    path = folder / KEY_NAME
    lock_key(unlock_key(path, old), path, new)


def _exchange(path: Path, key: DataKey | None, other: DataKey | None) -> None:
    fresh = path.with_name(f".{path.name}.new")
    with suppress(FileNotFoundError):
        fresh.unlink()
    fresh.touch(PRIVATE_FILE)
    try:
        before = _copy(path, key, fresh, other)
        with closing(connect(fresh, other)) as copy:
            good = not faults(copy) and contents(copy) == before
    except (engine().Error, sqlite3.Error) as error:
        raise FabellaError(f"{path}: cannot be copied, and was not changed: {error}") from None
    if not good:
        raise FabellaError(f"{path}: the copy is not what it was made from; nothing was changed")
    settle(fresh)
    fresh.replace(path)
    settle(path.parent)


def _copy(path: Path, key: DataKey | None, fresh: Path, other: DataKey | None) -> dict[str, int]:
    """Copy a database under another key, and return how many rows it has in each table."""
    with closing(engine().connect(path, isolation_level=None)) as connection:
        if key is not None:
            unlock(connection, key)
        connection.execute("PRAGMA journal_mode = DELETE")  # so that no log of the old kind is left beside it
        wanted = other.pragma if other else "''"
        connection.execute(f"ATTACH DATABASE ? AS fresh KEY {wanted}", (str(fresh),))
        connection.execute("SELECT sqlcipher_export('fresh')").fetchone()
        before = contents(connection)
        connection.execute("DETACH DATABASE fresh")
        return before


def contents(connection: Any) -> dict[str, int]:
    """Return how many rows each table of a database has."""
    tables = connection.execute("SELECT name FROM main.sqlite_master WHERE type = 'table' ORDER BY name")
    names = [name for (name,) in tables.fetchall() if not name.startswith("sqlite_")]
    return {
        name: connection.execute(f'SELECT count(*) FROM main."{name}"').fetchone()[0]  # noqa: S608
        for name in names
    }


def faults(connection: Any) -> tuple[str, ...]:
    """Return what is wrong with the pages of a database; empty when nothing is."""
    found = [text for (text,) in connection.execute("PRAGMA integrity_check").fetchall()]
    return tuple(each for each in found if each != "ok")
