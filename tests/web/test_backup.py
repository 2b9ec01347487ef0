"""Backups, restoring and the drill: on files, on encrypted files, and on a server."""

import json
import shutil
import sqlite3
import stat
import threading
import time
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from http.client import HTTPException
from pathlib import Path
from typing import Any

import pytest

from fabella.errors import FabellaError, InputError, UsageError
from fabella.protocol import load_protocol
from fabella.store.backup import from_files, taking
from fabella.store.backup.manifest import Database, check_files, file_of, read_manifest, write_manifest
from fabella.store.backup.restoring import refuse_newer
from fabella.store.backup.taking import back_up_files, backup_at, backups_in, name_of
from fabella.store.router import NAMES
from fabella.store.sealed.files import connect
from fabella.store.sealed.key import KEY_NAME, unlock_key
from fabella.web.demo.looking_inside import KNEES
from tests.cli.running import Left, call
from tests.database import cluster
from tests.web.hands import Browser, data_of, operation, running, wait_until

NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
ITEMS = [sign.id for sign in load_protocol().history() if sign.scale.measure is None]


pytestmark = pytest.mark.usefixtures("own_databases")


@dataclass
class Place:
    """A clinic that can be served, and the options with which the commands reach it and its backups."""

    folder: Path
    served: tuple[str, ...]
    opened: tuple[str, ...]
    back: tuple[str, ...]


@pytest.fixture(params=["files", "encrypted", "postgresql"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Place:
    """An empty clinic of each kind."""
    data = data_of(tmp_path / "clinic")
    if request.param == "postgresql":
        served = cluster()
        served.make_databases()
        served.empty()
        for name in NAMES.values():
            served.run("postgres", f"DROP DATABASE IF EXISTS again_{name}", f"CREATE DATABASE again_{name}")
        url = ("--database-url", served.url("test"))
        return Place(tmp_path, (*data, *url), url, ("--database-url", served.url("again")))
    key: tuple[str, ...] = ()
    if request.param == "encrypted":
        key = ("--key-file", str(tmp_path / "key"))
        assert call("key", "encrypt", *key, *data).code == 0
    return Place(tmp_path, (*data, *key), key, (*data_of(tmp_path / "again"), *key))


class Hammer(threading.Thread):
    """Saves without a pause until it is told to stop, and counts what was acknowledged."""

    def __init__(self, port: int, number: int) -> None:
        super().__init__(daemon=True)
        self._browser = Browser(port)
        self._visit = self._browser.new_visit(number)
        self._number = number
        self.acknowledged = 0
        self.enough = False

    def run(self) -> None:
        """Save."""
        try:
            while not self.enough:
                number = self._number * 100_000 + self.acknowledged
                self._browser.save(
                    self._visit, operation(number, ITEMS[number % len(ITEMS)], number % 2 == 0)
                )
                self.acknowledged += 1
        except (OSError, HTTPException):
            return
        finally:
            self._browser.close()


def test_a_backup_under_hammering_hands_is_consistent_and_whole(place: Place) -> None:
    """Taken while hands save as fast as they can, it holds all that was acknowledged before.

    It passes the drill; restored, it is a clinic that a server opens.
    """
    backups = place.folder / "backups"
    with running(*place.served) as server:
        hands = [Hammer(server.port, number) for number in range(3)]
        for hand in hands:
            hand.start()
        for times in (1, 2):
            wait_until(lambda least=times * 10: all(hand.acknowledged >= least for hand in hands), 60)
            before = sum(hand.acknowledged for hand in hands)
            time.sleep(1.1)  # backups are called after their second
            made = call("backup", backups, *place.served, "--json")
            assert (made.code, made.err) == (0, "")
            after = sum(hand.acknowledged for hand in hands) + len(hands)
            rows = read_manifest(Path(made.json["backup"])).databases["clinic"].rows
            begun = len(hands)  # each visit states its complaint when it is begun
            assert before + begun <= rows["clinic_entry"] <= after + begun
        for hand in hands:
            hand.enough = True
        for hand in hands:
            hand.join(timeout=60)
    assert len(backups_in(backups)) == 2
    drilled = call("drill", backups, *place.opened, "--json")
    assert (drilled.code, drilled.json["faults"]) == (0, [])
    assert "3 examinations were opened, 0 signatures made again." in drilled.json["steps"]
    restored = call("restore", backups, *place.back)
    assert (restored.code, restored.err) == (0, "")
    elsewhere = place.back if "--data" in place.back else (*place.back, *data_of(place.folder / "other"))
    with running(*elsewhere) as server:
        browser = Browser(server.port)
        assert b"Invented 2" in browser.ask("GET", "/patients/")[2]
        browser.close()
    again = call("restore", backups, *place.back)
    assert (again.code in {1, 2}, "is not empty" in again.err) == (True, True)


# ------------------------------------------------------------------ what is wrong with a backup


@pytest.fixture
def backup(clinic: Path, tmp_path: Path) -> Path:
    """A backup of the invented clinic."""
    return back_up_files(clinic, tmp_path / "backups", key=None, now=NOW)[0]


def refused(*arguments: object) -> Left:
    """Run a command that has to refuse with one message and no traceback."""
    left = call(*arguments)
    assert left.code in {1, 2}, left
    assert "Traceback" not in left.err
    assert "unexpected" not in left.err
    return left


@pytest.mark.parametrize("name", ["accounts.sqlite3", "clinic.sqlite3", "school.sqlite3", "manifest.json"])
@pytest.mark.parametrize("harm", ["flipped", "cut", "missing"])
def test_a_harmed_file_is_refused_by_name(backup: Path, tmp_path: Path, name: str, harm: str) -> None:
    """One flipped bit, a file cut off or missing: restoring and the drill name it, and nothing is made."""
    path = backup / name
    content = bytearray(path.read_bytes())
    if harm == "missing":
        path.unlink()
    elif harm == "cut":
        path.write_bytes(content[:-1] if name != "manifest.json" else content[:-40])
    else:
        content[len(content) // 2] ^= 1
        path.write_bytes(content)
    target = tmp_path / "again"
    left = refused("restore", backup, *data_of(target))
    assert name in left.err
    assert left.err.count("\n") == 1
    assert sorted(each.name for each in tmp_path.iterdir()) == ["backups", "clinic"]
    drilled = call("drill", backup, "--json")
    assert (drilled.code, len(drilled.json["faults"])) == (1, 1)
    assert name in drilled.json["faults"][0]


def test_everything_wrong_is_told_at_once(backup: Path) -> None:
    """Two harmed files are two problems of one message."""
    (backup / "school.sqlite3").unlink()
    (backup / "clinic.sqlite3").write_bytes(b"")
    with pytest.raises(InputError) as found:
        check_files(backup, read_manifest(backup))
    assert [Path(each.place).name for each in found.value.problems] == ["clinic.sqlite3", "school.sqlite3"]


def altered(backup: Path, statement: str) -> None:
    """Alter the clinic of a backup past its triggers, and let the manifest say that it was always so."""
    path = backup / "clinic.sqlite3"
    with closing(sqlite3.connect(path)) as connection:
        triggers = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in triggers:
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute(statement)
        for _, sql in triggers:
            connection.execute(sql)
        connection.commit()
    manifest = read_manifest(backup)
    held, _, _, _ = from_files.look_into(backup, None)
    changes = {
        "files": {name: file_of(backup / name) for name in manifest.files},
        "databases": held,
    }
    write_manifest(
        backup,
        type(manifest)(**{**{name: getattr(manifest, name) for name in manifest.__slots__}, **changes}),
    )


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("UPDATE clinic_entry SET payload = payload || ' ' WHERE version = 3", "not as they were written"),
        ("UPDATE clinic_signature SET letter = letter || ' ' WHERE id = 1", "is not as it was given"),
        ("UPDATE clinic_paper SET text = text || ' ' WHERE id = 1", "not as they were signed"),
        ("DELETE FROM clinic_trace WHERE number = 7", "line 7 is missing"),
        ("UPDATE clinic_trace SET actor = 'eve' WHERE number = 7", "line 7 is not as it was written"),
    ],
    ids=["entry", "letter", "paper", "line", "name"],
)
def test_what_was_altered_before_the_backup_fails_the_drill(
    backup: Path, tmp_path: Path, statement: str, says: str
) -> None:
    """Even when every hash of a file fits, the trail tells of what was altered before."""
    altered(backup, statement)
    drilled = call("drill", backup)
    assert drilled.code == 1
    assert says in drilled.out
    assert drilled.out.endswith("The drill was NOT passed.\n")
    assert says in refused("restore", backup, *data_of(tmp_path / "again")).err
    assert not (tmp_path / "again").exists()


def test_a_drill_says_in_plain_words_what_was_tried(backup: Path) -> None:
    """A good backup passes; the report counts examinations and signed letters, and leaves nothing behind."""
    left = call("drill", backup.parent)
    assert (left.code, left.err) == (0, "")
    assert f"Backup {backup}" in left.out
    told = f"{11 + KNEES} examinations were opened, {5 + KNEES} signatures made again."
    assert told in left.out
    assert left.out.endswith("The drill was passed.\n")
    assert call("drill", backup.parent / "none").code == 1


# ------------------------------------------------------------------ taking one


def test_a_backup_is_its_owners_alone_and_tells_what_it_holds(backup: Path) -> None:
    """Nobody else reads it; the manifest names program, tables, rows and the end of the trail."""
    assert stat.S_IMODE(backup.stat().st_mode) == stat.S_IMODE(backup.parent.stat().st_mode) == 0o700
    assert {stat.S_IMODE(path.stat().st_mode) for path in backup.iterdir()} == {0o600}
    told = json.loads((backup / "manifest.json").read_text())
    assert told["databases"]["clinic"]["rows"]["clinic_visit"] == 11 + KNEES
    assert told["databases"]["clinic"]["rows"]["clinic_confirmation"] == KNEES - KNEES // 5 + 4
    assert "clinic.0002_only_added_to" in told["databases"]["clinic"]["migrations"]
    with closing(connect(backup / "clinic.sqlite3", None)) as connection:
        last = connection.execute("SELECT number, digest FROM clinic_trace ORDER BY number DESC").fetchone()
    assert (told["trail_lines"], told["trail_head"]) == last


def test_what_is_not_finished_never_looks_like_a_backup(
    clinic: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Failing half way leaves nothing; killed half way, what no command takes and a later one removes."""
    to = tmp_path / "backups"

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as broken:
        broken.setattr(taking, "look_into", full)
        with pytest.raises(OSError, match="No space"):
            back_up_files(clinic, to, key=None, now=NOW)
    assert list(to.iterdir()) == []
    killed, at_work = (to / f".making-{name_of(NOW - timedelta(hours=hours))}" for hours in (25, 1))
    for each in (killed, at_work):
        each.mkdir()
        (each / "clinic.sqlite3").write_text("half")
    (to / "2026-11-25T10-00-00Z").mkdir()  # somebody's own folder, or a manifest that was lost
    with pytest.raises(FabellaError, match="holds no finished backup"):
        backup_at(to)
    made, _ = back_up_files(clinic, to, key=None, now=NOW)
    assert backup_at(to) == made
    assert list(to.glob(".making-*")) == [at_work]
    with pytest.raises(FabellaError, match="is there already, and is not overwritten"):
        back_up_files(clinic, to, key=None, now=NOW)


def test_the_newest_backups_are_kept(clinic: Path, tmp_path: Path) -> None:
    """With --keep the oldest go, after the new one is there; what is no backup stays."""
    to = tmp_path / "backups"
    (to / "notes").mkdir(parents=True)
    days = [NOW + timedelta(days=day) for day in range(4)]
    for day in days:
        back_up_files(clinic, to, key=None, now=day, keep=2)
    assert [path.name for path in backups_in(to)] == [name_of(days[3]), name_of(days[2])]
    assert (to / "notes").exists()


def test_a_backup_beside_what_it_protects_or_of_nothing_is_refused(clinic: Path, tmp_path: Path) -> None:
    """Into the data folder itself, or where there is no clinic, no backup is made."""
    with pytest.raises(UsageError, match="is lost with it"):
        back_up_files(clinic, clinic / "backups", key=None, now=NOW)
    assert "there is no clinic" in refused("backup", tmp_path / "b", *data_of(tmp_path / "none")).err
    (tmp_path / "empty").mkdir()
    assert "missing" in refused("backup", tmp_path / "b", *data_of(tmp_path / "empty")).err


def test_a_backup_of_encrypted_files_stays_encrypted(clinic: Path, tmp_path: Path) -> None:
    """It holds no word about a patient, opens with the passphrase of its time, and with no other."""
    told = b"seven grey herons wade\n"
    assert call("key", "encrypt", *data_of(clinic), stdin=told).code == 0
    made = call("backup", tmp_path / "backups", *data_of(clinic), "--json", stdin=told)
    assert made.json["encrypted"] is True
    backup = Path(made.json["backup"])
    for path in backup.iterdir():
        content = path.read_bytes()
        assert not [word for word in (b"SQLite format", b"lachman", b"nvented") if word in content], path
    assert call("key", "change", *data_of(clinic), stdin=told + b"another one altogether\n").code == 0
    for wrong in (b"another one altogether\n", b""):
        assert refused("restore", backup, *data_of(tmp_path / "again")).out == ""
        assert call("drill", backup, stdin=wrong).code == 1
    assert call("restore", backup, *data_of(tmp_path / "again"), stdin=told).code == 0
    unlock_key(tmp_path / "again" / KEY_NAME, told.strip())
    assert call("drill", backup, stdin=told).code == 0


def test_a_manifest_that_leads_elsewhere_or_nowhere_is_refused(backup: Path, tmp_path: Path) -> None:
    """Nothing is copied out of the new folder, and lists without end are no manifest."""
    manifest = read_manifest(backup)
    strange = {**manifest.files, "../strange": next(iter(manifest.files.values()))}
    shutil.copy(backup / next(iter(manifest.files)), backup.parent / "strange")
    write_manifest(backup, replace(manifest, files=strange))
    left = call("restore", backup, *data_of(tmp_path / "place" / "again"))
    assert (left.code, "outside of the backup" in left.err) == (1, True)
    assert not (tmp_path / "place").exists()
    kinds: dict[str, Any] = {"clinic": Database(migrations=(), rows="many")}  # type: ignore[arg-type]
    write_manifest(backup, replace(manifest, databases=kinds))
    left = call("restore", backup, *data_of(tmp_path / "place" / "again"))
    assert (left.code, "is not as it was written" in left.err) == (1, True)
    (backup / "manifest.json").write_text("[" * 100_000)
    left = call("restore", backup, *data_of(tmp_path / "place" / "again"))
    assert (left.code, "is not as it was written" in left.err) == (1, True)


def test_a_backup_of_a_newer_program_is_refused(backup: Path) -> None:
    """Tables that this version does not know are not touched; the message names both versions."""
    manifest = read_manifest(backup)
    clinic = manifest.databases["clinic"]
    newer = type(clinic)(migrations=(*clinic.migrations, "clinic.0999_later"), rows=clinic.rows)
    told = {name: getattr(manifest, name) for name in manifest.__slots__}
    made = type(manifest)(
        **{**told, "program": "9.9.9", "databases": {**manifest.databases, "clinic": newer}}
    )
    with pytest.raises(FabellaError, match=r"made by Fabella 9\.9\.9, whose tables Fabella"):
        refuse_newer(made)
    refuse_newer(manifest)


def test_a_backup_of_a_version_with_fewer_databases_is_restored(backup: Path, tmp_path: Path) -> None:
    """What there was comes back, checked as ever; the database that came later is begun."""
    manifest = read_manifest(backup)
    (backup / "exams.sqlite3").unlink()
    files = {name: each for name, each in manifest.files.items() if name != "exams.sqlite3"}
    held = {name: each for name, each in manifest.databases.items() if name != "exams"}
    write_manifest(backup, replace(manifest, files=files, databases=held))
    assert call("restore", backup, *data_of(tmp_path / "again")).code == 0
    assert call("serve", "--check", *data_of(tmp_path / "again")).code == 0
    assert "The trail is whole" in call("drill", backup).out


def test_restoring_needs_a_new_place(backup: Path, tmp_path: Path) -> None:
    """A folder that holds anything, or a file, is refused untouched; without a place nothing is done."""
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "clinic.sqlite3").write_text("mine")
    assert "is not empty" in refused("restore", backup, *data_of(tmp_path / "full")).err
    assert (tmp_path / "full" / "clinic.sqlite3").read_text() == "mine"
    assert refused("restore", backup).code == 2
    assert refused("restore", backup, "--database-url", "postgresql:" + "//x/y").code == 2
    (tmp_path / "new").mkdir()
    assert call("restore", backup, *data_of(tmp_path / "new")).code == 0
