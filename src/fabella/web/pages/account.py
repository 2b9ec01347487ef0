"""Saying who one is, and taking one's leave."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar
from urllib.parse import urlencode

from django.conf import settings
from django.contrib.auth import logout
from django.http import HttpResponse, HttpResponseRedirect
from django.urls import path
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.debug import sensitive_post_parameters

from fabella.store import Role
from fabella.web.attempts import address_of, attempts
from fabella.web.door import SENDING, enter_known, enter_unknown
from fabella.web.hashing import knows_password
from fabella.web.noting import note_entered, note_left, note_refused
from fabella.web.pages.own_password import own_password
from fabella.web.pages.own_sessions import own_sessions
from fabella.web.sessions import SIGNED_ON, begin_session
from fabella.web.sign_on.leaving import leaving_address_of
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class LoginPage:
    """The form for name and password, and the way to the hospital's sign-on."""

    template: ClassVar[str] = "login.html"

    name: str = field(metadata=said("The name as typed."))
    message: str = field(metadata=said("Why the door stays shut; empty before the first attempt."))
    next: str = field(metadata=said("The page that was asked for; empty for the start."))
    sign_on: str = field(metadata=said("Where the hospital’s sign-on begins; empty when there is none."))
    only: bool = field(metadata=said("Whether passwords are for administrators alone."))
    has_left: bool = field(metadata=said("Whether somebody who came by the sign-on has just logged out."))
    leaves: str = field(metadata=said("Where they log out at the hospital too; empty when not known."))


_WRONG = "Name and password do not fit together."
_WAIT = "There were too many attempts. Please wait a quarter of an hour, or ask whoever keeps the accounts."
_BY_SIGN_ON = "Here passwords are for administrators; your account enters by the hospital’s sign-on."
_LEFT = "sign-on"
_LONGEST = 80  # characters: no account has a longer name, and each attempt is remembered by it


@sensitive_post_parameters("password")
@enter_unknown(methods=SENDING)
def log_in(request: Request) -> HttpResponse:
    """Let somebody in who gives a name and its password."""
    asked = request.POST.get("next", request.GET.get("next", ""))
    if request.method != "POST":
        return login_page(request, asked=asked)
    name, address = request.POST.get("name", "")[:_LONGEST], address_of(request)
    if not attempts.may_try(name, address, request.now):
        note_refused(request, name, "too many attempts")
        return login_page(request, name=name, message=_WAIT, asked=asked, status=429)
    account = knows_password(request, name, request.POST.get("password", ""))
    if account is None:
        note_refused(request, name, "name and password do not fit together, or it is closed")
        return login_page(request, name=name, message=_WRONG, asked=asked, status=403)
    attempts.succeeded(name, address)
    sign_on = settings.FABELLA.sign_on
    if sign_on is not None and sign_on.only and Role.ADMINISTRATOR not in account.roles:
        note_refused(request, name, "by a password, which is for administrators")
        return login_page(request, name=name, message=_BY_SIGN_ON, asked=asked, status=403)
    begin_session(request, account, now=request.now)
    note_entered(request, account, "a password")
    return HttpResponseRedirect(way_to(asked))


@enter_known(methods=("POST",))
def log_out(request: Request) -> HttpResponse:
    """Let somebody go."""
    came_by_sign_on = SIGNED_ON in request.session
    logout(request)
    note_left(request)
    return HttpResponseRedirect(url("login") + (f"?left={_LEFT}" if came_by_sign_on else ""))


def login_page(
    request: Request, *, name: str = "", message: str = "", asked: str = "", status: int = 200
) -> HttpResponse:
    """Return the page on which somebody says who they are."""
    sign_on = settings.FABELLA.sign_on
    has_left = sign_on is not None and request.GET.get("left") == _LEFT
    begins = "" if sign_on is None else url("sign_on") + (f"?{urlencode({'next': asked})}" if asked else "")
    page = LoginPage(
        name=name,
        message=message,
        next=asked,
        sign_on=begins,
        only=sign_on is not None and sign_on.only,
        has_left=has_left,
        leaves=leaving_address_of(request.build_absolute_uri(url("login"))) if has_left else "",
    )
    return render(request, page, status=status)


def way_to(asked: str) -> str:
    """Return the page that was asked for before, or the start when that is none of ours."""
    is_ours = url_has_allowed_host_and_scheme(asked, allowed_hosts=None) and asked.startswith("/")
    return asked if is_ours else url("start")


addresses = (
    path("login/", log_in, name="login"),
    path("logout/", log_out, name="logout"),
    path("password/", own_password, name="own_password"),
    path("logged-in/", own_sessions, name="own_sessions"),
)
