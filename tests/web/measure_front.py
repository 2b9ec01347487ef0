"""Measure what slow clients hold up: ``python -m tests.web.measure_front`` prints the figures.

A server that speaks TLS itself, and one behind nginx as docs/hospital.md has it, word for word but for places
and the name of this machine. Many clients begin requests and do not go on; somebody else asks for a page.
"""

from __future__ import annotations

import os
import re
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from http.client import HTTPSConnection
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.cli.running import call
from tests.database import fresh_sqlite
from tests.web.hands import Server, data_of
from tests.web.test_fair import BEGINNINGS, trusting

_DOCUMENT = Path(__file__).parents[2] / "docs" / "hospital.md"
_BLOCK = re.compile(r"```nginx\n(.*?)```", re.DOTALL)
_ADDRESSES, _EACH, _OTHER = 20, 16, "127.0.1.1"
_LONGEST_S = 200


def main() -> None:
    """Run both, and print."""
    program = shutil.which("nginx", path=os.environ["PATH"] + ":/usr/sbin")
    if program is None:
        sys.exit("nginx is not installed")
    with TemporaryDirectory() as folder:
        data = Path(folder) / "clinic"
        with fresh_sqlite():
            who = ("account", "add", "ann", "--role", "clinician", *data_of(data))
            assert call(*who, stdin=b"seven grey herons wade\n").code == 0
        direct, behind = Server(*data_of(data), "--tls"), Server(*data_of(data))
        try:
            _tell("by itself, two addresses", direct.port, 2)
            with _front(program, Path(folder), data / "tls", behind.port) as port:
                _tell(f"behind nginx, {_ADDRESSES} addresses", port, _ADDRESSES)
        finally:
            direct.kill()
            behind.kill()


@contextmanager
def _front(program: str, folder: Path, tls: Path, behind: int) -> Iterator[int]:
    """Run nginx as it is documented, before a server; the certificate's file holds its key too."""
    found = _BLOCK.search(_DOCUMENT.read_text())
    assert found is not None
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = int(free.getsockname()[1])
    text = found[1]
    for written, here in (
        ("listen 443 ssl", f"listen 127.0.0.1:{port} ssl"),
        ("127.0.0.1:8765", f"127.0.0.1:{behind}"),
        ("/etc/fabella/server.pem", str(tls / "server.pem")),
        ("/etc/fabella/server.key", str(tls / "server.pem")),
    ):
        assert written in text, written
        text = text.replace(written, here)
    places = "".join(
        f"{each}_temp_path {folder}/{each};\n"
        for each in ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
    )
    file = folder / "nginx.conf"
    file.write_text(
        f"daemon off; pid {folder}/pid; error_log stderr crit; events {{ worker_connections 2000; }}\n"
        f"http {{ access_log off; {places}{text} }}\n"
    )
    front = subprocess.Popen([program, "-p", str(folder), "-e", "stderr", "-c", str(file)])
    try:
        time.sleep(1)
        yield port
    finally:
        front.terminate()
        front.wait(timeout=20)


def _tell(what: str, port: int, addresses: int) -> None:
    """Print how long somebody else waits for a page, for each way of being slow."""
    sys.stdout.write(f"{what}: nobody slow {_waited(port):.2f} s\n")
    for way, sent in BEGINNINGS.items():
        with _slow(port, addresses, sent):
            time.sleep(1)
            sys.stdout.write(f"{what}: {addresses * _EACH} beginnings {way} {_waited(port):.2f} s\n")
        time.sleep(1)


@contextmanager
def _slow(port: int, addresses: int, sent: bytes) -> Iterator[None]:
    """Requests that do not go on, from many addresses of this machine."""
    with ExitStack() as held:
        for number in range(addresses * _EACH):
            source = (f"127.0.0.{2 + number % addresses}", 0)
            line = socket.create_connection(("127.0.0.1", port), timeout=20, source_address=source)
            line = held.enter_context(trusting().wrap_socket(line, do_handshake_on_connect=bool(sent)))
            if sent:
                line.sendall(sent)
        yield


def _waited(port: int) -> float:
    """How long the page takes for somebody else [s]."""
    began = time.monotonic()
    line = HTTPSConnection(
        "127.0.0.1", port, context=trusting(), timeout=_LONGEST_S, source_address=(_OTHER, 0)
    )
    line.request("GET", "/login/", headers={"Host": "localhost"})
    assert line.getresponse().status == 200
    line.close()
    return time.monotonic() - began


if __name__ == "__main__":
    main()
