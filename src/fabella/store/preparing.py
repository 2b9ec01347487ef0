"""The databases made ready: reached, and brought to the tables that this version needs."""

from __future__ import annotations

from contextlib import suppress

from django.core.management import call_command
from django.db import DatabaseError, connections

from fabella.errors import FabellaError
from fabella.store.databases import Settings
from fabella.store.router import ALIASES


def prepare_databases() -> None:
    """Make or renew the tables of every database.

    Raises `FabellaError` with one message that names every database that cannot be reached.
    """
    problems = [problem for alias in ALIASES if (problem := _problem(alias))]
    if problems:
        raise FabellaError("\n".join(problems))
    for alias in ALIASES:
        call_command("migrate", database=alias, verbosity=0, interactive=False)


def point_at(entries: Settings) -> None:
    """Let every alias mean another database from now on, for a process that has used some before."""
    connections.close_all()
    connections.settings = connections.configure_settings(entries)
    for alias in ALIASES:
        with suppress(AttributeError):  # this thread has not used it
            del connections[alias]


def let_go() -> None:
    """Close this thread's connections, so that no other process shares them."""
    connections.close_all()


def _problem(alias: str) -> str:
    connection = connections[alias]
    name = str(connection.settings_dict["NAME"])
    try:
        connection.ensure_connection()
    except DatabaseError as error:
        why = " ".join(str(error).split())
        if "file is not a database" in why:
            return f"{name}: is damaged, or encrypted with another key; restore a backup"
        remedy = f"; make it with: createdb {name}" if "does not exist" in why else ""
        return f"the database {name} cannot be reached: {why}{remedy}"
    return ""
