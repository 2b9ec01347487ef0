from pathlib import Path

import pytest
from django.db import connections
from django.db.migrations.recorder import MigrationRecorder

from fabella.errors import FabellaError, UsageError
from fabella.store.databases import databases
from fabella.store.preparing import prepare_databases
from fabella.store.router import ALIASES, NAMES
from tests.database import Cluster, using

SERVER = "postgresql:" + "//"


def test_each_database_is_a_file_of_its_own() -> None:
    """Without a URL there are four files in the folder."""
    entries = databases(Path("folder"))
    assert {alias: str(entries[alias]["NAME"]) for alias in ALIASES} == {
        "default": "folder/accounts.sqlite3",
        "clinic": "folder/clinic.sqlite3",
        "school": "folder/school.sqlite3",
        "exams": "folder/exams.sqlite3",
    }


def test_a_url_names_four_databases_of_one_server() -> None:
    """User, password, host, port and driver options come from the URL, with escapes undone."""
    entry = databases(Path(), SERVER + "us%40er:p%3Aw@db:5433/knee?sslmode=require")["clinic"]
    assert (entry["NAME"], entry["USER"], entry["PASSWORD"]) == ("knee_clinic", "us@er", "p:w")
    assert (entry["HOST"], entry["PORT"], entry["OPTIONS"]) == ("db", 5433, {"sslmode": "require"})


@pytest.mark.parametrize("url", ["knee", "mysql:" + "//db/knee", SERVER + "db", SERVER + "db:port/knee"])
def test_any_other_url_is_refused(url: str) -> None:
    """What is no URL of a PostgreSQL database is refused with the form it should have."""
    with pytest.raises(UsageError, match="none of a PostgreSQL database"):
        databases(Path(), url)


def test_a_kept_write_survives_a_loss_of_power(database: str) -> None:
    """SQLite writes ahead and waits for the disk at every commit; triggers hear of replaced rows."""
    with connections["clinic"].cursor() as cursor:
        if database == "postgresql":
            cursor.execute("SHOW synchronous_commit")
            assert cursor.fetchone() == ("on",)
            return
        for pragma, expected in (("journal_mode", "wal"), ("synchronous", 2), ("recursive_triggers", 1)):
            cursor.execute(f"PRAGMA {pragma}")
            assert cursor.fetchone() == (expected,)


@pytest.mark.usefixtures("database")
def test_a_clinic_of_an_earlier_version_is_brought_along() -> None:
    """Where the table that came last is not there yet, it is made as it was, triggers and all."""
    clinic, last = connections["clinic"], "clinic_measuredpicture"

    def kept() -> tuple[set[str], set[tuple[str, str]]]:
        return triggers_of(last), set(MigrationRecorder(clinic).applied_migrations())

    before = kept()
    with clinic.cursor() as cursor:
        cursor.execute(f"DROP TABLE {last}")
    MigrationRecorder(clinic).record_unapplied("clinic", "0005_measured_pictures")
    assert last not in clinic.introspection.table_names()
    prepare_databases()
    assert last in clinic.introspection.table_names()
    assert kept() == before
    assert before[0]


def triggers_of(table: str) -> set[str]:
    """The names of the triggers of a table of the clinic."""
    with connections["clinic"].cursor() as cursor:
        cursor.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = %s"
            if connections["clinic"].vendor == "sqlite"
            else "SELECT tgname FROM pg_trigger WHERE tgrelid = CAST(%s AS regclass) AND NOT tgisinternal",
            [table],
        )
        return {name for (name,) in cursor.fetchall()}


def test_missing_databases_are_all_named_with_the_remedy(postgresql: Cluster) -> None:
    """A server without our databases gives one message with a command for each of them."""
    with using(databases(Path(), postgresql.url("absent"))), pytest.raises(FabellaError) as refused:
        prepare_databases()
    for name in (f"absent_{each}" for each in NAMES.values()):
        assert f"createdb {name}" in str(refused.value)
