"""A worker whose threads nobody takes for themselves: who is slow is not waited for without end.

A client that sends its requests letter by letter, on many connections, would otherwise hold every thread for
as long as it likes. What comes from this machine's own address is spared: there stands what speaks TLS before
us, if anything does.
"""

from __future__ import annotations

import errno
import time
from collections import Counter, deque
from collections.abc import Callable
from functools import partial
from selectors import EVENT_READ
from typing import Any

from gunicorn.http.errors import NoMoreData
from gunicorn.http.unreader import SocketUnreader
from gunicorn.workers.gthread import TConn, ThreadWorker

from fabella.web.attempts import counted

PAUSE_SECONDS = 10
"""Between two pieces of a request (judgement: a tablet changes transmitters faster)."""

WHOLE_SECONDS = 120
"""For a whole request, and for a whole answer (judgement: the largest picture on a line of 2 Mbit/s)."""

_GONE = (errno.EAGAIN, errno.ECONNABORTED, errno.EWOULDBLOCK)
_SPARED = {"127.0.0.1", "::1", "::ffff:127.0.0.1", ""}


class Patient(SocketUnreader):
    """What a client sends, as long as it goes on sending."""

    def begin(self) -> None:
        """Begin to wait for a request."""
        self._until = time.monotonic() + WHOLE_SECONDS

    def chunk(self, size_hint: int | None = None) -> bytes:
        """Return the next piece; raise `NoMoreData` when it does not come in time."""
        left = self._until - time.monotonic()
        if left <= 0:
            raise NoMoreData
        self.sock.settimeout(min(PAUSE_SECONDS, left))
        try:
            return bytes(super().chunk(size_hint))  # type: ignore[call-arg]
        except TimeoutError as error:
            raise NoMoreData from error
        finally:
            self.sock.settimeout(WHOLE_SECONDS)  # for the answer


class Connection(TConn):
    """One connection, of which is told when it is over."""

    closed: Callable[[], None]

    def init(self) -> None:
        """Make ready for a request; called before each."""
        super().init()
        self.wait_patiently()

    def wait_patiently(self) -> None:
        """Begin to wait for a request, with what of it is there already."""
        parser: Any = self.parser
        if not isinstance(parser.unreader, Patient):
            patient = Patient(self.sock)
            patient.unread(parser.unreader.take_buffered())
            parser.unreader = patient
        parser.unreader.begin()

    def close(self, graceful: bool = False) -> None:  # noqa: FBT001, FBT002  the server's own signature
        """Close it."""
        self.closed()
        super().close(graceful)


class Shares:
    """How many threads each client has, and which of its connections wait for one of them."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._served: Counter[str] = Counter()
        self._waiting: dict[str, deque[Any]] = {}

    def take(self, whose: str, what: Any) -> bool:
        """Say whether this may be served now; otherwise it waits."""
        if self._served[whose] < self._most:
            self._served[whose] += 1
            return True
        self._waiting.setdefault(whose, deque()).append(what)
        return False

    def give_back(self, whose: str) -> Any:
        """Return what of this client is served next, None when nothing waits."""
        if waiting := self._waiting.get(whose):
            following = waiting.popleft()
            if not waiting:
                del self._waiting[whose]
            return following
        self._served[whose] -= 1
        if not self._served[whose]:
            del self._served[whose]
        return None


class FairWorker(ThreadWorker):
    """The worker: no client has more than half of the threads, nor of the connections."""

    connection: type[Connection] = Connection

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self._shares = Shares(max(1, self.cfg.threads // 2))
        self._open: Counter[str] = Counter()

    def accept(self, listener: Any) -> None:
        """Accept a connection, unless its client has too many."""
        try:
            client, address = listener.accept()
        except OSError as error:
            if error.errno not in _GONE:
                raise
            return
        made = self.connection(self.cfg, client, address, listener.getsockname())
        whose = _whose(made)
        if whose and self._open[whose] >= self.worker_connections // 2 and not self._close_idle(whose):
            client.close()
            return
        self._open[whose] += 1
        made.closed = _once(lambda: self._end(whose))
        self.nr_conns += 1
        self._wait_for(made)

    def _wait_for(self, made: Connection) -> None:
        """Let a connection take no thread until something comes: browsers open more than they use."""
        made.timeout = time.monotonic() + self.cfg.keepalive
        self.pending_conns.append(made)
        self.poller.register(made.sock, EVENT_READ, partial(self.on_pending_socket_readable, made))

    def _close_idle(self, whose: str) -> bool:
        """Close the connection of a client that was kept for longest after its answer; say if there is one.

        Many tablets may stand behind one address, each with a few that it keeps and may not use again.
        """
        conn = next((each for each in self.keepalived_conns if _whose(each) == whose), None)
        if conn is None:
            return False
        self.keepalived_conns.remove(conn)
        self.poller.unregister(conn.sock)
        self.nr_conns -= 1
        conn.close()
        return True

    def on_client_socket_readable(self, conn: TConn, client: Any) -> None:
        """Go on with a connection that was kept, unless it has just been closed for another one."""
        if conn in self.keepalived_conns:
            super().on_client_socket_readable(conn, client)

    def enqueue_req(self, conn: TConn) -> None:
        """Let a connection be served when its turn has come."""
        whose = _whose(conn)
        if not whose or self._shares.take(whose, conn):
            super().enqueue_req(conn)

    def finish_request(self, conn: TConn, fs: Any) -> None:
        """Take up the client's next connection when this one needs its thread no longer."""
        whose = _whose(conn)
        following = self._shares.give_back(whose) if whose else None
        super().finish_request(conn, fs)
        if following is not None:
            super().enqueue_req(following)

    def _end(self, whose: str) -> None:
        self._open[whose] -= 1
        if not self._open[whose]:
            del self._open[whose]


def _once(done: Callable[[], None]) -> Callable[[], None]:
    left = [done]
    return lambda: left.pop()() if left else None


def _whose(conn: TConn) -> str:
    """Return by what a client is counted; empty for one that is spared."""
    address = conn.client[0] if isinstance(conn.client, tuple) else ""
    return "" if address in _SPARED else counted(address)
