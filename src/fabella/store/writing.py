"""One writer at a time, in one transaction: threads that fight for a database lock wait far longer."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta

from django.db import connections, transaction

from fabella.store.router import ALIASES

_LOCKS = {alias: threading.Lock() for alias in ALIASES}
ONE_PRESS = timedelta(seconds=10)
"""Calling for the same again within this, before anything was done, is one wish (judgement)."""

ADVISORY = 0x0FABE11A
"""What writers on a PostgreSQL server wait for: any number, always the same."""


@contextmanager
def writing(alias: str) -> Iterator[None]:
    """Hold the one right to write to a database; everything within is kept together or not at all.

    Other threads wait at a lock of the process. Other processes wait at the database's own: SQLite takes it
    when the transaction begins, PostgreSQL is asked for it here, so that a chain of hashes cannot fork.
    """
    with _LOCKS[alias], transaction.atomic(using=alias, durable=True):
        connection = connections[alias]
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("SELECT pg_advisory_xact_lock(%s)", [ADVISORY])
        yield
