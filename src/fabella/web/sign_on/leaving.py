"""Where one logs out at the hospital too, as its provider last told."""

from __future__ import annotations

from django.conf import settings

from fabella.web.sign_on.chosen import SignOn
from fabella.web.sign_on.provider import Provider, discover, leaving_address

_known: dict[str, Provider] = {}


def discovered(sign_on: SignOn) -> Provider:
    """Return the provider as it describes itself now, and remember that for whoever leaves."""
    provider = discover(sign_on)
    _known[sign_on.issuer] = provider
    return provider


def leaving_address_of(back: str) -> str:
    """Return where one logs out at the provider; empty when it named no such place since the server started.

    It is not asked now: nobody who leaves should have to wait for it.
    """
    sign_on = settings.FABELLA.sign_on
    provider = None if sign_on is None else _known.get(sign_on.issuer)
    return "" if provider is None else leaving_address(provider, sign_on, back=back)
