"""Passwords are hashed a few at a time: each takes 100 MB, which all threads together might not have."""

from __future__ import annotations

import threading

from django.contrib.auth import authenticate
from django.http import HttpRequest

from fabella.store.accounts.models import Account

AT_ONCE = 4

hashing = threading.BoundedSemaphore(AT_ONCE)
"""Held by whoever hashes one."""


def knows_password(request: HttpRequest, name: str, password: str) -> Account | None:
    """Return the open account of a name, for whoever knows its password; None for everybody else."""
    with hashing:
        account = authenticate(request, username=name, password=password)
    return account if isinstance(account, Account) else None
