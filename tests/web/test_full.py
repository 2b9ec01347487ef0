"""A disk that is full: what was not kept is said so, in plain words, and what was there stays."""

import resource
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest
from django.db import OperationalError, connections
from django.test import Client

from fabella.store.backup.taking import back_up_files, backups_in
from fabella.store.clinic.models import Patient
from fabella.web import visitor
from tests.web.clinic import add
from tests.web.hands import COMMAND, data_of

NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)


def with_room(room_bytes: int, *arguments: object) -> tuple[int, str]:
    """Run a command that can write no longer file; return its exit code and what it complained of."""

    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (room_bytes, resource.RLIM_INFINITY))

    command = [sys.executable, "-c", COMMAND, *map(str, arguments)]
    left = subprocess.run(command, preexec_fn=limit, capture_output=True, text=True, check=False, timeout=120)
    assert "Traceback" not in left.stderr
    assert "fault of Fabella" not in left.stderr
    return left.returncode, left.stderr


@pytest.mark.parametrize("room_kb", [2, 90])
def test_a_start_without_room_is_told_and_finished_by_the_next(tmp_path: Path, room_kb: int) -> None:
    """The message names the database that cannot be made ready; with room again it is."""
    code, said = with_room(room_kb * 1024, "serve", "--check", *data_of(tmp_path))
    assert (code, ".sqlite3: cannot be made ready, and stays as it was: " in said) == (1, True)
    assert with_room(10**9, "serve", "--check", *data_of(tmp_path)) == (0, "")


def test_a_backup_without_room_leaves_the_earlier_ones(clinic: Path, tmp_path: Path) -> None:
    """The message names what could not be copied and where to; nothing half is left, nothing removed."""
    to = tmp_path / "backups"
    made, _ = back_up_files(clinic, to, key=None, now=NOW)
    code, said = with_room(100_000, "backup", to, "--keep", 1, *data_of(clinic))
    assert (code, f"cannot be copied into {to}: " in said) == (1, True)
    assert (list(to.iterdir()), backups_in(to)) == ([made], (made,))


def test_what_a_full_disk_did_not_keep_is_said_so(client: Client) -> None:
    """A page and a request of a script are answered as such, not as a fault; with room again it goes on."""
    with connections["clinic"].cursor() as cursor:
        cursor.execute("PRAGMA max_page_count = 1")  # no page more than there are
        try:
            answers = [
                client.post("/patients/new/", {"number": f"K-{number}", "label": "Ida Invented " * 15})
                for number in range(60)
            ]
        finally:
            cursor.execute("PRAGMA max_page_count = 1000000")
    assert {each.status_code for each in answers} == {302, 503}
    assert "its disk may be full. This was not kept" in answers[-1].content.decode()
    add(client, number="K-100")
    kept = sum(each.status_code == 302 for each in answers)
    assert Patient.objects.count() == kept + 1


@pytest.mark.parametrize(
    ("error", "says"),
    [
        ("database is locked", "Something else on the server holds its databases for too long."),
        ("connection refused", "its disk may be full. This was not kept"),
    ],
)
def test_where_nobody_can_be_known_because_a_database_is_away_that_is_said(
    client: Client, monkeypatch: pytest.MonkeyPatch, error: str, says: str
) -> None:
    """Before any page is asked for: it was told as a fault of ours, with a traceback in the log."""

    def away() -> bool:
        raise OperationalError(error)

    monkeypatch.setattr(visitor, "has_accounts", away)
    client.raise_request_exception = False
    page, script = client.get("/patients/"), client.get("/api/visits/1")
    assert (page.status_code, script.status_code) == (503, 503)
    assert says in page.content.decode()
    assert says in script.json()["error"]["message"]
