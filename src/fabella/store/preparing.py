"""The databases made ready: reached, none of them lost, and brought to the tables that this version needs."""

from __future__ import annotations

from collections.abc import Collection
from contextlib import suppress
from pathlib import Path

from django.core.management import call_command
from django.db import DatabaseError, connections, transaction
from django.db.migrations.exceptions import MigrationSchemaMissing
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

import fabella
from fabella.errors import FabellaError, UsageError
from fabella.store.databases import Settings
from fabella.store.lost import NO_TABLES, Lost, left_a_log, lost, why_gone
from fabella.store.router import ALIASES, NAMES


def prepare_databases(*, anew: Collection[str] = ()) -> None:
    """Make or renew the tables of every database.

    ``anew`` names databases that were lost and may be begun again, empty. Raises `FabellaError` with one
    message that names every database that cannot be reached, that is gone while others are in use, whose
    tables are of a newer version, or the one for which there is no room; `UsageError` for one to be begun
    anew of which there is anything.
    """
    known = set(MigrationLoader(None).disk_migrations)
    found = [_Found(alias, known) for alias in ALIASES]
    if problems := [each.problem for each in found if each.problem]:
        raise FabellaError("\n".join(problems))
    gone = [Lost(name=each.name, place=each.place, why=each.gone) for each in found if each.gone]
    if there := sorted(set(anew) - {each.name for each in gone}):
        names = ", ".join(NAMES.values())
        raise UsageError(f"--anew {there[0]}: only for what is lost of {names}; leave it out")
    if logs := [each.place for each in found if each.name in anew and each.has_log]:
        raise UsageError(f"{logs[0]}-wal: holds the last changes of what was lost; move it elsewhere first")
    refused = [each for each in gone if each.name not in anew]
    if refused and any(each.is_in_use for each in found):
        raise lost(refused)
    # All are begun before any is in use: a first start that is cut off leaves nothing that looks lost.
    behind = [each for each in found if not each.is_complete]  # to look at the others again takes long
    for bring in (_begin, _bring_along):
        for each in behind:
            try:
                # In one transaction: what is interrupted leaves a database as it was, and two who start wait.
                with (
                    connections[each.alias].constraint_checks_disabled(),
                    transaction.atomic(using=each.alias),
                ):
                    bring(each.alias)
            except (DatabaseError, MigrationSchemaMissing) as error:
                why = " ".join(str(error).split())
                raise FabellaError(
                    f"{each.place}: cannot be made ready, and stays as it was: {why}"
                ) from None


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


class _Found:
    """A database before anything is made: what is wrong with it, why it is gone, whether it is in use.

    It is complete when it was brought to every table that is ``known``.
    """

    def __init__(self, alias: str, known: set[tuple[str, str]]) -> None:
        connection = connections[alias]
        self.alias = alias
        self.name, self.place = NAMES[alias], str(connection.settings_dict["NAME"])
        self.problem = self.gone = ""
        self.is_in_use = self.has_log = self.is_complete = False
        if connection.vendor == "sqlite" and (why := why_gone(Path(self.place))):
            self.gone = why
            self.is_in_use = self.has_log = left_a_log(Path(self.place))
            return
        try:
            recorder = MigrationRecorder(connection)
            if not recorder.has_table():
                self.gone = NO_TABLES
            applied = set(recorder.applied_migrations())
        except DatabaseError as error:
            self.problem = _told(self.place, " ".join(str(error).split()))
            return
        self.is_in_use, self.is_complete = bool(applied), applied >= known
        if applied - known:
            self.problem = (
                f"{self.place}: was brought to its tables by a newer version, which Fabella "
                f"{fabella.__version__} does not know; start that version, or a newer one"
            )


def _begin(alias: str) -> None:
    MigrationRecorder(connections[alias]).ensure_schema()


def _bring_along(alias: str) -> None:
    call_command("migrate", database=alias, verbosity=0, interactive=False)


def _told(place: str, why: str) -> str:
    if "file is not a database" in why or "malformed" in why:
        return f"{place}: is damaged, or encrypted with another key; restore a backup"
    remedy = f"; make it with: createdb {place}" if "does not exist" in why else ""
    return f"the database {place} cannot be reached: {why}{remedy}"
