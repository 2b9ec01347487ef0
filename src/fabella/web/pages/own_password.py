"""One's own password: whoever knows it changes it, and is then logged in nowhere else."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.conf import settings
from django.http import HttpResponse, HttpResponseRedirect
from django.views.decorators.debug import sensitive_post_parameters

from fabella.errors import InputError, Problem
from fabella.store import Role
from fabella.store.accounts.keeping import set_password
from fabella.store.accounts.models import Account
from fabella.web.attempts import address_of, attempts
from fabella.web.door import SENDING, enter_known
from fabella.web.forms import Form
from fabella.web.hashing import hashing, knows_password
from fabella.web.noting import note_changed, note_unchanged
from fabella.web.sessions import SIGNED_ON, begin_session
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

_WAIT = "There were too many attempts. Please wait a quarter of an hour."
_NONE = "Your account has no password: it is entered by the hospital’s sign-on."
_LOCAL = "At this machine nobody needs an account yet, and so there is no password."
_CHANGED = "changed"


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnPasswordPage:
    """The form for the old password and another one."""

    template: ClassVar[str] = "own_password.html"

    can_change: bool = field(metadata=said("Whether the account has a password that lets one in."))
    is_changed: bool = field(metadata=said("Whether it has just been changed."))
    message: str = field(metadata=said("Why it is not changed; empty when nothing is wrong."))
    form: Form = field(metadata=said("What is wrong with the fields; never what was typed."))


@sensitive_post_parameters("current", "new", "again")
@enter_known(methods=SENDING)
def own_password(request: Request) -> HttpResponse:
    """Give an account another password, for whoever knows the one that it has."""
    account = request.user
    if not isinstance(account, Account):
        return _page(request, message=_LOCAL, can_change=False)
    if not _has_one(account):
        return _page(request, message=_NONE, can_change=False)
    if request.method != "POST":
        return _page(request, is_changed=_CHANGED in request.GET)
    address = address_of(request)
    if not attempts.may_try(account.name, address, request.now):
        note_unchanged(request, "too many attempts")
        return _page(request, message=_WAIT, status=429)
    if knows_password(request, account.name, request.POST.get("current", "")) is None:
        note_unchanged(request, "the old one was not known")
        return _page(request, _wrong("current", "this does not fit your account"), status=403)
    attempts.succeeded(account.name, address)
    new = request.POST.get("new", "")
    if new != request.POST.get("again", ""):
        return _page(request, _wrong("again", "this is not the same"), status=400)
    try:
        with hashing:
            set_password(account.name, new)
    except InputError as error:
        return _page(request, Form(problems=tuple(_at_new(each) for each in error.problems)), status=400)
    note_changed(request)
    account.refresh_from_db()
    begin_session(request, account, now=request.now, signed_on=request.session.get(SIGNED_ON))
    return HttpResponseRedirect(f"{url('own_password')}?{_CHANGED}")


def _has_one(account: Account) -> bool:
    sign_on = settings.FABELLA.sign_on
    is_let_in = sign_on is None or not sign_on.only or Role.ADMINISTRATOR in account.roles
    return is_let_in and account.has_usable_password()


def _wrong(name: str, says: str) -> Form:
    return Form(problems=(Problem(place=name, says=says, remedy="type it again"),))


def _at_new(problem: Problem) -> Problem:
    return Problem(place="new", says=problem.says, remedy=problem.remedy)


def _page(
    request: Request,
    form: Form | None = None,
    *,
    message: str = "",
    can_change: bool = True,
    is_changed: bool = False,
    status: int = 200,
) -> HttpResponse:
    page = OwnPasswordPage(can_change=can_change, is_changed=is_changed, message=message, form=form or Form())
    return render(request, page, status=status)
