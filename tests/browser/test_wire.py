"""The wire that tests cut and mend lets nothing through that was begun while it was cut."""

import socket
import threading
from contextlib import suppress
from typing import Any

import pytest

from tests.browser.wire import Wire

_LATE_S = 0.1


class _Busy(Wire):
    """A wire that comes late to look at who waits, as on a machine with much to do."""

    looks = threading.Event()

    def _listen(self) -> None:
        self.looks.wait()
        super()._listen()


def test_what_began_while_it_was_cut_never_arrives() -> None:
    """One that waits to be looked at when the wire is mended is refused; one after it goes through."""
    server = socket.create_server(("127.0.0.1", 0))
    arrived: list[bytes] = []

    def listen() -> None:
        with suppress(OSError):
            while True:
                here, _ = server.accept()
                with here:
                    arrived.append(here.recv(5))
                    here.sendall(b"heard")

    threading.Thread(target=listen, daemon=True).start()
    wire = _Busy(server.getsockname()[1])
    wire.cut()
    address = ("127.0.0.1", wire.port)
    with socket.create_connection(address) as early:
        early.sendall(b"early")
        threading.Timer(_LATE_S, wire.looks.set).start()
        wire.mend()
        with socket.create_connection(address) as after:
            after.sendall(b"after")
            assert after.recv(5) == b"heard"
    assert arrived == [b"after"]
    wire.close()
    server.close()


def test_what_is_being_led_through_while_it_is_cut_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    """A cut between looking at a connection and leading it on leaves none behind that goes through."""
    server, reach = socket.create_server(("127.0.0.1", 0)), socket.create_connection
    wire = Wire(server.getsockname()[1])

    def reached(*address: Any) -> socket.socket:
        far = reach(*address)
        wire.cut()
        return far

    monkeypatch.setattr("tests.browser.wire.socket.create_connection", reached)
    with reach(("127.0.0.1", wire.port)) as near:
        near.settimeout(10)
        with suppress(ConnectionError):
            near.sendall(b"early")
            assert near.recv(1) == b"", "it has ended"
    here, _ = server.accept()
    with here:
        here.settimeout(10)
        with suppress(ConnectionError):
            assert here.recv(5) == b""
    wire.close()
    server.close()
