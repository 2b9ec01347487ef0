"""Where an account is logged in: its sessions that go on, and how they are ended from elsewhere."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from secrets import compare_digest

from django.contrib.auth import HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.base import SessionBase
from django.contrib.sessions.models import Session
from django.utils.crypto import salted_hmac

from fabella.store.accounts.models import Account
from fabella.web.sessions import Life, life_of


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggedIn:
    """One session. ``handle`` names it on a page, where the key by which one enters has no business.

    ``life`` says since when and by what; ``is_here`` whether it is the one of whoever asks.
    """

    handle: str
    life: Life
    is_here: bool


def logged_in(account: Account, here: SessionBase, *, now: datetime) -> tuple[LoggedIn, ...]:
    """Return where an account is logged in: here first, then what was used last."""
    found = [each for _, each in _sessions(account, here, now)]
    return tuple(sorted(found, key=lambda each: (not each.is_here, -each.life.seen.timestamp())))


def end_elsewhere(account: Account, here: SessionBase, *, now: datetime, handle: str = "") -> int:
    """End the session of a handle, without one all, but never the one here; return how many were ended."""
    keys = [
        key for key, each in _sessions(account, here, now) if not each.is_here and handle in {"", each.handle}
    ]
    ended, _ = Session.objects.filter(session_key__in=keys).delete()
    return ended


def _sessions(account: Account, here: SessionBase, now: datetime) -> Iterator[tuple[str, LoggedIn]]:
    """Yield the sessions of an account by key; the table knows no accounts, and a ward has few rows in it."""
    proof = account.get_session_auth_hash()
    for row in Session.objects.filter(expire_date__gt=now):
        kept = row.get_decoded()
        is_own = kept.get(SESSION_KEY) == str(account.pk)
        # One that was begun by an earlier password lets nobody in any more.
        if not is_own or not compare_digest(kept.get(HASH_SESSION_KEY, ""), proof):
            continue
        key, life = row.session_key, life_of(kept, now=now)
        if key == here.session_key or not life.is_over(account, now=now):
            handle = salted_hmac("fabella.logged_in", key).hexdigest()[:32]
            yield key, LoggedIn(handle=handle, life=life, is_here=key == here.session_key)
