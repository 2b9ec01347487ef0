"""Accounts: opened, closed, linked, listed. A password is never kept, only its Argon2 hash."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from fabella.errors import FabellaError, Problem, Problems, suggestion
from fabella.store.accounts.models import Account
from fabella.store.actor import Role
from fabella.store.router import ACCOUNTS
from fabella.store.writing import writing

SERVICE = "knee"
"""The service of an account that names none, and of the clinician at this machine."""

_NAME = re.compile(r"[a-z0-9][a-z0-9._-]{1,39}")
_SHOWN_AT_MOST = 120
_LINKED_AT_MOST = 255  # OpenID Connect Core 1.0, section 2: no subject is longer


@dataclass(frozen=True, slots=True, kw_only=True)
class AccountLine:
    """One account as it is listed; ``sign_on`` is what the hospital calls the person, if it is linked."""

    name: str
    shown: str
    roles: tuple[Role, ...]
    service: str
    is_open: bool
    sign_on: str


def has_accounts() -> bool:
    """Say whether anybody could log in."""
    return Account.objects.filter(is_active=True).exists()


def list_accounts() -> tuple[AccountLine, ...]:
    """Return every account, by name."""
    return tuple(
        AccountLine(
            name=each.name,
            shown=each.shown,
            roles=tuple(role for role in Role if role in each.roles),
            service=each.service,
            is_open=each.is_active,
            sign_on=each.sign_on or "",
        )
        for each in Account.objects.order_by("name")
    )


def open_account(
    name: str,
    *,
    password: str | None,
    roles: Iterable[Role],
    shown: str = "",
    service: str = SERVICE,
    sign_on: str = "",
) -> None:
    """Open an account; ``shown`` is the name in letters, by default the account's own.

    ``sign_on`` links it as `link_account` does; then ``password`` may be None, and none enters. Raises
    `InputError` with everything that is wrong, the password's weaknesses included.
    """
    roles, shown = frozenset(roles), " ".join(shown.split()) or name
    problems = Problems([*_name_problems(name, shown, service), *_link_problems(sign_on, name)])
    if password is not None or not sign_on:
        problems += _password_problems(password or "", Account(name=name, shown=shown))
    if not roles:
        problems.add("role", "", "is missing", f"allowed: {', '.join(Role)}")
    problems.raise_any()
    with writing(ACCOUNTS):
        Account.objects.open(
            name, shown=shown, password=password, roles=roles, service=service, sign_on=sign_on or None
        )


def link_account(name: str, sign_on: str) -> None:
    """Let the hospital's sign-on enter by an account when it calls the person so; empty takes that back.

    Whoever is inside by an earlier link is outside. Raises `InputError` for what no sign-on calls anybody,
    and for what is linked to another account.
    """
    with writing(ACCOUNTS):
        account = _account(name)
        Problems(_link_problems(sign_on, name)).raise_any()
        account.sign_on = sign_on or None
        account.save(update_fields=["sign_on"])


def linked_account(sign_on: str) -> Account | None:
    """Return the account, open or closed, of whom the hospital's sign-on calls so; None without one."""
    return Account.objects.filter(sign_on=sign_on).first() if _is_linkable(sign_on) else None


def close_account(name: str) -> None:
    """Close an account: nobody enters by it any more, and what it wrote stays under its name."""
    with writing(ACCOUNTS):
        account = _account(name)
        account.is_active = False
        account.save(update_fields=["is_active"])


def set_password(name: str, password: str) -> None:
    """Give an account another password, which ends all its sessions; raise `InputError` for a weak one."""
    with writing(ACCOUNTS):
        account = _account(name)
        _password_problems(password, account).raise_any()
        account.set_password(password)
        account.is_active = True
        account.save(update_fields=["password", "is_active"])


def _account(name: str) -> Account:
    account = Account.objects.filter(name=name).first() if _NAME.fullmatch(name) else None
    if account is None:
        near = suggestion(name, [each.name for each in list_accounts()])
        raise FabellaError(f"there is no account '{name}'" + (f"; {near}" if near else ""))
    return account


def _name_problems(name: str, shown: str, service: str) -> Iterable[Problem]:
    if not _NAME.fullmatch(name):
        remedy = "write 2 to 40 small letters, digits, dots and dashes, the first a letter or digit"
        yield Problem(place="name", value=name, says="is no name for an account", remedy=remedy)
    elif Account.objects.filter(name=name).exists():
        yield Problem(place="name", value=name, says="is taken", remedy="choose another")
    for place, text in (("shown", shown), ("service", service)):
        if not text.strip() or len(text) > _SHOWN_AT_MOST or not text.isprintable():
            remedy = f"write up to {_SHOWN_AT_MOST} characters"
            yield Problem(
                place=place, value=text[:40], says="is empty, too long or unprintable", remedy=remedy
            )


def _is_linkable(sign_on: str) -> bool:
    return 0 < len(sign_on) <= _LINKED_AT_MOST and sign_on.isprintable() and sign_on == sign_on.strip()


def _link_problems(sign_on: str, name: str) -> Iterable[Problem]:
    if sign_on and not _is_linkable(sign_on):
        says, remedy = "is nothing a sign-on calls anybody", f"write up to {_LINKED_AT_MOST} characters"
        yield Problem(place="sign-on", value=sign_on[:40], says=says, remedy=remedy)
    elif sign_on and (other := Account.objects.filter(sign_on=sign_on).exclude(name=name).first()):
        remedy = f"take it from there first: fabella account link {other.name} --sign-on ''"
        yield Problem(place="sign-on", value=sign_on, says=f"is linked to {other.name}", remedy=remedy)


def _password_problems(password: str, account: Account) -> Problems:
    problems = Problems()
    try:
        validate_password(password, account)
    except ValidationError as error:
        for each in error.messages:
            says = each.rstrip(".").lower().replace(". ", ": ")
            problems.add("password", "", says, "choose a longer phrase")
    return problems
