"""The commands on encrypted databases, as somebody at a terminal or a script meets them."""

from pathlib import Path

import pytest

from tests.cli.running import call
from tests.web.hands import Browser, Server, data_of, running

PASSPHRASE = b"nine brown otters dive\n"
PASSWORD = b"seven grey herons wade\n"


pytestmark = pytest.mark.usefixtures("own_databases")


def test_a_clinic_is_encrypted_used_changed_and_decrypted(tmp_path: Path) -> None:
    """From the first command to the last, the passphrase or key file opens it and nothing else does."""
    data, key_file = data_of(tmp_path / "clinic"), tmp_path / "key"
    assert call("key", "encrypt", *data, stdin=PASSPHRASE).code == 0
    opened = call("account", "add", "ann", "--role", "clinician", *data, stdin=PASSPHRASE + PASSWORD)
    assert (opened.code, opened.out) == (0, "ann may enter.\n")
    for wrong, says in ((b"nine brown otters\n", "does not open"), (b"", "name their key file")):
        left = call("account", "list", *data, stdin=wrong)
        assert (left.code, left.out, says in left.err) == (1, "", True)
    assert call("key", "change", "--new-key-file", key_file, *data, stdin=PASSPHRASE).code == 0
    assert key_file.stat().st_mode & 0o077 == 0
    assert call("account", "list", *data, stdin=PASSPHRASE).code == 1
    assert "ann" in call("account", "list", "--key-file", key_file, *data).out
    assert call("key", "encrypt", "--key-file", key_file, *data).code == 2
    assert call("key", "decrypt", "--key-file", key_file, *data).code == 0
    assert "ann" in call("account", "list", *data).out
    assert "not encrypted" in call("key", "check", *data).out
    assert call("key", "decrypt", *data).code == 2


def test_a_server_serves_an_encrypted_clinic_and_nobody_exchanges_it_meanwhile(tmp_path: Path) -> None:
    """Given its key file, a server saves and shows as ever; to encrypt or decrypt has to wait for its end."""
    data, key_file = data_of(tmp_path / "clinic"), tmp_path / "key"
    assert call("key", "encrypt", "--key-file", key_file, *data).code == 0
    with running(*data, "--key-file", str(key_file)) as server:
        browser = Browser(server.port)
        browser.new_visit(1)
        assert b"Invented 1" in browser.ask("GET", "/patients/1/")[2]
        browser.close()
        left = call("key", "decrypt", "--key-file", key_file, *data)
        assert (left.code, "is at work there" in left.err) == (1, True)
    assert call("key", "decrypt", "--key-file", key_file, *data).code == 0


def test_a_server_without_the_key_does_not_start_and_makes_nothing(tmp_path: Path) -> None:
    """Without passphrase or key file the server ends with one message, and the folder is as it was."""
    data = data_of(tmp_path / "clinic")
    assert call("key", "encrypt", *data, stdin=PASSPHRASE).code == 0
    before = sorted(path.name for path in (tmp_path / "clinic").iterdir())
    with pytest.raises(RuntimeError, match="the databases are encrypted: name their key file") as refused:
        Server(*data, environment={"FABELLA_KEY_FILE": ""})
    assert "Traceback" not in str(refused.value)
    assert sorted(path.name for path in (tmp_path / "clinic").iterdir()) == before


def test_what_protects_nothing_is_refused(tmp_path: Path) -> None:
    """A short passphrase, a short key file, and a key file beside the databases are refused with a remedy."""
    data, short = data_of(tmp_path / "clinic"), tmp_path / "short"
    short.write_text("short")
    for options, typed, code, says in (
        ((), b"short\n", 1, "passphrase: is too short; take at least 12 characters"),
        (("--key-file", str(short)), b"", 1, "is too short; take at least 32 bytes"),
        (("--key-file", str(tmp_path / "clinic" / "key")), b"", 2, "keep it elsewhere"),
        (("--new-key-file", str(short)), b"", 2, "belongs to change"),
    ):
        left = call("key", "encrypt", *options, *data, stdin=typed)
        assert (left.code, says in left.err) == (code, True), options
    assert "not encrypted" in call("key", "check", *data).out
