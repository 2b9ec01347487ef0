"""Which databases of a folder are encrypted, and the connections that open them."""

from __future__ import annotations

import sqlite3
from enum import Enum
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from fabella.errors import FabellaError
from fabella.store.router import NAMES
from fabella.store.sealed.key import KEY_NAME, DataKey

_PLAIN_BEGINS = b"SQLite format 3\0"
_MODULE = "sqlcipher3.dbapi2"


class State(Enum):
    """How a database lies in a folder."""

    MISSING = "missing"
    PLAIN = "plain"
    SEALED = "sealed"


def files_in(folder: Path) -> tuple[Path, ...]:
    """Return where the databases of a folder lie, whether they are there or not."""
    return tuple(folder / f"{name}.sqlite3" for name in NAMES.values())


def state_of(path: Path) -> State:
    """Return how a database lies."""
    try:
        with path.open("rb") as file:
            begins = file.read(len(_PLAIN_BEGINS))
    except FileNotFoundError:
        return State.MISSING
    if not begins:
        return State.MISSING
    return State.PLAIN if begins == _PLAIN_BEGINS else State.SEALED


def is_sealed(folder: Path) -> bool:
    """Say whether the databases of a folder are encrypted, and refuse a folder in which that is not clear.

    So no empty database is ever made beside one that could not be opened.
    """
    states = {path.name: state_of(path) for path in files_in(folder)}
    sealed = [name for name, state in states.items() if state is State.SEALED]
    if not (folder / KEY_NAME).exists():
        if sealed:
            raise FabellaError(
                f"{folder}: {', '.join(sealed)} cannot be read as a plain database, and {KEY_NAME} is not "
                "there. If it is encrypted, put that file back from a backup; if not, it is damaged: "
                "restore a backup. Nothing was changed."
            )
        return False
    if plain := [name for name, state in states.items() if state is State.PLAIN]:
        raise FabellaError(
            f"{folder}: {', '.join(plain)} is not encrypted though {KEY_NAME} is there: encrypting or "
            "decrypting was interrupted. Run the same fabella key command again; nothing is lost."
        )
    if not sealed:
        raise FabellaError(f"{folder}: every database is missing beside {KEY_NAME}; restore a backup")
    return True


def engine() -> Any:
    """Return the module that opens encrypted databases; raise `FabellaError` when it is not installed."""
    if find_spec("sqlcipher3") is None:
        raise FabellaError(
            "encrypted databases need the extra 'encryption': pip install 'fabella[encryption]'"
        )
    return import_module(_MODULE)


def connect(path: Path, key: DataKey | None, *, create: bool = False) -> Any:
    """Return a connection to a database, encrypted or (without a key) not; it is made only if asked for."""
    address = f"{path.absolute().as_uri()}?mode={'rwc' if create else 'rw'}"
    module: Any = sqlite3 if key is None else engine()
    connection = module.connect(address, uri=True, isolation_level=None, timeout=20)
    if key is not None:
        unlock(connection, key)
    return connection


def unlock(connection: Any, key: DataKey) -> None:
    """Give a new connection its key, before it is asked anything else."""
    connection.execute("PRAGMA cipher_log_level = NONE")  # a failure is told once, by us
    connection.execute(f"PRAGMA key = {key.pragma}")
