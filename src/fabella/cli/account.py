"""``fabella account``: who may enter."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from fabella.cli.opening import Data, DatabaseUrl, KeyFile, data_folder, opened, secret_line
from fabella.errors import UsageError
from fabella.store import Role

if TYPE_CHECKING:
    from fabella.store.accounts.keeping import AccountLine


class Deed(StrEnum):
    """What is done with an account."""

    ADD = "add"
    CLOSE = "close"
    LINK = "link"
    PASSWORD = "password"  # noqa: S105  a word of the command line
    LIST = "list"


def account(  # noqa: PLR0917  a command line has no keywords of its own
    deed: Annotated[Deed, typer.Argument(help="What to do.", show_default=False)],
    name: Annotated[
        str | None, typer.Argument(help="Name of the account, in small letters.", show_default=False)
    ] = None,
    roles: Annotated[
        list[Role] | None,
        typer.Option("--role", help="What it is for; may be given several times.", show_default=False),
    ] = None,
    shown: Annotated[
        str, typer.Option("--shown", help="Name as it stands in letters.", show_default=False)
    ] = "",
    service: Annotated[
        str, typer.Option("--service", help="Service whose patients a clinician sees.")
    ] = "knee",
    sign_on: Annotated[
        str | None,
        typer.Option(
            "--sign-on",
            help="What the hospital's sign-on calls the person; '' takes that back.",
            show_default=False,
        ),
    ] = None,
    data: Data = None,
    key_file: KeyFile = None,
    database_url: DatabaseUrl = None,
) -> None:
    """Open, close, link or list accounts, or give one another password.

    A link lets a person enter by the hospital's sign-on.

    The password is asked for, or read from standard input when that is no terminal; so is the passphrase of
    encrypted databases before it. An account that is opened with --sign-on has none: it enters by the sign-on
    alone, until it is given one.
    """
    if deed is not Deed.LIST and not name:
        raise UsageError(f"account {deed} needs the NAME of an account")
    if deed is Deed.LINK and sign_on is None:
        raise UsageError("account link needs --sign-on: what the hospital's sign-on calls the person")
    with opened(data or data_folder(), key_file=key_file, database_url=database_url):
        _do(deed, str(name), roles=roles or (), shown=shown, service=service, sign_on=sign_on or "")


def _do(deed: Deed, name: str, *, roles: Sequence[Role], shown: str, service: str, sign_on: str) -> None:
    from fabella.store.accounts import keeping  # once it is configured
    from fabella.store.preparing import prepare_databases

    prepare_databases()
    match deed:
        case Deed.LIST:
            _list(keeping.list_accounts())
        case Deed.ADD:
            password = None if sign_on else _password()
            keeping.open_account(
                name, password=password, roles=roles, shown=shown, service=service, sign_on=sign_on
            )
            print(f"{name} may enter.")
        case Deed.LINK:
            keeping.link_account(name, sign_on)
            print(f"{name} enters by the sign-on as {sign_on}." if sign_on else f"{name} is linked no more.")
        case Deed.CLOSE:
            keeping.close_account(name)
            print(f"{name} may not enter any more.")
        case Deed.PASSWORD:
            keeping.set_password(name, _password())
            print(f"{name} has another password.")


def _list(accounts: Sequence[AccountLine]) -> None:
    for each in accounts:
        linked = f"  signs on as {each.sign_on}" if each.sign_on else ""
        state = "" if each.is_open else "  closed"
        print(f"{each.name}  {each.shown}  {', '.join(each.roles)}  {each.service}{linked}{state}")
    if not accounts:
        print("There is no account.")


def _password() -> str:
    if sys.stdin is not None and sys.stdin.isatty():
        return str(typer.prompt("Password", hide_input=True, confirmation_prompt=True))
    return secret_line()
