"""How often a password or a code may be guessed: by name and by address, within a quarter of an hour."""

from __future__ import annotations

import threading
from collections import OrderedDict, deque
from datetime import datetime, timedelta
from ipaddress import IPv4Address, ip_address, ip_network

from django.conf import settings
from django.http import HttpRequest

WINDOW = timedelta(minutes=15)
FOR_A_NAME, FOR_AN_ADDRESS = 5, 30
"""Failed attempts within the window (judgement: a tired clinician needs three; a ward shares one address)."""

_MANY = 10_000
_NETWORK_BITS = 64


def address_of(request: HttpRequest) -> str:
    """Return where a request comes from, as whatever stands before this server saw it, if anything does.

    Only a server that this machine alone can reach believes what was forwarded, and of that only the end:
    the rest is what a client claims.
    """
    forwarded = str(request.META.get("HTTP_X_FORWARDED_FOR", "")).rsplit(",", 1)[-1].strip()
    is_believed = bool(forwarded) and settings.FABELLA.is_loopback
    return counted(forwarded if is_believed else str(request.META.get("REMOTE_ADDR", "")))


def counted(told: str) -> str:
    """Return what is counted of an address: of IPv6 the first half, since a machine chooses the second.

    It may take as many of those as it likes (RFC 4291, section 2.5.1; RFC 8981).
    """
    try:
        address = ip_address(told)
    except ValueError:
        return told
    if isinstance(address, IPv4Address):
        return str(address)
    return str(address.ipv4_mapped or ip_network((int(address), _NETWORK_BITS), strict=False))


class Attempts:
    """Attempts that failed or go on, remembered while the server runs: one process, longer than the window.

    A name is counted together with the address, so that nobody can lock a colleague out from elsewhere.
    """

    def __init__(self, *, for_a_name: int = FOR_A_NAME, for_an_address: int = FOR_AN_ADDRESS) -> None:
        self._for_a_name, self._for_an_address = for_a_name, for_an_address
        self._lock = threading.Lock()
        self._failed: OrderedDict[tuple[str, ...], deque[datetime]] = OrderedDict()

    def may_try(self, name: str, address: str, now: datetime) -> bool:
        """Say whether another attempt is allowed; it counts as failed from now on, until it is taken back.

        Many that are made in the same moment are therefore no more than those made one after the other.
        """
        with self._lock:
            if (
                self._count((name, address), now) >= self._for_a_name
                or self._count((address,), now) >= self._for_an_address
            ):
                return False
            for key in ((name, address), (address,)):
                self._failed.setdefault(key, deque(maxlen=self._for_an_address)).append(now)
                self._failed.move_to_end(key)
            while len(self._failed) > _MANY:
                self._failed.popitem(last=False)
            return True

    def succeeded(self, name: str, address: str) -> None:
        """Take an attempt back, and forget the failures of somebody who then knew the password."""
        with self._lock:
            self._failed.pop((name, address), None)
            if of_all := self._failed.get((address,)):
                of_all.pop()

    def take_back(self, name: str, address: str) -> None:
        """Take an attempt back that was none."""
        with self._lock:
            for key in ((name, address), (address,)):
                if times := self._failed.get(key):
                    times.pop()

    def forget(self) -> None:
        """Forget everything."""
        with self._lock:
            self._failed.clear()

    def _count(self, key: tuple[str, ...], now: datetime) -> int:
        times = self._failed.get(key, deque())
        return sum(1 for time in times if abs(now - time) < WINDOW)  # a clock may be set back


attempts = Attempts()
"""Of passwords."""

CODES_OF_A_SIGN_ON = 30
"""Codes that the hospital's sign-on does not take within the window (judgement: as of passwords)."""

sign_on_attempts = Attempts(for_a_name=CODES_OF_A_SIGN_ON, for_an_address=CODES_OF_A_SIGN_ON)
"""Of the codes with which browsers come back from the hospital's sign-on, all under no name."""

CODES_FOR_AN_ADDRESS = 60
"""Wrong codes of classes within the window: a lecture room shares one address, and its hands slip."""

CODES_FOR_AN_EXAM_HALL = 60
"""Wrong codes of exams within the window: a hall shares one address."""

exam_code_attempts = Attempts(for_a_name=CODES_FOR_AN_EXAM_HALL, for_an_address=CODES_FOR_AN_EXAM_HALL)
"""Of the codes of examiners and candidates."""

code_attempts = Attempts(for_a_name=CODES_FOR_AN_ADDRESS, for_an_address=CODES_FOR_AN_ADDRESS)
"""Of the codes of classes, all under no name."""
