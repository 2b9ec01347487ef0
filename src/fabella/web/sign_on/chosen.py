"""What whoever starts the server decides about the sign-on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from importlib.util import find_spec
from urllib.parse import urlsplit

from fabella.errors import UsageError

SUBJECT = "sub"
"""The claim that a provider never gives to a second person (OpenID Connect Core 1.0, section 5.7)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SignOn:
    """A provider, and how this server is known there.

    Parameters
    ----------
    issuer
        The provider's address, exactly as it names itself.
    client, secret
        Under which this server is registered there.
    claim
        Of the ID token; its value is what accounts are linked to.
    minutes
        How long ago a person may have shown the provider who they are; with 0 it asks each time.
    only
        Whether passwords are for administrators alone.
    """

    issuer: str
    client: str
    secret: str = field(repr=False)
    claim: str = SUBJECT
    minutes: int = 0
    only: bool = False

    def check(self) -> None:
        """Raise `UsageError` with everything that no sign-on can work with."""
        if problems := list(self._problems()):
            raise UsageError("\n".join(problems))

    def _problems(self) -> Iterator[str]:
        if not _is_issuer(self.issuer):
            yield f"--sign-on {self.issuer}: is no issuer; write it with https, as the provider calls itself"
        if not self.client:
            yield "--sign-on needs --sign-on-client: the name under which this server is registered there"
        if not self.secret:
            yield "--sign-on needs --sign-on-secret: a file with the secret that this server was given there"
        if not self.claim.strip():
            yield f"--sign-on-claim: is empty; leave it out for '{SUBJECT}'"
        if find_spec("jwt") is None:
            yield "--sign-on needs the extra 'sign-on': pip install 'fabella[sign-on]'"


def _is_issuer(text: str) -> bool:
    """Say whether this may be an issuer: https, a host, no query, no fragment (Discovery 1.0, section 3)."""
    try:
        parts = urlsplit(text)
        has_port = parts.port is None or parts.port > 0
    except ValueError:
        return False
    is_plain = text.isascii() and text.isprintable() and " " not in text
    is_bare = not (parts.query or parts.fragment or parts.username or text.endswith(("?", "#")))
    return parts.scheme == "https" and bool(parts.hostname) and has_port and is_plain and is_bare
