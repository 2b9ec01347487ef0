"""The options by which a server is told of the hospital's sign-on."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fabella.cli.whole_file import read_whole
from fabella.errors import UsageError

if TYPE_CHECKING:
    from fabella.web.sign_on.chosen import SignOn

Issuer = Annotated[
    str | None,
    typer.Option(
        "--sign-on",
        envvar="FABELLA_SIGN_ON",
        help="Let people enter by the hospital's sign-on (OpenID Connect): its issuer.",
        show_default=False,
    ),
]
Client = Annotated[
    str | None,
    typer.Option(
        "--sign-on-client",
        envvar="FABELLA_SIGN_ON_CLIENT",
        help="Name under which this server is registered there.",
        show_default=False,
    ),
]
SecretFile = Annotated[
    Path | None,
    typer.Option(
        "--sign-on-secret",
        envvar="FABELLA_SIGN_ON_SECRET",
        help="File with the secret that was given to this server there.",
        show_default=False,
    ),
]
Claim = Annotated[str, typer.Option("--sign-on-claim", help="What of its ID token accounts are linked to.")]
Minutes = Annotated[
    int,
    typer.Option(
        "--sign-on-minutes",
        min=0,
        help="Ask nobody again who showed it who they are so long ago; 0 asks each time.",
    ),
]
Only = Annotated[
    bool, typer.Option("--sign-on-only", help="Keep passwords for administrators alone, for emergencies.")
]


def sign_on_of(
    issuer: str | None, client: str | None, secret: Path | None, *, claim: str, minutes: int, only: bool
) -> SignOn | None:
    """Return the sign-on that was chosen, None without one; raise `UsageError` for one that cannot be."""
    from fabella.web.sign_on.chosen import SUBJECT, SignOn

    if issuer is None:
        if client or secret or claim != SUBJECT or minutes or only:
            raise UsageError("--sign-on-… needs --sign-on: the issuer of the hospital's sign-on")
        return None
    chosen = SignOn(
        issuer=issuer,
        client=client or "",
        secret=_secret(secret),
        claim=claim,
        minutes=minutes,
        only=only,
    )
    chosen.check()
    return chosen


def _secret(path: Path | None) -> str:
    if path is None:
        return ""
    try:
        return read_whole(path).decode("ascii").strip()
    except UnicodeDecodeError:
        raise UsageError(f"{path}: is no secret: it holds more than letters, digits and signs") from None
