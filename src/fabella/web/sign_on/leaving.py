"""Where one logs out at the hospital too, as its provider last told."""

from __future__ import annotations

from django.conf import settings

from fabella.web.sign_on.describing import described
from fabella.web.sign_on.provider import leaving_address


def leaving_address_of(back: str) -> str:
    """Return where one logs out at the provider; empty when it named no such place since the server started.

    It is not asked now: nobody who leaves should have to wait for it.
    """
    sign_on = settings.FABELLA.sign_on
    provider = None if sign_on is None else described.last(sign_on)
    return "" if provider is None else leaving_address(provider, sign_on, back=back)
