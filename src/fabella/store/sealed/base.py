"""The framework's SQLite, opened with a key: everything else is its own."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, datetime
from decimal import Decimal
from itertools import chain
from typing import Any

import sqlcipher3.dbapi2 as Database  # noqa: N812  what the framework calls it
from django.db.backends.sqlite3 import base as plain
from django.utils.dateparse import parse_date, parse_datetime, parse_time

from fabella.store.sealed.files import unlock
from fabella.store.sealed.key import DataKey


def _reads(parse: Callable[[str], Any]) -> Callable[[bytes], Any]:
    return lambda stored: parse(stored.decode())


# As the framework does for its own engine.
Database.register_converter("bool", b"1".__eq__)
Database.register_converter("date", _reads(parse_date))
Database.register_converter("time", _reads(parse_time))
Database.register_converter("datetime", _reads(parse_datetime))
Database.register_converter("timestamp", _reads(parse_datetime))
Database.register_adapter(Decimal, str)
Database.register_adapter(date, date.isoformat)
Database.register_adapter(datetime, lambda moment: moment.isoformat(" "))


class DatabaseWrapper(plain.DatabaseWrapper):
    """An encrypted database; ``OPTIONS`` holds its ``key``."""

    Database = Database
    init_commands: list[str]
    _key: DataKey

    def get_connection_params(self) -> dict[str, Any]:
        """Return what a connection is made with, apart from the key."""
        params: dict[str, Any] = super().get_connection_params()
        self._key = params.pop("key")
        return params

    def get_new_connection(self, conn_params: dict[str, Any]) -> Any:
        """Return a connection, set up as the framework sets up its own, but first given its key."""
        connection = Database.connect(**conn_params)
        unlock(connection, self._key)
        plain.register_functions(connection)  # type: ignore[attr-defined]  # the stubs leave it out
        fixed = ("PRAGMA foreign_keys = ON", "PRAGMA legacy_alter_table = OFF")
        for command in chain(fixed, map(str.strip, self.init_commands)):
            if command:
                connection.execute(command)
        return connection

    def create_cursor(self, name: str | None = None) -> Any:
        """Return a cursor."""
        del name
        return self.connection.cursor(factory=_Cursor)


class _Cursor(Database.Cursor):  # type: ignore[misc]  # it has no types
    """Takes placeholders as the framework writes them."""

    convert_query = plain.SQLiteCursorWrapper.convert_query

    def execute(self, query: str, params: Any = None) -> Any:
        if params is None:
            return super().execute(query)
        return super().execute(self._converted(query, params), params)

    def executemany(self, query: str, param_list: Any) -> Any:
        rows = list(param_list)
        return super().executemany(self._converted(query, rows[0] if rows else ()), rows)

    def _converted(self, query: str, params: Any) -> Any:
        names = list(params) if isinstance(params, Mapping) else None
        return self.convert_query(query, param_names=names)
