"""Tables that the databases themselves keep from being changed: rows are added, and that is all."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Kept:
    """A table that is only added to, what a refusal calls it, and what makes two of its rows the same.

    ``same`` compares the row that stands, ``kept``, with ``NEW``; empty when only the id does.
    """

    table: str
    words: str
    same: str = ""

    def sqlite(self) -> Iterator[str]:
        """Yield its triggers.

        A row that would take the place of another is refused too: by default no trigger hears of that.
        """
        refuse = f"BEGIN SELECT RAISE(ABORT, '{self.words}: only ever added to'); END"
        for event in ("UPDATE", "DELETE"):
            yield f"CREATE TRIGGER {self.table}_no_{event.lower()} BEFORE {event} ON {self.table} {refuse}"
        also = f" OR {self.same}" if self.same else ""
        same = f"SELECT 1 FROM {self.table} kept WHERE kept.id = NEW.id{also}"  # noqa: S608  tables of ours
        head = f"CREATE TRIGGER {self.table}_no_replace BEFORE INSERT ON {self.table}"
        yield f"{head} WHEN EXISTS ({same}) {refuse}"

    def postgresql(self, function: str) -> Iterator[str]:
        """Yield its trigger, which calls a `refusal`."""
        yield (
            f"CREATE TRIGGER {self.table}_kept BEFORE UPDATE OR DELETE OR TRUNCATE ON {self.table} "
            f"FOR EACH STATEMENT EXECUTE FUNCTION {function}('{self.words}')"
        )


def refusal(function: str) -> str:
    """Return what makes a function of PostgreSQL that refuses; a database needs one."""
    return (
        f"CREATE OR REPLACE FUNCTION {function}() RETURNS trigger LANGUAGE plpgsql "
        "AS $$ BEGIN RAISE EXCEPTION '%: only ever added to', TG_ARGV[0]; END $$"
    )


def forbid_changes(editor: Any, tables: Iterable[Kept], *, function: str) -> None:
    """Add the triggers of tables, those that fit the database."""
    if editor.connection.vendor == "sqlite":
        statements = [each for kept in tables for each in kept.sqlite()]
    else:
        statements = [refusal(function), *(each for kept in tables for each in kept.postgresql(function))]
    for statement in statements:
        editor.execute(statement, params=None)
