"""``fabella restore``: a backup becomes a clinic again, in a new place."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Annotated

import typer

from fabella.cli.opening import DatabaseUrl, KeyFile, configured, key_of
from fabella.errors import FabellaError, UsageError

if TYPE_CHECKING:
    from fabella.store.backup import Manifest
    from fabella.store.backup.restoring import Checked
    from fabella.web.options import Options


def restore(
    source: Annotated[
        Path, typer.Argument(metavar="FROM", help="A backup, or a folder of them: then the newest.")
    ],
    data: Annotated[
        Path | None,
        typer.Option(
            "--data", help="New folder for the clinic; never one that holds anything.", show_default=False
        ),
    ] = None,
    key_file: KeyFile = None,
    database_url: DatabaseUrl = None,
) -> None:
    """Restore a backup into a new folder, after checking all of it.

    That of a PostgreSQL clinic is restored into four empty databases.
    """
    from fabella.store.backup.manifest import check_files, read_manifest
    from fabella.store.backup.taking import backup_at

    backup = backup_at(source)
    manifest = read_manifest(backup)
    check_files(backup, manifest)
    if manifest.kind == "files":
        if data is None or database_url is not None:
            raise UsageError(f"{backup}: is restored into a folder; name a new one with --data alone")
        checked, where = _into_folder(backup, manifest, data, key_file), str(data)
    else:
        if database_url is None or data is not None:
            raise UsageError(
                f"{backup}: is of a PostgreSQL clinic; name four new databases with --database-url"
            )
        checked, where = _into_server(backup, manifest, database_url), "the databases"
    print(f"Restored into {where} from {backup}, made {manifest.made_at:%Y-%m-%d %H:%M} UTC.")
    print(f"The trail is whole: {checked.lines} lines tell of {checked.entries} entries, and all are there.")


def _into_folder(backup: Path, manifest: Manifest, data: Path, key_file: Path | None) -> Checked:
    from fabella.store.backup.restoring import check_copy, copy_beside, put_in_place
    from fabella.store.sealed.files import engine
    from fabella.web.options import Options

    if manifest.is_encrypted:
        engine()
    with copy_beside(backup, manifest, data) as folder:
        key = key_of(folder, key_file)
        check_copy(folder, key, manifest)
        checked = _checked(Options(data=folder, key=key), manifest)
        put_in_place(folder, data)
    return checked


def _into_server(backup: Path, manifest: Manifest, url: str) -> Checked:
    from fabella.store.backup.from_postgresql import restore_postgresql
    from fabella.web.options import Options

    restore_postgresql(backup, manifest, url)
    with TemporaryDirectory() as folder:
        return _checked(Options(data=Path(folder), database_url=url), manifest)


def _checked(options: Options, manifest: Manifest) -> Checked:
    """Check the restored copy with the program itself."""
    from fabella.store.backup.restoring import check_trail, refuse_newer

    with configured(options):
        refuse_newer(manifest)
        checked = check_trail(manifest)
    if checked.faults:
        raise FabellaError("\n".join(checked.faults))
    return checked
