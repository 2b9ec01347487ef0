"""Certificates in the data folder: made when they are missing, renewed before they end, never handed out."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec

from fabella.errors import FabellaError, UsageError
from fabella.store.private import make_private_folder, write_private
from fabella.web.tls.issuing import RENEWED_BEFORE, Pair, constraints, fingerprint, issue, make_authority
from fabella.web.tls.names import Names, certified

ANEW = "fabella certificate --new"
"""The command that makes another authority."""

_LOCK = threading.Lock()
_ENDS_SOON = timedelta(days=120)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """What a server shows, as files, and what its certificate says.

    ``key`` is None when the certificate's file holds it too; ``authority`` is our own, None when the
    hospital's has signed.
    """

    certificate: Path
    key: Path | None
    names: Names
    ends: datetime
    authority: Authority | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Authority:
    """Our own authority as tablets have to know it: ``der`` is its file."""

    der: bytes
    fingerprint: str
    ends: datetime
    is_ending: bool


class Cabinet:
    """The folder in which authority and certificate lie."""

    def __init__(self, data: Path) -> None:
        self._folder = data / "tls"

    def chain(self, names: Names, *, machine: str, now: datetime) -> Chain:
        """Return what a server of these names shows, made or renewed if need be.

        Raises `UsageError` when the authority was not made for one of the names, or has ended.
        """
        with _LOCK:
            authority = self._authority(names, machine, now)
            server = self._read("server")
            if server is None or self._is_stale(server.certificate, authority, names, now):
                server = self._write("server", issue(authority, names, now=now))
        return Chain(
            certificate=self._folder / "server.pem",
            key=None,
            names=names,
            ends=server.certificate.not_valid_after_utc,
            authority=authority_of(authority.certificate, now),
        )

    def authority(self, names: Names, *, machine: str, now: datetime) -> Authority:
        """Return what is told of the authority, made if need be; `UsageError` as for `chain`."""
        with _LOCK:
            return authority_of(self._authority(names, machine, now).certificate, now)

    def _authority(self, names: Names, machine: str, now: datetime) -> Pair:
        make_private_folder(self._folder)
        found = self._read("authority") or self._write(
            "authority", make_authority(names, machine=machine, now=now)
        )
        self._refuse_others(found.certificate, names, now)
        return found

    def server(self) -> tuple[Names, datetime] | None:
        """Return to whom the server's certificate is made out, and its end; None when there is none yet."""
        kept = self._read("server")
        if kept is None:
            return None
        return certified(kept.certificate), kept.certificate.not_valid_after_utc

    def begin_anew(self) -> None:
        """Put authority and certificate aside under another name; no tablet trusts the next one yet."""
        for path in self._folder.glob("*.pem"):
            path.replace(path.with_name(f"{path.name}.old"))

    def _refuse_others(self, authority: x509.Certificate, names: Names, now: datetime) -> None:
        if authority.not_valid_after_utc <= now:
            ended = f"the authority of this server ended on {authority.not_valid_after_utc:%Y-%m-%d}"
            raise UsageError(f"{ended}; make another with: {ANEW}\nThen every tablet has to be told again.")
        if others := names.outside(*constraints(authority)):
            raise UsageError(
                f"the authority of this server was not made for {', '.join(others)}; "
                f"make another with: {ANEW}\nThen every tablet has to be told again."
            )

    def _is_stale(self, server: x509.Certificate, authority: Pair, names: Names, now: datetime) -> bool:
        ends = server.not_valid_after_utc
        nearly = now + RENEWED_BEFORE >= ends and ends < authority.certificate.not_valid_after_utc
        if nearly or not server.not_valid_before_utc <= now < ends or certified(server) != names:
            return True
        try:
            server.verify_directly_issued_by(authority.certificate)
        except Exception:  # noqa: BLE001  whatever is wrong with it, another is made
            return True
        return False

    def _read(self, name: str) -> Pair | None:
        path = self._folder / f"{name}.pem"
        if not path.exists():
            return None
        content = path.read_bytes()
        try:
            certificate = x509.load_pem_x509_certificate(content)
            key = serialization.load_pem_private_key(content, password=None)
        except ValueError:
            raise FabellaError(f"{path}: holds no certificate with its key") from None
        if not isinstance(key, ec.EllipticCurvePrivateKey) or key.public_key() != certificate.public_key():
            raise FabellaError(f"{path}: the key is not that of the certificate")
        return Pair(certificate, key)

    def _write(self, name: str, pair: Pair) -> Pair:
        """Keep a pair in one file, so that there is never one half without the other."""
        key = pair.key.private_bytes(
            serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
        )
        certificate = pair.certificate.public_bytes(serialization.Encoding.PEM)
        write_private(self._folder / f"{name}.pem", key + certificate)
        return pair


def authority_of(certificate: x509.Certificate, now: datetime) -> Authority:
    """Return what is told of an authority."""
    ends = certificate.not_valid_after_utc
    return Authority(
        der=certificate.public_bytes(serialization.Encoding.DER),
        fingerprint=fingerprint(certificate),
        ends=ends,
        is_ending=ends - now < _ENDS_SOON,
    )


def given_chain(certificate: Path, key: Path | None, *, now: datetime) -> Chain:
    """Return a certificate of the hospital's own authority; raise `UsageError` when it is of no use."""
    try:
        read = x509.load_pem_x509_certificate(certificate.read_bytes())
    except OSError as error:
        raise UsageError(f"{certificate}: cannot be read: {error.strerror}") from None
    except ValueError:
        raise UsageError(f"{certificate}: holds no certificate in PEM form") from None
    begins, ends = read.not_valid_before_utc, read.not_valid_after_utc
    if not begins <= now < ends:
        raise UsageError(f"{certificate}: is good from {begins:%Y-%m-%d} to {ends:%Y-%m-%d} only")
    return Chain(certificate=certificate, key=key, names=certified(read), ends=ends, authority=None)
