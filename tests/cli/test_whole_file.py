"""Files that commands write: whole or not at all, and anything that is no file as it is."""

import os
import resource
import stat
import subprocess
import sys
from pathlib import Path
from threading import Thread
from typing import Any

import pytest

from fabella.cli.whole_file import write_whole
from tests.cli.running import call

LEAST_BYTES = 10_000
"""The schema that is written here is longer."""


@pytest.fixture(scope="module")
def schema() -> str:
    """What is written."""
    text = call("schema").out
    assert len(text) > LEAST_BYTES
    return text


def test_a_file_keeps_its_permissions_and_a_link_stays_one(tmp_path: Path, schema: str) -> None:
    """Written through a link, the file that it leads to changes and may be read by whom it could before."""
    file, link = tmp_path / "mine.json", tmp_path / "link.json"
    file.write_text("mine", "utf-8")
    file.chmod(0o640)
    link.symlink_to(file)
    assert call("schema", "--out", link).code == 0
    assert link.is_symlink()
    assert (file.read_text("utf-8"), stat.S_IMODE(file.stat().st_mode)) == (schema, 0o640)
    assert sorted(tmp_path.iterdir()) == [link, file]


def test_a_new_file_is_as_open_as_any_other(tmp_path: Path) -> None:
    """What was not there has the permissions that the shell's mask leaves."""
    (tmp_path / "other").touch()
    call("schema", "--out", tmp_path / "new.json")
    assert (tmp_path / "new.json").stat().st_mode == (tmp_path / "other").stat().st_mode


def test_a_file_that_cannot_be_written_whole_stays_as_it_was(tmp_path: Path) -> None:
    """When the disk takes no more, the old file is untouched and nothing lies beside it."""
    file = tmp_path / "mine.json"
    file.write_text("mine", "utf-8")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (LEAST_BYTES, hard))
    try:
        left = call("schema", "--out", file)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert left.code == 2
    assert f"cannot write {file}" in left.err
    assert file.read_text("utf-8") == "mine"
    assert list(tmp_path.iterdir()) == [file]


def test_a_pipe_is_written_to_and_stays_a_pipe(tmp_path: Path, schema: str) -> None:
    """Whoever reads the other end of a named pipe gets all of it."""
    pipe, got = tmp_path / "pipe.json", list[str]()
    os.mkfifo(pipe)
    reader = Thread(target=lambda: got.append(pipe.read_text("utf-8")), daemon=True)
    reader.start()
    assert call("schema", "--out", pipe).code == 0
    reader.join(timeout=20)
    assert got == [schema]
    assert pipe.is_fifo()


def test_standard_output_can_be_named_as_a_file(tmp_path: Path, schema: str) -> None:
    """Piped or sent into a file, what goes to /dev/stdout arrives, before what is written there later."""
    command = [sys.executable, "-m", "fabella", "schema", "--out", "/dev/stdout"]
    piped = subprocess.run(command, capture_output=True, check=True)
    assert piped.stdout.decode() == schema
    with (tmp_path / "both.txt").open("ab") as both:
        subprocess.run(command, stdout=both, check=True)
        both.write(b"later")
    assert (tmp_path / "both.txt").read_text("utf-8") == schema + "later"


def test_a_dash_is_standard_output(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """As it is standard input where something is read: no file of that name is made."""
    monkeypatch.chdir(tmp_path)
    assert call("schema", "--out", "-") == call("schema")
    assert list(tmp_path.iterdir()) == []


def test_a_file_in_a_folder_that_may_not_be_written_to_is_written_where_it_lies(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing can be put beside it, so that it is written in its place: the superuser may do everything."""
    file, real = tmp_path / "mine.json", Path.open

    def refused(path: Path, *arguments: Any, **more: Any) -> Any:
        if path.name.startswith(".fabella-"):
            raise PermissionError(13, "Permission denied")
        return real(path, *arguments, **more)

    monkeypatch.setattr(Path, "open", refused)
    write_whole(file, b"all of it")
    assert file.read_bytes() == b"all of it"


def test_a_file_of_somebody_else_that_may_be_written_to_stays_theirs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where its owner cannot be kept by an exchange, the file itself is written to."""
    file = tmp_path / "theirs.json"
    file.write_bytes(b"as it was")
    node = file.stat().st_ino

    def refused(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "chown", refused)
    write_whole(file, b"all of it")
    assert (file.read_bytes(), file.stat().st_ino, list(tmp_path.iterdir())) == (b"all of it", node, [file])
