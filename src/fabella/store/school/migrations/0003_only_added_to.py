"""The database itself refuses to change or remove a practice run."""

from collections.abc import Iterator, Mapping
from typing import Any, ClassVar

from django.db import migrations

SAME = {
    "school_practicerun": "",
    "school_practiceevent": (
        " OR (kept.run_id = NEW.run_id AND (kept.number = NEW.number OR kept.key = NEW.key))"
    ),
    "school_practicelesson": " OR kept.run_id = NEW.run_id",
}
"""Every table, and what makes two of its rows the same besides their id."""

WORDS = "practice: only ever added to"

_FUNCTION = (
    "CREATE FUNCTION school_only_added_to() RETURNS trigger LANGUAGE plpgsql "
    f"AS $$ BEGIN RAISE EXCEPTION '{WORDS}'; END $$"
)


def statements(vendor: str) -> Iterator[str]:
    """Yield what makes the tables ones that are only added to, on this kind of database."""
    if vendor != "sqlite":
        yield _FUNCTION
    yield from guards(vendor, SAME)


def guards(vendor: str, tables: Mapping[str, str]) -> Iterator[str]:
    """Yield the triggers of tables; later migrations add theirs by it."""
    for table, same in tables.items():
        yield from _sqlite(table, same) if vendor == "sqlite" else _postgresql(table)


def _sqlite(table: str, same: str) -> Iterator[str]:
    refuse = f"BEGIN SELECT RAISE(ABORT, '{WORDS}'); END"
    for event in ("UPDATE", "DELETE"):
        yield f"CREATE TRIGGER {table}_no_{event.lower()} BEFORE {event} ON {table} {refuse}"
    known = f"SELECT 1 FROM {table} kept WHERE kept.id = NEW.id{same}"  # noqa: S608  a table of ours
    head = f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table}"
    yield f"{head} WHEN EXISTS ({known}) {refuse}"


def _postgresql(table: str) -> Iterator[str]:
    yield (
        f"CREATE TRIGGER {table}_kept BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
        "FOR EACH STATEMENT EXECUTE FUNCTION school_only_added_to()"
    )


def forbid_changes(_: Any, editor: Any) -> None:
    """Add the triggers that fit the database."""
    for statement in statements(editor.connection.vendor):
        editor.execute(statement, params=None)


class Migration(migrations.Migration):
    """Triggers that stay for good: there is no way back."""

    dependencies: ClassVar = [("school", "0002_runs")]
    operations: ClassVar = [migrations.RunPython(forbid_changes, elidable=False)]
