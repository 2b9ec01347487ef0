"""Sign-ons that were begun and have not come back: each goes round with its browser and crowds out no other.

What is begun is kept nowhere here. The state that travels by the provider carries it, encrypted and bound to
the browser (RFC 9700, section 4.7.1); only who was let in is remembered, so that no attempt counts twice.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
import secrets
import threading
from dataclasses import dataclass
from datetime import datetime, timedelta

from cryptography.fernet import Fernet, InvalidToken

LONGEST = timedelta(minutes=15)
"""Between leaving and coming back (judgement: a forgotten password and a second factor take ten)."""

LONGEST_ADDRESS = 500
"""Characters of the page that was asked for (judgement: providers take no endless addresses)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun:
    """One attempt: its name, its browser, its secrets, where it leads in the end, and when it was."""

    name: str
    device: str
    nonce: str
    verifier: str
    asked: str
    at: datetime


class UnderWay:
    """Attempts of a server that runs, in one process. After a new start, with a new key, one begins again."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._spent: dict[str, datetime] = {}
        self._key, self._locked = _new_keys()

    def begin(self, *, device: str, asked: str, now: datetime) -> tuple[str, Begun]:
        """Return the state by which an attempt of a browser is known, and the attempt.

        Of an ``asked`` address that is longer than `LONGEST_ADDRESS` nothing goes along.
        """
        asked = asked if len(asked) <= LONGEST_ADDRESS else ""
        begun = self._made(secrets.token_urlsafe(16), device, asked, now)
        told = [begun.name, begun.device, begun.asked, begun.at.isoformat()]
        return self._locked.encrypt(json.dumps(told, ensure_ascii=False).encode()).decode("ascii"), begun

    def read(self, state: str, device: str, now: datetime) -> Begun | None:
        """Return an attempt of this browser; None for one that is spent, old, another's or made up."""
        try:
            name, of, asked, at = json.loads(self._locked.decrypt(state.encode()))
        except InvalidToken:
            return None
        begun = self._made(name, of, asked, datetime.fromisoformat(at))
        with self._lock:
            is_spent = name in self._spent
        is_old = abs(now - begun.at) >= LONGEST  # a clock may be set back
        return None if is_spent or is_old or begun.device != device else begun

    def spend(self, begun: Begun, now: datetime) -> bool:
        """Remember that an attempt let somebody in; say whether it was the first time."""
        with self._lock:
            self._spent = {name: at for name, at in self._spent.items() if abs(now - at) < LONGEST}
            is_first = begun.name not in self._spent
            self._spent[begun.name] = begun.at
        return is_first

    def forget(self) -> None:
        """Let no attempt hold that was begun before."""
        with self._lock:
            self._key, self._locked = _new_keys()
            self._spent.clear()

    def _made(self, name: str, device: str, asked: str, at: datetime) -> Begun:
        nonce, verifier = self._secret("nonce", name), self._secret("verifier", name)
        return Begun(name=name, device=device, nonce=nonce, verifier=verifier, asked=asked, at=at)

    def _secret(self, what: str, name: str) -> str:
        """Return 43 letters and digits that nobody else can work out (RFC 7636, section 4.1)."""
        digest = hmac.digest(self._key, f"{what} of {name}".encode(), hashlib.sha256)
        return base64.urlsafe_b64encode(digest).rstrip(b"=").decode("ascii")


def _new_keys() -> tuple[bytes, Fernet]:
    """Return what secrets are made with, and what encrypts."""
    return secrets.token_bytes(32), Fernet(Fernet.generate_key())


under_way = UnderWay()
"""Of this server."""
