"""The databases made ready: reached, none of them lost, and brought to the tables that this version needs."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
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
    found = [_look_at(alias, known) for alias in ALIASES]
    _check(found, anew)
    _make_ready([each for each in found if not each.is_complete])  # to look at the others again takes long


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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """A database before anything is made: what is wrong with it, why it is gone, whether it is in use.

    ``has_log`` tells that last changes of what is gone were left; it is complete when it was brought to every
    table that is known.
    """

    alias: str
    place: str
    problem: str = ""
    gone: str = ""
    is_in_use: bool = False
    has_log: bool = False
    is_complete: bool = False

    @property
    def name(self) -> str:
        return NAMES[self.alias]


def _look_at(alias: str, known: set[tuple[str, str]]) -> _Found:
    connection = connections[alias]
    found = _Found(alias=alias, place=str(connection.settings_dict["NAME"]))
    if connection.vendor == "sqlite" and (why := why_gone(Path(found.place))):
        has_log = left_a_log(Path(found.place))
        return replace(found, gone=why, is_in_use=has_log, has_log=has_log)
    try:
        recorder = MigrationRecorder(connection)
        gone = "" if recorder.has_table() else NO_TABLES
        applied = set(recorder.applied_migrations())
    except DatabaseError as error:
        return replace(found, problem=_unreachable(found.place, _one_line(error)))
    newer = (
        f"{found.place}: was brought to its tables by a newer version, which Fabella "
        f"{fabella.__version__} does not know; start that version, or a newer one"
    )
    return replace(
        found,
        problem=newer if applied - known else "",
        gone=gone,
        is_in_use=bool(applied),
        is_complete=applied >= known,
    )


def _check(found: Sequence[_Found], anew: Collection[str]) -> None:
    """Refuse what must not be made ready: see `prepare_databases`."""
    if problems := [each.problem for each in found if each.problem]:
        raise FabellaError("\n".join(problems))
    gone = [each for each in found if each.gone]
    if there := sorted(set(anew) - {each.name for each in gone}):
        names = ", ".join(NAMES.values())
        raise UsageError(f"--anew {there[0]}: only for what is lost of {names}; leave it out")
    if logs := [each.place for each in gone if each.name in anew and each.has_log]:
        raise UsageError(f"{logs[0]}-wal: holds the last changes of what was lost; move it elsewhere first")
    refused = [each for each in gone if each.name not in anew]
    if refused and any(each.is_in_use for each in found):
        raise lost([Lost(name=each.name, place=each.place, why=each.gone) for each in refused])


def _make_ready(behind: Sequence[_Found]) -> None:
    # All are begun before any is in use: a first start that is cut off leaves nothing that looks lost.
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
                raise FabellaError(
                    f"{each.place}: cannot be made ready, and stays as it was: {_one_line(error)}"
                ) from None


def _begin(alias: str) -> None:
    MigrationRecorder(connections[alias]).ensure_schema()


def _bring_along(alias: str) -> None:
    call_command("migrate", database=alias, verbosity=0, interactive=False)


def _unreachable(place: str, why: str) -> str:
    if "file is not a database" in why or "malformed" in why:
        return f"{place}: is damaged, or encrypted with another key; restore a backup"
    remedy = f"; make it with: createdb {place}" if "does not exist" in why else ""
    return f"the database {place} cannot be reached: {why}{remedy}"


def _one_line(error: Exception) -> str:
    return " ".join(str(error).split())
