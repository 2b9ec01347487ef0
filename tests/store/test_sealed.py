"""Databases encrypted as whole files. Every other test of the store runs on such ones too."""

import shutil
from collections.abc import Callable, Iterator
from contextlib import closing
from hashlib import sha256
from pathlib import Path

import pytest
from django.db import connections

from fabella.errors import FabellaError
from fabella.store.clinic.charting import save
from fabella.store.clinic.verifying import verify
from fabella.store.databases import databases
from fabella.store.preparing import prepare_databases
from fabella.store.router import NAMES
from fabella.store.sealed import changing
from fabella.store.sealed.changing import change_secret, contents, decrypt, encrypt
from fabella.store.sealed.files import State, connect, files_in, is_sealed, state_of
from fabella.store.sealed.key import KEY_NAME, WRONG, draw_key, lock_key, unlock_key
from tests.database import SECRET, forget, fresh_sealed, fresh_sqlite, using
from tests.store.people import ANN, LACHMAN, NOW, batch, finding, new_patient, new_visit

TELLING = "Zuleika Findable"
"""A name that stands nowhere by chance."""


def write_about_somebody() -> int:
    """Add a patient and a visit with a finding, and return the visit."""
    visit = new_visit(patient=new_patient(label=TELLING))
    save(ANN, visit, batch(finding({**LACHMAN, "note": TELLING})), now=NOW)
    return visit


def holding(folder: Path, *words: str) -> set[str]:
    """The names of the files that hold any of these words."""
    return {
        path.name
        for path in folder.rglob("*")
        if path.is_file() and any(word.encode() in path.read_bytes() for word in words)
    }


def fingerprints(folder: Path) -> dict[str, str]:
    """Every file with a hash of its content, apart from the one that only tells who is at work."""
    return {
        path.name: sha256(path.read_bytes()).hexdigest() for path in folder.iterdir() if path.name != "in-use"
    }


def test_no_word_about_a_patient_can_be_read_in_any_file() -> None:
    """Neither the databases nor their logs hold a patient's name or finding; plain ones do."""
    with fresh_sqlite() as folder:
        write_about_somebody()
        assert holding(folder, TELLING) == {"clinic.sqlite3-wal"}
        connections.close_all()
        assert holding(folder, TELLING) == {"clinic.sqlite3"}
    with fresh_sealed() as folder:
        write_about_somebody()
        assert (folder / "clinic.sqlite3-wal").stat().st_size > 10_000
        assert holding(folder, TELLING, "lachman", "SQLite format", "clinic_patient") == set()
        with connections["clinic"].cursor() as cursor:  # the other kind of log, too
            cursor.execute("PRAGMA journal_mode=PERSIST")
        new_patient(number="K-2", label=TELLING)
        assert (folder / "clinic.sqlite3-journal").exists()
        assert holding(folder, TELLING, "lachman", "SQLite format", "clinic_patient") == set()
        connections.close_all()
        assert holding(folder, TELLING, "lachman", "SQLite format", "clinic_patient") == set()


@pytest.fixture
def folder(tmp_path: Path) -> Iterator[Path]:
    """A plain clinic with a patient in it, closed."""
    with fresh_sqlite() as made:
        write_about_somebody()
        connections.close_all()
        yield Path(shutil.copytree(made, tmp_path / "clinic"))


def test_encrypting_and_decrypting_keep_everything(folder: Path) -> None:
    """There and back every row is there, the trail is whole, and nothing of either kind is left over."""
    before = {}
    for path in files_in(folder):
        with closing(connect(path, None)) as connection:
            before[path.name] = contents(connection)
    names = {path.name for path in folder.iterdir()}
    encrypt(folder, SECRET)
    assert {state_of(path) for path in files_in(folder)} == {State.SEALED}
    assert {path.name for path in folder.iterdir()} == {*names, KEY_NAME}
    assert holding(folder, TELLING) == set()
    key = unlock_key(folder / KEY_NAME, SECRET)
    with using(databases(folder, key=key)):
        forget()
        prepare_databases()
        assert verify(ANN).faults == ()
        write_more = new_patient(number="K-9")
        assert write_more > 1
        connections.close_all()
    decrypt(folder, SECRET)
    assert {path.name for path in folder.iterdir()} == names
    with closing(connect(folder / "clinic.sqlite3", None)) as connection:
        after = contents(connection)
    assert after == {**before["clinic.sqlite3"], "clinic_patient": 2, "clinic_trace": after["clinic_trace"]}


@pytest.mark.parametrize("last", ["clinic.sqlite3", "school.sqlite3"])
@pytest.mark.parametrize("way", ["encrypt", "decrypt"])
def test_what_is_interrupted_goes_on_when_it_is_asked_for_again(
    folder: Path, monkeypatch: pytest.MonkeyPatch, way: str, last: str
) -> None:
    """Stopped before any one database, nothing opens half a clinic; the same command again finishes it."""
    work: Callable[[Path, bytes], None] = getattr(changing, way)
    if way == "decrypt":
        encrypt(folder, SECRET)
    exchange = changing._exchange

    def fails(path: Path, *keys: object) -> None:
        if path.name == last:
            raise KeyboardInterrupt
        exchange(path, *keys)  # type: ignore[arg-type]

    monkeypatch.setattr(changing, "_exchange", fails)
    with pytest.raises(KeyboardInterrupt):
        work(folder, SECRET)
    monkeypatch.setattr(changing, "_exchange", exchange)
    with pytest.raises(FabellaError, match=r"was interrupted\. Run the same fabella key command again"):
        is_sealed(folder)
    work(folder, SECRET)
    assert is_sealed(folder) is (way == "encrypt")


def test_another_passphrase_is_refused_before_anything_is_touched(folder: Path) -> None:
    """With another passphrase nothing opens and no file changes; with a new one the old opens nothing."""
    encrypt(folder, SECRET)
    before = fingerprints(folder)
    for wrong in (b"", b"nine brown otters dive ", b"\0" * 32):
        with pytest.raises(FabellaError, match=WRONG):
            decrypt(folder, wrong)
    assert fingerprints(folder) == before
    change_secret(folder, SECRET, b"another one altogether")
    with pytest.raises(FabellaError, match=WRONG):
        unlock_key(folder / KEY_NAME, SECRET)
    unlock_key(folder / KEY_NAME, b"another one altogether")
    assert {**fingerprints(folder), KEY_NAME: ""} == {**before, KEY_NAME: ""}


@pytest.mark.parametrize(
    ("gone", "says"),
    [
        ((KEY_NAME,), "cannot be read as a plain database, and key.json is not there"),
        (tuple(f"{name}.sqlite3" for name in NAMES.values()), "every database is missing beside key.json"),
    ],
)
def test_nothing_empty_is_made_beside_what_cannot_be_opened(
    folder: Path, gone: tuple[str, ...], says: str
) -> None:
    """Without the locked key, or without every database beside it, the folder is refused as it is."""
    encrypt(folder, SECRET)
    for name in gone:
        (folder / name).unlink()
    before = fingerprints(folder)
    with pytest.raises(FabellaError, match=says):
        is_sealed(folder)
    assert fingerprints(folder) == before


def test_a_database_under_another_key_is_one_message() -> None:
    """A database that another key encrypted is named, and no traceback is raised."""
    with fresh_sealed() as folder:
        connections.close_all()
        with using(databases(folder, key=draw_key())), pytest.raises(FabellaError) as refused:
            prepare_databases()
    assert str(refused.value).count("is damaged, or encrypted with another key") == len(NAMES)


@pytest.mark.parametrize(
    "text", ["", "{}", "[]", '{"format": "fabella.key/2", "locked": "00", "nonce": "00"}', "lanes"]
)
def test_a_damaged_key_is_told_from_a_wrong_passphrase(tmp_path: Path, text: str) -> None:
    """A file that holds no locked key is named; one whose head was altered opens for nobody."""
    path = tmp_path / KEY_NAME
    lock_key(draw_key(), path, SECRET)
    path.write_text(path.read_text().replace('"lanes": 4', '"lanes": 0') if text == "lanes" else text)
    with pytest.raises(FabellaError, match=r"key\.json: cannot be read"):
        unlock_key(path, SECRET)


def test_the_lock_vouches_for_its_head(tmp_path: Path) -> None:
    """A head that asks for less work than the key was locked with does not open it."""
    path = tmp_path / KEY_NAME
    lock_key(draw_key(), path, SECRET)
    path.write_text(path.read_text().replace('"passes": 3', '"passes": 1'))
    with pytest.raises(FabellaError, match=WRONG):
        unlock_key(path, SECRET)


def test_a_key_does_not_show_itself() -> None:
    """Neither the key nor the settings that hold it print it."""
    key = draw_key()
    assert key.raw.hex() not in repr(key)
    assert repr(key.raw) not in repr(databases(Path(), key=key))
