"""The commands that open accounts and make a server ready."""

import stat
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.cli.running import Left, call
from tests.database import fresh_sqlite

PHRASE = b"seven grey herons wade\n"


@pytest.fixture(autouse=True)
def _databases() -> Iterator[None]:
    """The commands point this process at other databases; afterwards it points at its own again."""
    with fresh_sqlite():
        yield
    with fresh_sqlite():
        pass


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


def test_a_url_that_is_none_is_refused(tmp_path: Path) -> None:
    """A database URL of another kind is a usage error that shows the form it should have."""
    left = fabella("serve", "--check", "--data", str(tmp_path), "--database-url", "knees")
    assert (left.code, left.out) == (2, "")
    assert "none of a PostgreSQL database" in left.err
