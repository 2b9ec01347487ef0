"""Where the databases are: four files in one folder, or four databases of one PostgreSQL server."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, unquote, urlsplit

from fabella.errors import UsageError
from fabella.store.router import ALIASES, NAMES
from fabella.store.sealed import DataKey

# A kept write survives a loss of power; a replaced row counts as a deleted one, so that triggers see it.
_PRAGMAS = "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA recursive_triggers=ON;"
_WAIT_SECONDS = 20
_SCHEMES = ("postgresql", "postgres")

Settings = dict[str, dict[str, Any]]


def databases(folder: Path, url: str | None = None, *, key: DataKey | None = None) -> Settings:
    """Return the framework's settings of the four databases.

    Parameters
    ----------
    folder
        Where the files lie unless a ``url`` is given.
    url
        Of a PostgreSQL server and a name, ``postgresql:`` followed by ``//user:password@host:port/name``; the
        databases are ``name_accounts``, ``name_clinic``, ``name_school`` and ``name_exams``. What
        follows ``?`` is handed to the driver.
    key
        Of encrypted files; None when they are not.

    Raises
    ------
    UsageError
        When the url is none of a PostgreSQL database.
    """
    if url is None:
        return {alias: _sqlite(folder / f"{NAMES[alias]}.sqlite3", key) for alias in ALIASES}
    return {alias: _postgresql(url, NAMES[alias]) for alias in ALIASES}


_NO_URL = "the database URL is none of a PostgreSQL database; write postgresql:" + "//user@host:port/name"


def _sqlite(path: Path, key: DataKey | None) -> dict[str, Any]:
    options = {"transaction_mode": "IMMEDIATE", "init_command": _PRAGMAS, "timeout": _WAIT_SECONDS}
    sealed: dict[str, Any] = {} if key is None else {"key": key}
    return {
        "ENGINE": "django.db.backends.sqlite3" if key is None else "fabella.store.sealed",
        "NAME": path,
        "OPTIONS": {**options, **sealed},
        "CONN_MAX_AGE": None,
    }


def _postgresql(url: str, suffix: str) -> dict[str, Any]:
    try:
        parts = urlsplit(url)
        name, port = parts.path.strip("/"), parts.port or ""
    except ValueError:  # half an address of six numbers, or a port that is none
        raise UsageError(_NO_URL) from None
    if parts.scheme not in _SCHEMES or not name:
        raise UsageError(_NO_URL)
    return {
        "ENGINE": "django.db.backends.postgresql",
        "NAME": f"{unquote(name)}_{suffix}",
        "USER": unquote(parts.username or ""),
        "PASSWORD": unquote(parts.password or ""),
        "HOST": unquote(parts.hostname or ""),
        "PORT": port,
        "OPTIONS": dict(parse_qsl(parts.query)),
        "CONN_MAX_AGE": None,
        "CONN_HEALTH_CHECKS": True,
    }
