"""Restoring: a copy beside the place, checked whole, and only then put in its place. Nothing is replaced."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import fabella
from fabella.errors import FabellaError, UsageError
from fabella.store.actor import Actor, Role
from fabella.store.backup.from_files import look_into
from fabella.store.backup.manifest import Database, Manifest, check_files
from fabella.store.private import PRIVATE_FILE, make_private_folder, settle
from fabella.store.router import NAMES
from fabella.store.sealed import DataKey


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """What checking a restored copy found; ``faults`` is empty when it is what was backed up."""

    lines: int
    entries: int
    faults: tuple[str, ...]


@contextmanager
def copy_beside(backup: Path, manifest: Manifest, place: Path) -> Iterator[Path]:
    """Copy the files of a backup into a folder beside a place, and remove it unless it was moved there.

    Raises `UsageError` when anything is in the place.
    """
    if place.exists() and (not place.is_dir() or any(place.iterdir())):
        raise UsageError(f"{place}: is not empty; a clinic is restored into a new folder, never over another")
    folder = place.with_name(f".{place.name}.restoring")
    shutil.rmtree(folder, ignore_errors=True)
    try:
        copy_into(backup, manifest, folder)
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def copy_into(backup: Path, manifest: Manifest, folder: Path) -> None:
    """Copy the files of a backup, and make sure that they arrived as they were made."""
    make_private_folder(folder)
    for name in manifest.files:
        shutil.copyfile(backup / name, folder / name)
        (folder / name).chmod(PRIVATE_FILE)
        settle(folder / name)
    check_files(folder, manifest)


def put_in_place(folder: Path, place: Path) -> None:
    """Give a checked copy its name."""
    settle(folder)
    folder.rename(place)
    settle(place.absolute().parent)


def check_copy(folder: Path, key: DataKey | None, manifest: Manifest) -> None:
    """Raise `FabellaError` with everything in which a copy is not what the manifest says, row for row."""
    names = [name for name in NAMES.values() if name in manifest.databases]
    held, lines, head, wrong = look_into(folder, key, names)
    found = [*wrong, *differences(manifest, held, lines, head)]
    if found:
        raise FabellaError("\n".join(found))


def differences(manifest: Manifest, held: dict[str, Database], lines: int, head: str) -> Iterator[str]:
    """Yield in what databases differ from what a manifest tells of them."""
    for name, told in manifest.databases.items():
        if name not in held:
            yield f"{name}: is no database of this program"
            continue
        tables = {**told.rows, **held[name].rows}
        for table in sorted(tables):
            before, now = told.rows.get(table, 0), held[name].rows.get(table, 0)
            if before != now:
                yield f"{name}: {table} has {now} rows, and had {before}"
        if told.migrations != held[name].migrations:
            yield f"{name}: its tables are not in the state in which they were backed up"
    if (lines, head) != (manifest.trail_lines, manifest.trail_head):
        yield "the trail does not end as it did"


def refuse_newer(manifest: Manifest) -> None:
    """Raise `FabellaError` when a newer program made the backup, whose tables this one does not know.

    To be called once the framework is started.
    """
    from django.db.migrations.loader import MigrationLoader  # noqa: PLC0415

    known = {f"{app}.{name}" for app, name in MigrationLoader(None).disk_migrations}
    strange = {each for database in manifest.databases.values() for each in database.migrations} - known
    if strange:
        raise FabellaError(
            f"the backup was made by Fabella {manifest.program}, whose tables Fabella {fabella.__version__} "
            "does not know; restore it with that version or a newer one"
        )


def check_trail(manifest: Manifest) -> Checked:
    """Bring the restored tables to this version, and check the trail and everything that it tells of.

    Databases that there were not yet when the backup was made are begun.

    To be called once the framework points at the restored databases.
    """
    from fabella.store.clinic.verifying import verify  # noqa: PLC0415  after the framework's start
    from fabella.store.preparing import prepare_databases  # noqa: PLC0415

    prepare_databases(anew=set(NAMES.values()) - set(manifest.databases))
    found = verify(CHECKER)
    faults = list(found.faults)
    if manifest.trail_lines and (found.lines, found.head) != (manifest.trail_lines, manifest.trail_head):
        faults.append("the trail does not end as it did")
    return Checked(lines=found.lines, entries=found.entries, faults=tuple(faults))


CHECKER = Actor(
    name="restoring", shown="", roles=frozenset({Role.ADMINISTRATOR}), service="", device="restoring"
)
"""Who checks: somebody who sees no patient."""
