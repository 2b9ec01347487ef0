"""The provider's description, asked for now and then: who begins without a pause asks it nothing."""

from __future__ import annotations

import threading
from datetime import datetime, timedelta

from fabella.web.sign_on.chosen import SignOn
from fabella.web.sign_on.provider import Provider, discover

FRESH = timedelta(minutes=10)
"""For so long a description is taken as it was told (judgement: it changes once in years)."""


class Described:
    """What providers last told of themselves, remembered while the server runs."""

    def __init__(self) -> None:
        self._told: dict[str, tuple[Provider, datetime]] = {}
        self._asking = threading.Lock()

    def by(self, sign_on: SignOn, *, now: datetime) -> Provider:
        """Return a provider as it described itself within `FRESH`; raise `Silent` when it does not now.

        Who comes while somebody asks it anew is given what was told before.
        """
        told = self._told.get(sign_on.issuer)
        if told is not None and abs(now - told[1]) < FRESH:  # a clock may be set back
            return told[0]
        is_first = self._asking.acquire(blocking=False)
        if told is not None and not is_first:
            return told[0]
        try:
            provider = discover(sign_on)
        finally:
            if is_first:
                self._asking.release()
        self._told[sign_on.issuer] = (provider, now)
        return provider

    def last(self, sign_on: SignOn) -> Provider | None:
        """Return a provider as it described itself last, None when it never did; nobody waits for it."""
        told = self._told.get(sign_on.issuer)
        return None if told is None else told[0]

    def forget(self) -> None:
        """Forget everything."""
        self._told.clear()


described = Described()
"""To this server."""
