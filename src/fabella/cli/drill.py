"""``fabella drill``: whether the newest backup could be worked with, tried on a copy."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Annotated

import typer
from rich.progress import Progress

from fabella.cli.drawing import open_console
from fabella.cli.opening import DatabaseUrl, KeyFile, configured, key_of
from fabella.cli.streams import print_json
from fabella.errors import FabellaError, InputError, UsageError

if TYPE_CHECKING:
    from fabella.store.backup import Manifest
    from fabella.web.options import Options


def drill(
    source: Annotated[
        Path,
        typer.Argument(metavar="FROM", help="A folder of backups, of which the newest is tried, or one."),
    ],
    key_file: KeyFile = None,
    database_url: DatabaseUrl = None,
    as_json: Annotated[bool, typer.Option("--json", help="Answer in JSON.")] = False,
) -> None:
    """Restore the newest backup for a while and try everything; exit with 1 if it fails."""
    report = Report()
    try:
        _try(source, key_file, database_url, report)
    except UsageError:
        raise
    except InputError as error:
        report.faults += [str(each) for each in error.problems]
    except FabellaError as error:
        report.faults += str(error).splitlines()
    if as_json:
        print_json({"passed": not report.faults, "steps": report.steps, "faults": report.faults})
    else:
        print("\n".join([*report.steps, *(f"WRONG: {each}" for each in report.faults)]))
        print("The drill was passed." if not report.faults else "The drill was NOT passed.")
    if report.faults:
        raise typer.Exit(1)


class Report:
    """What was done and what was wrong, in sentences."""

    def __init__(self) -> None:
        self.steps: list[str] = []
        self.faults: list[str] = []


def _try(source: Path, key_file: Path | None, database_url: str | None, report: Report) -> None:
    from fabella.store.backup.manifest import check_files, read_manifest
    from fabella.store.backup.taking import backup_at

    backup = backup_at(source)
    manifest = read_manifest(backup)
    age = datetime.now(tz=UTC) - manifest.made_at
    report.steps.append(f"Backup {backup}, {age.days} days and {age.seconds // 3600} hours old.")
    check_files(backup, manifest)
    report.steps.append(f"All {len(manifest.files)} files are as they were made.")
    with TemporaryDirectory(prefix="fabella-drill-") as place:
        if manifest.kind == "files":
            _try_files(backup, manifest, Path(place) / "clinic", key_file, report)
        elif database_url is None:
            raise UsageError(f"{backup}: is of a PostgreSQL clinic; name its server with --database-url")
        else:
            _try_server(backup, manifest, Path(place), database_url, report)


def _try_files(backup: Path, manifest: Manifest, folder: Path, key_file: Path | None, report: Report) -> None:
    from fabella.store.backup.restoring import check_copy, copy_into
    from fabella.web.options import Options

    copy_into(backup, manifest, folder)
    key = key_of(folder, key_file)
    check_copy(folder, key, manifest)
    _try_clinic(Options(data=folder, key=key), manifest, report)


def _try_server(backup: Path, manifest: Manifest, folder: Path, url: str, report: Report) -> None:
    from fabella.store.backup.from_postgresql import passing_databases, restore_postgresql
    from fabella.web.options import Options

    with passing_databases(url) as passing:
        restore_postgresql(backup, manifest, passing)
        _try_clinic(Options(data=folder, database_url=passing), manifest, report)


def _try_clinic(options: Options, manifest: Manifest, report: Report) -> None:
    from fabella.store.backup.restoring import check_trail, refuse_newer

    rows = sum(sum(each.rows.values()) for each in manifest.databases.values())
    report.steps.append(f"Restored: every table has its rows, {rows} in all; nothing is damaged.")
    with configured(options):
        refuse_newer(manifest)
        checked = check_trail(manifest)
        report.faults += checked.faults
        if not checked.faults:
            report.steps.append(f"The trail is whole: {checked.lines} lines, {checked.entries} entries.")
        _try_everything(report)


def _try_everything(report: Report) -> None:
    from fabella.store.backup import drill as trying  # once it is configured

    console = open_console(stderr=True)
    with Progress(console=console, transient=True, disable=not console.is_terminal) as progress:
        task = progress.add_task("examinations and letters", total=trying.how_many())
        found = trying.drill(now=datetime.now(tz=UTC), tick=lambda: progress.advance(task))
    report.faults += found.faults
    report.steps.append(
        f"{found.examinations} examinations were opened, {found.letters} signatures made again."
    )
    if found.otherwise:
        report.steps.append(
            f"{found.otherwise} would be worded otherwise by this version; what was signed is kept as it was."
        )
