"""Sessions: how one begins, and when it is over."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.contrib.auth import login
from django.contrib.sessions.backends.base import SessionBase
from django.contrib.sessions.backends.db import SessionStore
from django.http import HttpRequest

from fabella.store.accounts.models import Account

IDLE = timedelta(minutes=60)
"""After this long without a request a session ends (judgement: a clinic's longest pause at one screen)."""

LONGEST = timedelta(hours=12)
"""After this long it ends though it is used (judgement: a working day)."""

SIGNED_ON = "sign_on"
"""What a session remembers of the hospital's sign-on: what that calls the person."""

_BEGAN, _SEEN = "began", "seen"
_NOTED_EVERY = timedelta(minutes=5)  # a session is not written anew at every request


def begin_session(
    request: HttpRequest, account: Account, *, now: datetime, signed_on: str | None = None
) -> None:
    """Let a person in, in this browser; ``signed_on`` is what the hospital's sign-on calls them."""
    login(request, account)
    request.session[_BEGAN] = now.isoformat()
    request.session.pop(SIGNED_ON, None)
    if signed_on is not None:
        request.session[SIGNED_ON] = signed_on


def has_ended(session: SessionBase, account: Account, *, now: datetime) -> bool:
    """Say whether a session is over, and end it then; note now and then that it lives.

    It is over when it was left alone for too long, is too old, or came by a sign-on that no longer leads to
    the account.
    """
    began, seen = _moment(session, _BEGAN, now), _moment(session, _SEEN, now)
    # A clock that was set back keeps no session alive.
    is_old = abs(now - began) > LONGEST or abs(now - seen) > IDLE
    if is_old or session.get(SIGNED_ON, account.sign_on) != account.sign_on:
        session.flush()
        return True
    if _SEEN not in session or abs(now - seen) > _NOTED_EVERY:
        session[_SEEN] = now.isoformat()
        session.setdefault(_BEGAN, session[_SEEN])  # of a version that did not note it
    return False


def clear_old_sessions() -> None:
    """Let the database forget sessions that are too old to be gone on with, so that no backup keeps them."""
    SessionStore.clear_expired()


def _moment(session: SessionBase, name: str, now: datetime) -> datetime:
    written = session.get(name)
    return now if written is None else datetime.fromisoformat(written)
