"""``fabella backup``: the databases as they stand at one moment, while the server runs."""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from fabella.cli.opening import Data, DatabaseUrl, KeyFile, data_folder, key_of
from fabella.cli.streams import print_json
from fabella.errors import UsageError


def backup(  # noqa: PLR0917  a command line has no keywords of its own
    to: Annotated[Path, typer.Argument(help="Folder of all backups, on another disk.", show_default=False)],
    keep: Annotated[
        int | None,
        typer.Option("--keep", min=1, help="Remove all but so many, the newest.", show_default=False),
    ] = None,
    data: Data = None,
    key_file: KeyFile = None,
    database_url: DatabaseUrl = None,
    as_json: Annotated[bool, typer.Option("--json", help="Answer in JSON.")] = False,
) -> None:
    """Back up the databases while the server runs, and check what was made."""
    from fabella.store.backup.taking import back_up_files, backups_in
    from fabella.store.occupied import occupied

    folder, now = data or data_folder(), datetime.now(tz=UTC)
    if database_url is None:
        if not folder.is_dir():
            raise UsageError(f"{folder}: there is no clinic to back up")
        with occupied(folder):
            place, made = back_up_files(folder, to, key=key_of(folder, key_file), now=now, keep=keep)
    else:
        from fabella.store.backup.from_postgresql import back_up_postgresql

        place, made = back_up_postgresql(database_url, to, now=now, keep=keep)
    newest = backups_in(to)[0]
    if newest != place:
        print(
            f"fabella: {newest} bears a later time than this backup, and is taken for the newest. "
            "If the clock is right now, move it elsewhere.",
            file=sys.stderr,
        )
    size = sum(each.bytes for each in made.files.values())
    rows = sum(sum(each.rows.values()) for each in made.databases.values())
    if as_json:
        told = {"bytes": size, "rows": rows, "encrypted": made.is_encrypted}
        print_json(
            {"backup": str(place), **told, "trail": {"lines": made.trail_lines, "head": made.trail_head}}
        )
        return
    print(f"{place}")
    print(f"{size:,} bytes, {rows:,} rows{', encrypted' if made.is_encrypted else ''}; read again and whole.")
    print(f"The trail ends with line {made.trail_lines}: {made.trail_head or 'nothing yet'}")
