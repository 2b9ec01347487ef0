"""Backups of a PostgreSQL clinic: by the server's own programs, from four snapshots of one moment."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager
from datetime import datetime
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from fabella.errors import FabellaError
from fabella.store.backup.contents import Ask, end_of_trail, held_by, refuse_lost, without_tables
from fabella.store.backup.manifest import Database, Manifest, make_manifest
from fabella.store.backup.restoring import differences
from fabella.store.backup.taking import forget_old, making, name_of
from fabella.store.databases import databases
from fabella.store.private import PRIVATE_FILE, settle
from fabella.store.router import ALIASES, NAMES
from fabella.store.writing import ADVISORY

Server = dict[str, dict[str, Any]]
"""How each database of a clinic is reached, by its name outside the framework."""


def server_of(url: str) -> Server:
    """Return how the databases of a URL are reached; raise `FabellaError` without the driver."""
    if find_spec("psycopg") is None:
        raise FabellaError("PostgreSQL needs the extra 'postgresql': pip install 'fabella[postgresql]'")
    entries = databases(Path(), url)
    return {NAMES[alias]: entries[alias] for alias in ALIASES}


def back_up_postgresql(
    url: str, to: Path, *, now: datetime, keep: int | None = None
) -> tuple[Path, Manifest]:
    """Back up the databases of a URL, and return where, with what the backup says of itself."""
    server, program = server_of(url), _program("pg_dump")
    held: dict[str, Database] = {}
    trail = (0, "")
    with making(to, now) as folder:
        with ExitStack() as stack:
            for name, connection in _looking_at_one_moment(stack, server).items():
                ask = _asking(connection)
                path = folder / f"{name}.dump"
                path.touch(PRIVATE_FILE)
                snapshot = str(ask("SELECT pg_export_snapshot()")[0][0])
                _run(program, "--format=custom", "--no-owner", "--no-privileges", f"--snapshot={snapshot}",
                     f"--file={path}", entry=server[name])  # fmt: skip
                settle(path)
                held[name] = held_by(ask, "postgresql")
                if name == "clinic":
                    trail = end_of_trail(ask, held[name].rows)
        refuse_lost({name: str(entry["NAME"]) for name, entry in server.items()}, without_tables(held))
        manifest = make_manifest(
            folder, made_at=now, kind="postgresql", is_encrypted=False, databases=held, trail=trail
        )
    forget_old(to, keep, made=to / name_of(now))
    return to / name_of(now), manifest


def restore_postgresql(backup: Path, manifest: Manifest, url: str) -> None:
    """Fill four empty databases from a backup; raise `FabellaError` when one is not empty or differs."""
    server, program = server_of(url), _program("pg_restore")
    for name, held in _look_into(server)[0].items():
        if held.rows:
            raise FabellaError(
                f"the database {server[name]['NAME']} is not empty; a clinic is restored into new databases"
            )
    for name in server.keys() & manifest.databases.keys():
        _run(program, "--single-transaction", "--exit-on-error", "--no-owner", "--no-privileges",
             str(backup / f"{name}.dump"), entry=server[name])  # fmt: skip
    if found := list(differences(manifest, *_look_into(server))):
        names = ", ".join(str(entry["NAME"]) for entry in server.values())
        raise FabellaError("\n".join([*found, f"do not use what is in {names} now"]))


@contextmanager
def passing_databases(url: str) -> Iterator[str]:
    """Make four empty databases beside those of a URL, give their URL, and remove them afterwards."""
    import psycopg  # noqa: PLC0415  only where there is such a server
    from psycopg.sql import SQL, Identifier  # noqa: PLC0415

    mark = f"_drill_{os.getpid()}"
    address, question, rest = url.partition("?")
    passing = f"{address}{mark}{question}{rest}"
    made = [str(entry["NAME"]) for entry in server_of(passing).values()]
    with closing(_connect(server_of(url)["accounts"])) as connection:
        connection.autocommit = True
        try:
            for name in made:
                connection.execute(SQL("CREATE DATABASE {} TEMPLATE template0").format(Identifier(name)))
            yield passing
        except psycopg.errors.InsufficientPrivilege as error:
            raise FabellaError(f"a drill makes databases that it removes again: {error}") from None
        finally:
            for name in made:
                connection.execute(SQL("DROP DATABASE IF EXISTS {}").format(Identifier(name)))


def _looking_at_one_moment(stack: ExitStack, server: Server) -> dict[str, Any]:
    """Return a connection to each database that sees it as it is now, whatever is written later."""
    holding = [stack.enter_context(closing(_connect(entry))) for entry in server.values()]
    looking = {name: stack.enter_context(closing(_connect(entry))) for name, entry in server.items()}
    for connection in holding:
        connection.execute("SELECT pg_advisory_xact_lock(%s)", [ADVISORY])
    for connection in looking.values():
        connection.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        connection.execute("SELECT 1 FROM pg_tables LIMIT 1")
    for connection in holding:
        connection.rollback()
    return looking


def _look_into(server: Server) -> tuple[dict[str, Database], int, str]:
    held, lines, head = {}, 0, ""
    for name, entry in server.items():
        with closing(_connect(entry)) as connection:
            ask = _asking(connection)
            held[name] = held_by(ask, "postgresql")
            if name == "clinic":
                lines, head = end_of_trail(ask, held[name].rows)
    return held, lines, head


def _connect(entry: dict[str, Any]) -> Any:
    import psycopg  # noqa: PLC0415  only where there is such a server

    try:
        return psycopg.connect(_conninfo(entry), password=entry["PASSWORD"] or None)
    except psycopg.Error as error:
        why = " ".join(str(error).split())
        raise FabellaError(f"the database {entry['NAME']} cannot be reached: {why}") from None


def _conninfo(entry: dict[str, Any]) -> str:
    """How a database is reached, without the password, which would stand in the list of processes."""
    from psycopg.conninfo import make_conninfo  # noqa: PLC0415

    given = {"dbname": entry["NAME"], "user": entry["USER"], "host": entry["HOST"], "port": entry["PORT"]}
    return str(
        make_conninfo("", **{name: value for name, value in given.items() if value}, **entry["OPTIONS"])
    )


def _asking(connection: Any) -> Ask:
    return lambda question: list(connection.execute(question).fetchall())


def _program(name: str) -> str:
    found = shutil.which(name)
    if found is None:
        raise FabellaError(f"{name} is needed, one of PostgreSQL's own programs; install its client programs")
    return found


def _run(program: str, *arguments: str, entry: dict[str, Any]) -> None:
    environment = {**os.environ, **({"PGPASSWORD": entry["PASSWORD"]} if entry["PASSWORD"] else {})}
    command = [program, *arguments, f"--dbname={_conninfo(entry)}"]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)  # noqa: S603
    if done.returncode:
        raise FabellaError(f"{Path(program).name} of {entry['NAME']} failed: {done.stderr.strip()}")
