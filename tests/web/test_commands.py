"""The commands that open accounts and make a server ready."""

import stat
from pathlib import Path

import pytest
from django.conf import settings

from tests.cli.running import Left, call

PHRASE = b"seven grey herons wade\n"


pytestmark = pytest.mark.usefixtures("own_databases")


def fabella(*arguments: str, stdin: bytes = b"") -> Left:
    """Run the command."""
    return call(*arguments, stdin=stdin)


def test_an_account_is_opened_listed_and_closed(tmp_path: Path) -> None:
    """With a password on standard input an account is opened; the list tells what it is for."""
    data = ("--data", str(tmp_path))
    who = ("ann", "--role", "clinician", "--shown", "Dr Ann")
    assert fabella("account", "list", *data).out == "There is no account.\n"
    assert fabella("account", "add", *who, *data, stdin=PHRASE) == Left(0, "ann may enter.\n", "")
    assert fabella("account", "list", *data).out == "ann  Dr Ann  clinician  knee\n"
    assert fabella("account", "close", "ann", *data).out == "ann may not enter any more.\n"
    assert fabella("account", "list", *data).out == "ann  Dr Ann  clinician  knee  closed\n"
    assert fabella("account", "password", "ann", *data, stdin=PHRASE).out == "ann has another password.\n"


def test_what_is_wrong_with_an_account_is_one_message(tmp_path: Path) -> None:
    """A weak password and a missing role are refused together; a missing name is a usage error."""
    left = fabella("account", "add", "ann", "--data", str(tmp_path), stdin=b"short\n")
    assert (left.code, left.out) == (1, "")
    assert "password:" in left.err
    assert "role: is missing" in left.err
    assert fabella("account", "add", "--data", str(tmp_path)).code == 2


def test_a_server_that_others_can_reach_waits_for_an_account(tmp_path: Path) -> None:
    """Bound to every address without an account, the server says how to open one and does not start."""
    left = fabella("serve", "--host", "0.0.0.0", "--check", "--data", str(tmp_path))  # noqa: S104
    assert (left.code, left.out) == (2, "")
    assert "fabella account add NAME --role clinician" in left.err


def test_the_invented_clinic_is_ready_after_one_command(tmp_path: Path) -> None:
    """With --demo an empty folder is filled before the address is told."""
    left = fabella("serve", "--demo", "--check", "--data", str(tmp_path))
    assert left.code == 0
    assert left.out.startswith("Ready: ")
    assert {path.name for path in tmp_path.glob("*.sqlite3")} == {
        "accounts.sqlite3",
        "clinic.sqlite3",
        "exams.sqlite3",
        "school.sqlite3",
    }


def test_a_server_is_started_with_a_letterhead(tmp_path: Path) -> None:
    """Its lines head what the pages write; a file that is none is refused before anything is made."""
    head, data = tmp_path / "head.txt", tmp_path / "clinic"
    head.write_text("a\n" * 7, "utf-8")
    left = fabella("serve", "--check", "--letterhead", str(head), "--data", str(data))
    assert (left.code, "up to 6 lines" in left.err, data.exists()) == (2, True, False)
    head.write_text("Knee Clinic of Nowhere\n1 Made-up Lane\n", "utf-8")
    assert fabella("serve", "--check", "--letterhead", str(head), "--data", str(data)).code == 0
    assert settings.FABELLA.letterhead == ("Knee Clinic of Nowhere", "1 Made-up Lane")


def test_data_and_secret_are_for_their_owner_only(tmp_path: Path) -> None:
    """Folder and secret that the server makes can be read by nobody else; the secret stays the same."""
    folder = tmp_path / "clinic"
    assert fabella("serve", "--check", "--data", str(folder)).code == 0
    secret = (folder / "secret").read_text()
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert stat.S_IMODE((folder / "secret").stat().st_mode) == 0o600
    assert len(secret) >= 64
    fabella("serve", "--check", "--data", str(folder))
    assert (folder / "secret").read_text() == secret


def test_a_data_folder_that_cannot_be_is_refused(tmp_path: Path) -> None:
    """A file in place of the folder gives one message, not a traceback."""
    (tmp_path / "taken").write_text("")
    left = fabella("serve", "--check", "--data", str(tmp_path / "taken"))
    assert (left.code, left.out) == (2, "")
    assert "cannot be the data folder" in left.err


@pytest.mark.parametrize("url", ["knees", "postgresql:" + "//[::1/knees", "postgresql:" + "//h:port/knees"])
def test_a_url_that_is_none_is_refused(tmp_path: Path, url: str) -> None:
    """A database URL of another kind is a usage error that shows the form it should have."""
    left = fabella("serve", "--check", "--data", str(tmp_path), "--database-url", url)
    assert (left.code, left.out) == (2, "")
    assert "none of a PostgreSQL database" in left.err


def test_a_secret_that_was_never_finished_is_made_again(tmp_path: Path) -> None:
    """A first start that was cut off leaves an empty file: the next one is not shut out by it."""
    (tmp_path / "secret").touch()
    assert fabella("serve", "--check", "--data", str(tmp_path)).code == 0
    assert (tmp_path / "secret").stat().st_size > 0
    assert stat.S_IMODE((tmp_path / "secret").stat().st_mode) == 0o600


def test_another_file_in_the_place_of_the_secret_is_refused_by_name(tmp_path: Path) -> None:
    """It is neither used nor replaced; the message says what to do."""
    (tmp_path / "secret").write_bytes(bytes(range(256)))
    left = fabella("serve", "--check", "--data", str(tmp_path))
    assert (left.code, left.out) == (2, "")
    assert "put it back, or remove it" in left.err
    assert (tmp_path / "secret").read_bytes() == bytes(range(256))


_LOCK = '{"format": "fabella.key/1", "salt": "0011223344556677", "nonce": "00", "locked": "00", "lanes": 1, '
KEYS = {
    "nested": "[" * 100_000,
    "too long": _LOCK + '"passes": ' + "9" * 40 + ', "memory_kib": 8}',
    "too short": _LOCK + '"passes": 1, "memory_kib": 8}',
}


@pytest.mark.parametrize("kept", KEYS.values(), ids=KEYS)
def test_a_damaged_key_is_told_as_one(tmp_path: Path, kept: str) -> None:
    """Whatever stands in its file, the message says to put it back."""
    assert fabella("key", "encrypt", "--data", str(tmp_path), stdin=PHRASE).code == 0
    (tmp_path / "key.json").write_text(kept)
    left = fabella("key", "check", "--data", str(tmp_path), stdin=PHRASE)
    assert left.code == 1
    assert "key.json: cannot be read as fabella.key/1; put it back from a backup" in left.err


def test_a_password_that_is_no_text_is_refused(tmp_path: Path) -> None:
    """Nothing is encrypted or opened by what would never be typed again."""
    spoilt = b"nine brown \xff\xfe otters dive\n"
    for asked in (("account", "add", "ann", "--role", "teacher"), ("key", "encrypt")):
        left = fabella(*asked, "--data", str(tmp_path), stdin=spoilt * 2)
        assert (left.code, "not UTF-8 text; write it in UTF-8" in left.err) == (1, True)
    assert not (tmp_path / "key.json").exists()
    assert fabella("account", "list", "--data", str(tmp_path)).out == "There is no account.\n"


def test_an_account_of_a_strange_name_is_not_there(tmp_path: Path) -> None:
    """A name that is no text is like any other that nobody has."""
    left = fabella("account", "close", "\udcff", "--data", str(tmp_path))
    assert (left.code, "there is no account" in left.err) == (1, True)
