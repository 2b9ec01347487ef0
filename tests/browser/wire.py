"""The wire between a browser and a server, which can be cut, and which can lose what runs through it."""

from __future__ import annotations

import random
import socket
import threading
from contextlib import suppress

_CHUNK = 4096


class Wire:
    """Leads a port of its own to that of a server; a browser at its end sees one address all the time.

    With a chance of ``losing`` a connection breaks after some thousand bytes, be it in a request, be it in
    the answer to one that has arrived.
    """

    def __init__(self, target: int, *, seed: int = 1, losing: float = 0.0) -> None:
        self.target, self.losing = target, losing
        self._dice = random.Random(seed)
        self._is_cut, self._last_refused = threading.Event(), ("", 0)
        self._ends: set[socket.socket] = set()
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.port = int(self._listener.getsockname()[1])
        threading.Thread(target=self._listen, daemon=True).start()

    def cut(self) -> None:
        """Cut every connection, and let none through from now on."""
        self._is_cut.set()
        for each in tuple(self._ends):
            _end(each)

    def mend(self) -> None:
        """Let connections through again: those begun from now on.

        The system takes connections before we look at them, so one that came while the wire was cut may wait
        there still. We join the end of that queue and mend the wire when our turn has come.
        """
        if not self._is_cut.is_set():
            return
        with socket.socket() as last:
            last.bind(("127.0.0.1", 0))
            self._last_refused = last.getsockname()
            last.connect(("127.0.0.1", self.port))
            with suppress(ConnectionResetError):
                last.recv(1)

    def close(self) -> None:
        """Take the wire away."""
        self.cut()
        self._listener.close()

    def _listen(self) -> None:
        while True:
            try:
                near, whose = self._listener.accept()
            except OSError:
                return
            if whose == self._last_refused:
                self._last_refused = ("", 0)
                self._is_cut.clear()
                _end(near)
                continue
            try:
                if self._is_cut.is_set():
                    raise ConnectionRefusedError
                far = socket.create_connection(("127.0.0.1", self.target))
            except OSError:
                _end(near)
                continue
            self._ends |= {near, far}
            if self._is_cut.is_set():  # while the far end was reached, so that cutting knew nothing of it
                _end(near)
                _end(far)
                continue
            lost = self._dice.random() < self.losing
            lasts = self._dice.randrange(200, 20_000) if lost else None
            left = [lasts]
            for one, other in ((near, far), (far, near)):
                threading.Thread(target=self._carry, args=(one, other, left), daemon=True).start()

    def _carry(self, one: socket.socket, other: socket.socket, left: list[int | None]) -> None:
        with suppress(OSError):
            while data := one.recv(_CHUNK):
                if left[0] is not None:
                    left[0] -= len(data)
                    if left[0] < 0:
                        break
                other.sendall(data)
        for each in (one, other):
            self._ends.discard(each)
            _end(each)


def _end(each: socket.socket) -> None:
    with suppress(OSError):
        each.shutdown(socket.SHUT_RDWR)
    each.close()
