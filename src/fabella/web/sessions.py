"""Sessions: how one begins, and when it is over."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth import login
from django.contrib.sessions.backends.base import SessionBase, UpdateError
from django.contrib.sessions.backends.db import SessionStore
from django.http import HttpRequest

from fabella.store.accounts.models import Account
from fabella.web.browsers import browser_words

log = logging.getLogger(__name__)

IDLE = timedelta(minutes=60)
"""After this long without a request a session ends (judgement: a clinic's longest pause at one screen)."""

LONGEST = timedelta(hours=12)
"""After this long it ends though it is used (judgement: a working day)."""

SIGNED_ON = "sign_on"
"""What a session remembers of the hospital's sign-on: what that calls the person."""

_BEGAN, _SEEN, _BROWSER = "began", "seen", "browser"
_NOTED_EVERY = timedelta(minutes=5)  # a session is not written anew at every request


@dataclass(frozen=True, slots=True, kw_only=True)
class Life:
    """How a session has been used so far.

    ``seen`` is when it was used last, but for what is not noted. ``browser`` says in words by what kind;
    empty for what was begun by a version that did not note it. ``signed_on`` is what the hospital's sign-on
    called the person, None without it.
    """

    began: datetime
    seen: datetime
    browser: str
    signed_on: str | None

    def is_over(self, account: Account, *, now: datetime) -> bool:
        """Say whether it was left alone too long, is too old, or came by a sign-on of somebody else."""
        # A clock that was set back keeps no session alive.
        is_old = abs(now - self.began) > LONGEST or abs(now - self.seen) > IDLE
        return is_old or (self.signed_on is not None and self.signed_on != account.sign_on)


def life_of(kept: Mapping[str, Any] | SessionBase, *, now: datetime) -> Life:
    """Return how a session has been used; what was not noted yet is now."""
    began, seen = (_moment(kept.get(each), now) for each in (_BEGAN, _SEEN))
    return Life(began=began, seen=seen, browser=kept.get(_BROWSER, ""), signed_on=kept.get(SIGNED_ON))


def begin_session(
    request: HttpRequest, account: Account, *, now: datetime, signed_on: str | None = None
) -> None:
    """Let a person in, in this browser; ``signed_on`` is what the hospital's sign-on calls them."""
    login(request, account)
    request.session[_BEGAN] = request.session[_SEEN] = now.isoformat()
    request.session[_BROWSER] = browser_words(request.headers.get("User-Agent", ""))
    request.session.pop(SIGNED_ON, None)
    if signed_on is not None:
        request.session[SIGNED_ON] = signed_on


def has_ended(session: SessionBase, account: Account, *, now: datetime) -> bool:
    """Say whether a session is over, and end it then; note now and then that it lives."""
    life = life_of(session, now=now)
    if life.is_over(account, now=now):
        session.flush()
        return True
    if _SEEN not in session or abs(now - life.seen) > _NOTED_EVERY:
        session[_SEEN] = now.isoformat()
        session.setdefault(_BEGAN, session[_SEEN])  # of a version that did not note it
        return not _noted(session)
    return False


def _noted(session: SessionBase) -> bool:
    """Keep what was noted, and say whether the session is still there to be gone on with.

    Kept at once: after the answer is made a full disk would say of it that it was not given.
    """
    try:
        session.save()
    except UpdateError as error:
        if not session.exists(session.session_key or ""):  # ended from elsewhere in this moment
            session.flush()
            return False
        log.error("the use of a session cannot be noted: %s", error.__context__)  # noqa: TRY400  a line each
    session.modified = False
    return True


def clear_old_sessions() -> None:
    """Let the database forget sessions that are too old to be gone on with, so that no backup keeps them."""
    SessionStore.clear_expired()


def _moment(written: str | None, now: datetime) -> datetime:
    return now if written is None else datetime.fromisoformat(written)
