"""How a server is started, and what follows from it before anything runs."""

from __future__ import annotations

import os
import secrets
import socket
from dataclasses import dataclass, field, replace
from ipaddress import ip_address
from pathlib import Path

from fabella.errors import UsageError
from fabella.store.private import write_private
from fabella.store.sealed import DataKey
from fabella.web.sign_on.chosen import SignOn

PORT = 8765
_SECRET = "secret"  # noqa: S105  the name of a file
LOOPBACK_NAMES = ("localhost", "127.0.0.1", "[::1]")
"""Under which a browser on the server's own machine asks, and no other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tls:
    """That the server speaks TLS: with its own certificate, or with one that the hospital's authority signed.

    ``key`` is None when it stands in the certificate's file.
    """

    certificate: Path | None = None
    key: Path | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """What the person who starts the server decides.

    Parameters
    ----------
    data
        The folder of databases and secret; made when it is missing.
    host, port
        The address to listen on; port 0 takes any that is free.
    database_url
        Of a PostgreSQL database; None keeps SQLite files in the data folder.
    names
        Further names under which browsers reach this server.
    tls
        How it speaks TLS; None when it does not.
    letterhead
        The sender's name and address at the head of letters and patients' pages; none by default.
    key
        Of encrypted databases; None when they are not encrypted.
    sign_on
        The hospital's own sign-on; None when everybody enters by a password.
    """

    data: Path
    host: str = "127.0.0.1"
    port: int = PORT
    database_url: str | None = None
    names: tuple[str, ...] = ()
    tls: Tls | None = None
    letterhead: tuple[str, ...] = ()
    key: DataKey | None = field(default=None, repr=False)
    sign_on: SignOn | None = None

    @property
    def is_loopback(self) -> bool:
        """Whether only this machine can reach the server."""
        if self.host == "localhost":
            return True
        try:
            return ip_address(self.host).is_loopback
        except ValueError:
            return False

    @property
    def allowed_names(self) -> list[str]:
        """The names under which a browser may ask for it; any other is a stranger's page asking."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        own = [] if self.is_loopback else [socket.gethostname(), host]
        return [*LOOPBACK_NAMES, *own, *self.names]

    @property
    def address(self) -> str:
        """What to type into a browser on this machine."""
        shown = f"[{self.host}]" if ":" in self.host else self.host
        wildcard = shown in {"0.0.0.0", "[::]"}  # noqa: S104  compared, not bound
        scheme = "https" if self.tls else "http"
        return f"{scheme}:{'//'}{'localhost' if wildcard else shown}:{self.port}/"

    def at_port(self, port: int) -> Options:
        """Return the same options with the port that was taken."""
        return replace(self, port=port)


def prepare_folder(data: Path) -> None:
    """Make the data folder, for its owner only; raise `UsageError` when that cannot be."""
    try:
        data.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise UsageError(f"{data}: cannot be the data folder: {error.strerror}") from None
    if not os.access(data, os.W_OK):
        raise UsageError(f"{data}: cannot be the data folder: nothing may be written there")


def secret_in(data: Path) -> str:
    """Return the secret of this installation, made at the first start, readable by its owner only.

    One that was never finished is made again; raise `UsageError` when there is another file in its place.
    """
    path = data / _SECRET
    try:
        kept = path.read_text("ascii") if path.exists() else ""
    except (OSError, UnicodeDecodeError):
        raise UsageError(
            f"{path}: is not the secret that was made; put it back, or remove it and everybody logs in again"
        ) from None
    if not kept.strip():
        kept = secrets.token_urlsafe(64)
        write_private(path, kept.encode())
    return kept
