from dataclasses import replace

import pytest
from django.db import DatabaseError, connections, transaction

from fabella.store.clinic.charting import save
from fabella.store.clinic.confirmation_models import Confirmation
from fabella.store.clinic.confirming import confirm
from fabella.store.clinic.models import Amendment, Entry, Paper, Signature, Trace
from fabella.store.clinic.picture_models import MeasuredPicture
from fabella.store.clinic.picturing import keep_picture
from fabella.store.clinic.signing import amend, sign
from fabella.store.clinic.verifying import verify
from fabella.store.router import CLINIC
from tests.store.drawn import ID, TAKEN
from tests.store.people import ANN, LAX, NOW, TODAY, batch, finding, new_visit

TABLES = [
    "clinic_entry",
    "clinic_amendment",
    "clinic_signature",
    "clinic_paper",
    "clinic_confirmation",
    "clinic_measuredpicture",
    "clinic_trace",
]


def run(statement: str) -> None:
    """Run a statement on the clinic's database, past everything that the program forbids."""
    with transaction.atomic(using=CLINIC), connections[CLINIC].cursor() as cursor:
        cursor.execute(statement)


@pytest.fixture
def visit(database: str) -> int:
    """A visit that was signed, amended, signed again and looked into: every table has rows."""
    assert database
    made = new_visit()
    save(ANN, made, batch(finding(LAX)), now=NOW)
    keep_picture(ANN, made, replace(TAKEN, finding=None), id_=ID, base=3, now=NOW)
    sign(ANN, made, version=3, addressee="", today=TODAY, now=NOW)
    amend(ANN, made, "a reason", now=NOW)
    sign(ANN, made, version=3, addressee="", today=TODAY, now=NOW)
    seen = {"side": "right", "on": str(TODAY), "method": "mri", "found": {"acl_tear": "absent"}}
    confirm(ANN, made, seen, today=TODAY, now=NOW)
    return made


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize("statement", ["UPDATE {} SET id = id", "DELETE FROM {}"])
def test_the_database_refuses_to_change_or_remove(visit: int, table: str, statement: str) -> None:
    """No SQL, however it reaches the database, changes or removes what is only ever added to."""
    with pytest.raises(DatabaseError, match="only ever added to"):
        run(statement.format(table))
    assert verify(ANN).faults == ()
    assert visit


@pytest.mark.parametrize("table", TABLES)
def test_the_database_refuses_to_replace(visit: int, database: str, table: str) -> None:
    """The short ways round UPDATE and DELETE are closed too: replacing a row, emptying a table."""
    statement = (
        f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}"  # noqa: S608  a table of ours
        if database != "postgresql"
        else f"TRUNCATE {table} CASCADE"
    )
    with pytest.raises(DatabaseError, match="only ever added to"):
        run(statement)
    assert verify(ANN).faults == ()
    assert visit


def test_the_database_takes_no_entry_on_a_signed_visit(visit: int) -> None:
    """Even a program that forgot to ask cannot add an entry after the signature."""
    row = Entry.objects.get(visit=visit, version=3)
    row.id, row.version, row.operation = None, 4, "slipped-in-later-1"  # type: ignore[assignment]
    with pytest.raises(DatabaseError, match="a signed examination takes no entries"):
        row.save(force_insert=True)


def test_a_visit_with_entries_and_its_patient_cannot_be_removed(visit: int) -> None:
    """What hangs on a visit or a patient holds them fast."""
    for statement in (f"DELETE FROM clinic_visit WHERE id = {visit}", "DELETE FROM clinic_patient"):  # noqa: S608
        with pytest.raises(DatabaseError):
            run(statement)


def test_every_table_that_must_not_change_is_tested() -> None:
    """The tables of this file are those of the models that are only ever added to."""
    assert [
        each._meta.db_table
        for each in (Entry, Amendment, Signature, Paper, Confirmation, MeasuredPicture, Trace)
    ] == TABLES
