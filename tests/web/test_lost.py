"""A clinic that lost a database: refused by every command, and never begun anew unasked."""

import shutil
import sqlite3
import time
from collections.abc import Callable
from contextlib import ExitStack, closing, suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from django.db import connections

from fabella.store.backup.manifest import read_manifest
from fabella.store.backup.taking import back_up_files, backups_in, name_of
from fabella.store.databases import databases
from fabella.store.preparing import prepare_databases
from fabella.store.router import NAMES
from tests.cli.running import Left, call
from tests.database import cluster, using
from tests.web.hands import data_of

NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
PASSPHRASE = b"nine brown otters dive\n"


pytestmark = pytest.mark.usefixtures("own_databases")


def missing(path: Path) -> None:
    """Take the file away."""
    path.unlink()


def emptied(path: Path) -> None:
    """Leave a file of 0 bytes."""
    path.write_bytes(b"")


def without_tables(path: Path) -> None:
    """Leave what a server that goes on makes in the place of a file that was taken away."""
    path.unlink()
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA journal_mode = WAL")


def other_bytes(path: Path) -> None:
    """Leave a file that is no database."""
    path.write_bytes(b"notes of somebody " * 9)


def torn(path: Path) -> None:
    """Leave the beginning of the database alone."""
    path.write_bytes(path.read_bytes()[:5000])


HARMS = (missing, emptied, without_tables, other_bytes, torn)


def refused(*arguments: object, stdin: bytes = b"") -> Left:
    """Run a command that has to refuse without a traceback and without calling it our fault."""
    left = call(*arguments, stdin=stdin)
    assert left.code == 1, left
    assert "Traceback" not in left.err
    assert "unexpected" not in left.err
    return left


@pytest.mark.parametrize("name", NAMES.values())
@pytest.mark.parametrize("harm", HARMS)
def test_a_clinic_that_lost_a_database_is_neither_served_nor_backed_up(
    clinic: Path, tmp_path: Path, name: str, harm: Callable[[Path], None]
) -> None:
    """The file is named, nothing is made in its place, and older backups stay though one is to be kept."""
    backups = tmp_path / "backups"
    back_up_files(clinic, backups, key=None, now=NOW)
    path = clinic / f"{name}.sqlite3"
    harm(path)
    before = path.read_bytes() if path.exists() else None
    for asked in (("serve", "--check"), ("account", "list"), ("backup", backups, "--keep", 1)):
        assert f"{name}.sqlite3" in refused(*asked, *data_of(clinic)).err
    assert (path.read_bytes() if path.exists() else None) == before
    assert [each.name for each in backups_in(backups)] == [name_of(NOW)]


def test_the_refusal_says_what_it_means_and_what_to_do(clinic: Path) -> None:
    """It tells what would seem never to have been, the command that restores and the one that gives up."""
    (clinic / "clinic.sqlite3").unlink()
    said = refused("serve", "--check", *data_of(clinic)).err
    assert "there would seem to have been no patient and no examination" in said
    assert "fabella restore BACKUPS" in said
    assert "fabella serve --anew clinic, once" in said


@pytest.mark.parametrize("sealed", [False, True], ids=["plain", "encrypted"])
def test_a_lost_database_is_begun_anew_when_it_is_named_and_only_once(clinic: Path, sealed: bool) -> None:
    """The others stay as they are; an order that is left in the start of the server gives nothing else up."""
    stdin = PASSPHRASE if sealed else b""
    if sealed:
        assert call("key", "encrypt", *data_of(clinic), stdin=stdin).code == 0
    for name in ("clinic", "exams"):
        (clinic / f"{name}.sqlite3").unlink()
    serve = ("serve", "--check", *data_of(clinic))
    left = refused(*serve, "--anew", "exams", stdin=stdin)
    assert ("clinic.sqlite3 is missing" in left.err, "exams.sqlite3" in left.err) == (True, False)
    assert call(*serve, "--anew", "exams", "--anew", "clinic", stdin=stdin).code == 0
    for name in ("clinic", "school", "knees"):
        left = call(*serve, "--anew", name, stdin=stdin)
        assert (left.code, f"--anew {name}: only for what is lost" in left.err) == (2, True)
    assert call(*serve, stdin=stdin).code == 0


def test_last_changes_tell_of_a_lost_database_and_are_not_thrown_away(tmp_path: Path) -> None:
    """Where its log alone is left there was a clinic; the log has to be moved, as opening would remove it."""
    log = tmp_path / "clinic.sqlite3-wal"
    log.write_bytes(b"last changes")
    serve = ("serve", "--check", *data_of(tmp_path))
    assert "clinic.sqlite3 is missing" in refused(*serve).err
    anew = [part for name in NAMES.values() for part in ("--anew", name)]
    left = call(*serve, *anew)
    assert (left.code, "clinic.sqlite3-wal: holds the last changes" in left.err) == (2, True)
    assert log.read_bytes() == b"last changes"
    log.unlink()
    assert call(*serve).code == 0


def test_a_first_start_that_is_cut_off_is_finished_by_the_next(tmp_path: Path) -> None:
    """Wherever it was interrupted, nothing has been lost, and nothing is called so."""
    for cut in (0, 1, 2, 3, 4, 5, 18, 40, 80):
        folder = tmp_path / str(cut)
        folder.mkdir()
        with using(databases(folder)):
            _cut_off(cut)
        with using(databases(folder)):
            prepare_databases()


def _cut_off(after: int) -> None:
    """Begin to prepare the databases, and stop after so many statements that write."""
    left = after

    def stop(execute: Callable[..., object], sql: str, *rest: object) -> object:
        nonlocal left
        if sql.startswith(("CREATE", "INSERT", "ALTER")):
            left -= 1
            if left < 0:
                raise KeyboardInterrupt
        return execute(sql, *rest)

    with ExitStack() as stack, suppress(KeyboardInterrupt):
        for alias in connections:
            stack.enter_context(connections[alias].execute_wrapper(stop))
        prepare_databases()


def test_an_empty_database_among_those_of_a_server_is_refused(tmp_path: Path) -> None:
    """On PostgreSQL, too: one that was made anew is named, and nothing is put into it or backed up."""
    postgresql = cluster()
    databases_made = [f"CREATE DATABASE lost_{name}" for name in NAMES.values()]
    postgresql.run("postgres", *databases_made)
    clinic = (*data_of(tmp_path / "data"), "--database-url", postgresql.url("lost"))
    assert "lost_clinic holds no tables" in refused("backup", tmp_path / "backups", *clinic).err
    assert call("serve", "--check", *clinic).code == 0
    postgresql.run("postgres", "DROP DATABASE lost_clinic", "CREATE DATABASE lost_clinic")
    for asked in (("serve", "--check"), ("backup", tmp_path / "backups")):
        assert "lost_clinic holds no tables, though this clinic is in use" in refused(*asked, *clinic).err
    assert call("serve", "--check", "--anew", "clinic", *clinic).code == 0
    assert call("backup", tmp_path / "backups", *clinic).code == 0
    connections.close_all()
    postgresql.run("postgres", *(f"DROP DATABASE lost_{name}" for name in NAMES.values()))


def test_tables_of_a_newer_version_are_left_alone(clinic: Path) -> None:
    """An older program names the database and does not start; it would write past what it does not know."""
    with closing(sqlite3.connect(clinic / "school.sqlite3")) as connection:
        connection.execute("INSERT INTO django_migrations VALUES (99, 'school', '0999_later', '2030-01-01')")
        connection.commit()
    said = refused("serve", "--check", *data_of(clinic)).err
    assert "school.sqlite3: was brought to its tables by a newer version" in said


# ------------------------------------------------------------------ what --keep removes


def test_backups_with_patients_stay_beside_those_of_a_clinic_begun_anew(clinic: Path, tmp_path: Path) -> None:
    """However many come after it, the newest backup with the longest trail is not removed for them."""
    to = tmp_path / "backups"
    for day in range(2):
        back_up_files(clinic, to, key=None, now=NOW + timedelta(days=day), keep=1)
    assert [each.name for each in backups_in(to)] == [name_of(NOW + timedelta(days=1))]
    (clinic / "clinic.sqlite3").unlink()
    assert call("serve", "--check", "--anew", "clinic", *data_of(clinic)).code == 0
    for day in range(2, 5):
        back_up_files(clinic, to, key=None, now=NOW + timedelta(days=day), keep=1)
    found = backups_in(to)
    assert [each.name for each in found] == [name_of(NOW + timedelta(days=day)) for day in (4, 1)]
    assert [read_manifest(each).trail_lines > 0 for each in found] == [False, True]


def test_a_backup_stays_that_was_made_after_the_clock_was_set_back(clinic: Path, tmp_path: Path) -> None:
    """Called after an earlier moment than those that are there, it is not the one that is removed."""
    to = tmp_path / "backups"
    back_up_files(clinic, to, key=None, now=NOW, keep=1)
    made, _ = back_up_files(clinic, to, key=None, now=NOW - timedelta(days=400), keep=1)
    assert made in backups_in(to)


def test_a_backup_tells_of_one_that_bears_a_later_time(clinic: Path, tmp_path: Path) -> None:
    """What restoring would take for the newest is named, and the backup is made all the same."""
    to = tmp_path / "backups"
    strange = back_up_files(clinic, to, key=None, now=NOW + timedelta(days=40_000))[0]
    made = call("backup", to, *data_of(clinic))
    assert (made.code, f"{strange} bears a later time" in made.err) == (0, True)
    shutil.rmtree(strange)
    time.sleep(1.1)  # backups are called after their second
    assert call("backup", to, *data_of(clinic)).err == ""
