"""What the running server shows: one context, filled again whenever its certificate has changed."""

from __future__ import annotations

import logging
import ssl
import threading
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from socket import gethostname

from fabella.errors import FabellaError, UsageError
from fabella.web.options import Options
from fabella.web.tls.keeping import Cabinet, Chain, given_chain
from fabella.web.tls.names import Names, can_be_certified, names_of

log = logging.getLogger(__name__)

_LOOKED_AT_EVERY = timedelta(hours=1)


def chain_of(options: Options, *, now: datetime) -> Chain:
    """Return what a server that is started so shows; raise `UsageError` when it cannot speak TLS."""
    if options.tls is not None and options.tls.certificate is not None:
        return given_chain(options.tls.certificate, options.tls.key, now=now)
    return Cabinet(options.data).chain(names_served(options), machine=gethostname(), now=now)


def names_served(options: Options) -> Names:
    """Return the names under which browsers reach a server; its machine's own only if it can be certified."""
    own = gethostname()
    return names_of(each for each in options.allowed_names if each != own or can_be_certified(own))


class Offering:
    """The context of the server, which is exchanged when its certificate is.

    ``clock`` tells the time; ``chain`` gives the certificate that is right at a time. Raises `UsageError`
    when there is nothing to begin with; what goes wrong later is logged, and the last good one stays.
    """

    def __init__(
        self, chain: Callable[[datetime], Chain], clock: Callable[[], datetime] = lambda: datetime.now(tz=UTC)
    ) -> None:
        self._chain, self._clock = chain, clock
        self._lock = threading.Lock()
        now = clock()
        first = chain(now)
        self._state, self._context = _state_of(first), _context_of(first)
        self._next = now + _LOOKED_AT_EVERY

    def context(self) -> ssl.SSLContext:
        """Return the context, with the certificate looked at once an hour."""
        now = self._clock()
        with self._lock:
            if now >= self._next:
                self._next = now + _LOOKED_AT_EVERY
                self._look(now)
            return self._context

    def _look(self, now: datetime) -> None:
        try:
            chain = self._chain(now)
            state = _state_of(chain)
            if state != self._state:
                self._context, self._state = _context_of(chain), state
        except (FabellaError, OSError) as error:
            log.warning("the certificate cannot be exchanged, and the last one is shown: %s", error)


def _state_of(chain: Chain) -> tuple[str, int]:
    return str(chain.certificate), chain.certificate.stat().st_mtime_ns


def _context_of(chain: Chain) -> ssl.SSLContext:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_3
    context.set_alpn_protocols(["http/1.1"])
    try:
        context.load_cert_chain(chain.certificate, chain.key, password=_no_password)
    except (OSError, ValueError) as error:
        why = getattr(error, "reason", None) or error
        key = chain.key or chain.certificate
        raise UsageError(f"{chain.certificate} cannot be used with the key in {key}: {why}") from None
    return context


def _no_password() -> str:
    """Never ask at the terminal: a server that starts by itself could not be answered."""
    raise ValueError("its key is locked by a password; give one without")
