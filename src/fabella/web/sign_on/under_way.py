"""Sign-ons that were begun and have not come back: each for one browser, once, for a while."""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from dataclasses import dataclass
from datetime import datetime, timedelta

from fabella.web.sign_on.provider import Provider

LONGEST = timedelta(minutes=15)
"""Between leaving and coming back (judgement: a forgotten password and a second factor take ten)."""

_MANY = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun:
    """One attempt: in which browser, at which provider, with which secrets, and where it leads in the end."""

    device: str
    provider: Provider
    nonce: str
    verifier: str
    back: str
    asked: str
    at: datetime


def random_text() -> str:
    """Return 43 letters and digits that nobody guesses: state, nonce or verifier (RFC 7636, section 4.1)."""
    return secrets.token_urlsafe(32)


class UnderWay:
    """Attempts, remembered while the server runs: there is one process. After a restart one begins again."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._begun: OrderedDict[str, Begun] = OrderedDict()

    def begin(self, begun: Begun) -> str:
        """Remember an attempt, and return the state by which it is known."""
        state = random_text()
        with self._lock:
            self._begun[state] = begun
            while len(self._begun) > _MANY:
                self._begun.popitem(last=False)
        return state

    def take(self, state: str, device: str, now: datetime) -> Begun | None:
        """Return an attempt of this browser and forget it; None for one that is used, old or another's."""
        with self._lock:
            begun = self._begun.get(state)
            if begun is None or begun.device != device:
                return None
            del self._begun[state]
        return begun if abs(now - begun.at) < LONGEST else None  # a clock may be set back

    def forget(self) -> None:
        """Forget everything."""
        with self._lock:
            self._begun.clear()


under_way = UnderWay()
"""Of this server."""
