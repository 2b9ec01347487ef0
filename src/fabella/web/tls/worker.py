"""A worker that speaks TLS, and on the same port tells whoever comes without it how to come with it.

Somebody who types the name of the server into a tablet comes without. What the connection really is, and
nothing that a client says, decides whether the pages take a request for encrypted.
"""

from __future__ import annotations

import socket
import ssl
from typing import Any

from gunicorn import http
from gunicorn.workers.gthread import TConn

from fabella.web.fair import Connection, FairWorker
from fabella.web.tls.offering import Offering

_HANDSHAKE = b"\x16"  # the first byte of whoever speaks TLS (RFC 8446, 5.1)
_PATIENCE_SECONDS = 10


class TlsConnection(Connection):
    """One connection; its first byte tells whether it is to be encrypted."""

    def init(self) -> None:
        """Shake hands, when the other side offers to; called before each request."""
        if not self.initialized:
            self.initialized = True
            self._shake_hands()
        self.wait_patiently()

    def _shake_hands(self) -> None:
        self.sock.settimeout(_PATIENCE_SECONDS)
        try:
            if self.sock.recv(1, socket.MSG_PEEK) == _HANDSHAKE:
                self.sock = TlsWorker.offering.context().wrap_socket(self.sock, server_side=True)
        except OSError as error:  # gone, too slow, or it does not trust us: nothing to tell anybody
            raise StopIteration from error
        self.parser = http.get_parser(self.cfg, self.sock, self.client)


class TlsWorker(FairWorker):
    """The worker; ``offering`` is set before it is started."""

    connection = TlsConnection
    offering: Offering

    def handle_request(self, req: Any, conn: TConn) -> Any:
        """Answer a request, told truly whether it came encrypted."""
        req.scheme = "https" if isinstance(conn.sock, ssl.SSLSocket) else "http"
        return super().handle_request(req, conn)
