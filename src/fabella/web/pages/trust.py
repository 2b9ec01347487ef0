"""How a tablet learns to trust this server, for everybody, before anybody can enter."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import ClassVar

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse

from fabella.web.door import enter_unknown
from fabella.web.options import Options
from fabella.web.templating import render, said
from fabella.web.tls.keeping import Chain
from fabella.web.tls.offering import chain_of


@dataclass(frozen=True, slots=True, kw_only=True)
class TrustPage:
    """What to install, how, and what to compare first."""

    template: ClassVar[str] = "trust.html"

    address: str = field(
        metadata=said("Start page of this server over TLS; empty when the page itself came over TLS.")
    )
    kind: str = field(
        metadata=said(
            "Who vouches for this server: 'own' authority, the 'hospital', or 'nobody' without TLS."
        )
    )
    fingerprint: tuple[str, ...] = field(
        metadata=said("SHA-256 of the authority's file, in lines of eight pairs; empty when it is not ours.")
    )
    ends: datetime | None = field(metadata=said("When the authority ends; None when it is not ours."))
    names: str = field(metadata=said("Names and addresses to which the certificate is made out."))


@enter_unknown()
def trust(request: HttpRequest) -> HttpResponse:
    """Show how this server is trusted."""
    options: Options = settings.FABELLA
    if options.tls is None:
        return render(request, TrustPage(address="", kind="nobody", fingerprint=(), ends=None, names=""))
    chain = _chain(options)
    own = chain.authority
    address = "" if request.is_secure() else f"https:{'//'}{request.get_host()}/"
    page = TrustPage(
        address=address,
        kind="own" if own else "hospital",
        fingerprint=_lines(own.fingerprint) if own else (),
        ends=own.ends if own else None,
        names=str(chain.names),
    )
    return render(request, page)


@enter_unknown()
def authority(request: HttpRequest) -> HttpResponse:
    """Give the file of our own authority, which holds nothing secret."""
    del request
    options: Options = settings.FABELLA
    own = _chain(options).authority if options.tls else None
    if own is None:
        raise Http404
    return HttpResponse(own.der, content_type="application/x-x509-ca-cert")


def _chain(options: Options) -> Chain:
    return chain_of(options, now=datetime.now(tz=UTC))


def _lines(fingerprint: str) -> tuple[str, ...]:
    pairs = fingerprint.split(":")
    return tuple(":".join(pairs[at : at + 8]) for at in range(0, len(pairs), 8))
