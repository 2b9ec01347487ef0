"""The way through the hospital's sign-on: there, back, and in."""

from __future__ import annotations

import logging
from dataclasses import dataclass, field
from shlex import quote
from typing import ClassVar
from urllib.parse import urlencode

from django.conf import settings
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.http.request import split_domain_port
from django.urls import path
from django.views.decorators.debug import sensitive_variables

from fabella.store.accounts.keeping import linked_account
from fabella.store.accounts.models import Account
from fabella.web.door import enter_unknown
from fabella.web.options import LOOPBACK_NAMES
from fabella.web.pages.account import login_page, way_to
from fabella.web.sessions import begin_session
from fabella.web.sign_on.chosen import SignOn
from fabella.web.sign_on.leaving import discovered
from fabella.web.sign_on.provider import asking_address, exchange, keys_of
from fabella.web.sign_on.refused import Refused, Stale, Untrusted
from fabella.web.sign_on.under_way import Begun, random_text, under_way
from fabella.web.sign_on.vouching import name_in, vouched
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request, comes_from_elsewhere

log = logging.getLogger(__name__)

_TOLD = ("code", "state", "iss", "error")
_LONGEST = 4096  # characters of any of them


@dataclass(frozen=True, slots=True, kw_only=True)
class SignOnBackPage:
    """A page that goes on by itself: only from a page of our own does a browser send our cookies along."""

    template: ClassVar[str] = "sign_on_back.html"

    goes_on: str = field(metadata=said("Where it goes on, with what the provider sent along."))


@enter_unknown()
def sign_on(request: Request) -> HttpResponse:
    """Send a browser to the provider."""
    chosen, asked = _chosen(), request.GET.get("next", "")
    if comes_from_elsewhere(request):  # without our cookies: it could not be known again when it is back
        return render(request, SignOnBackPage(goes_on=request.get_full_path()))
    try:
        _check_encrypted(request)
        begun = Begun(
            device=request.device,
            provider=discovered(chosen),
            nonce=random_text(),
            verifier=random_text(),
            back=request.build_absolute_uri(url("sign_on_back")),
            asked=asked,
            at=request.now,
        )
    except Refused as refused:
        return _refuse(request, refused, asked)
    address = asking_address(
        begun.provider,
        chosen,
        back=begun.back,
        state=under_way.begin(begun),
        nonce=begun.nonce,
        verifier=begun.verifier,
    )
    return HttpResponseRedirect(address)


@enter_unknown()
def back(request: Request) -> HttpResponse:
    """Take a browser that comes back from the provider one step further."""
    _chosen()
    told = {name: request.GET[name][:_LONGEST] for name in _TOLD if name in request.GET}
    return render(request, SignOnBackPage(goes_on=f"{url('sign_on_enter')}?{urlencode(told)}"))


@enter_unknown()
@sensitive_variables()
def come_in(request: Request) -> HttpResponse:
    """Let somebody in for whom the provider vouches."""
    chosen, asked = _chosen(), ""
    try:
        begun = under_way.take(request.GET.get("state", ""), request.device, request.now)
        if begun is None:
            raise Stale
        asked = begun.asked
        name = _name_told(request, chosen, begun)
        account = _account_of(name)
    except Refused as refused:
        return _refuse(request, refused, asked)
    begin_session(request, account, now=request.now, signed_on=name)
    return HttpResponseRedirect(way_to(asked))


def _check_encrypted(request: Request) -> None:
    if not request.is_secure() and split_domain_port(request.get_host())[0] not in LOOPBACK_NAMES:
        raise Refused(
            "The hospital’s sign-on works over TLS only, and this page came without. Please write https "
            "before the name of this server, or tell whoever runs it.",
            found="asked without TLS",
        )


def _name_told(request: Request, chosen: SignOn, begun: Begun) -> str:
    """Return what the provider calls whoever has come back, once everything it says holds."""
    issuer, error = request.GET.get("iss"), request.GET.get("error")
    if issuer != chosen.issuer and (issuer is not None or begun.provider.names_itself):
        raise Untrusted("it comes from another sign-on")
    if error == "access_denied":
        raise Refused(
            "The hospital’s sign-on was broken off there, or does not let you use this program. Please begin "
            "again, or ask whoever keeps the hospital’s accounts.",
            found="access_denied",
        )
    if error is not None:
        raise Refused(
            "The hospital’s sign-on could not do what it was asked. Please begin again; if it lasts, tell "
            "whoever runs this server.",
            found=error[:80],
        )
    if not (code := request.GET.get("code")):
        raise Untrusted("there is no code in it")
    token = exchange(begun.provider, chosen, code=code, back=begun.back, verifier=begun.verifier)
    told = vouched(token, keys_of(begun.provider), chosen, nonce=begun.nonce, begun=begun.at)
    return name_in(told, chosen.claim)


def _account_of(name: str) -> Account:
    account = linked_account(name)
    if account is None:
        raise Refused(
            f"The hospital’s sign-on knows you as ‘{name}’, and no account here is linked to that. Please "
            f"tell whoever keeps the accounts: fabella account link NAME --sign-on {quote(name)}.",
            found=f"nobody is linked to {name!r}",
        )
    if not account.is_active:
        raise Refused(
            "Your account here is closed. Please ask whoever keeps the accounts.",
            found=f"the account {account.name} is closed",
        )
    return account


def _chosen() -> SignOn:
    """Return the provider that was chosen; without one there is no such page."""
    chosen = settings.FABELLA.sign_on
    if not isinstance(chosen, SignOn):
        raise Http404
    return chosen


def _refuse(request: Request, refused: Refused, asked: str) -> HttpResponse:
    log.warning("sign-on: nobody was let in: %s", refused.found or refused)
    return login_page(request, message=str(refused), asked=asked, status=refused.status)


addresses = (
    path("login/hospital/", sign_on, name="sign_on"),
    path("login/hospital/back/", back, name="sign_on_back"),
    path("login/hospital/enter/", come_in, name="sign_on_enter"),
)
