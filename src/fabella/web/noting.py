"""What the server's log says of who came in and who was refused: a line each, on the standard error."""

from __future__ import annotations

import logging

from fabella.store.accounts.models import Account
from fabella.web.attempts import address_of
from fabella.web.visitor import Request

log = logging.getLogger(__name__)

_NO_NAME = "a name that no account has"  # somebody may have typed a password there


def keep_log() -> None:
    """Let every line of the log say when it was, and let log-ins be among them."""
    logging.basicConfig(
        format="%(asctime)s %(levelname)s %(name)s: %(message)s", datefmt="%Y-%m-%dT%H:%M:%S%z"
    )
    log.setLevel(logging.INFO)
    logging.getLogger("django.security").setLevel(logging.CRITICAL)  # `fabella.web.errors` says it, in a line


def note_entered(request: Request, account: Account, way: str) -> None:
    """Note that somebody logged in."""
    log.info("%s logged in from %s by %s", account.name, address_of(request), way)


def note_left(request: Request) -> None:
    """Note that somebody logged out."""
    log.info("%s logged out from %s", request.person.name, address_of(request))


def note_ended(request: Request, sessions: int) -> None:
    """Note that somebody ended sessions of their own from another one."""
    log.info(
        "%s ended %s of their other sessions from %s", request.person.name, sessions, address_of(request)
    )


def note_changed(request: Request) -> None:
    """Note that somebody changed their own password."""
    log.info("%s changed their own password from %s", request.person.name, address_of(request))


def note_unchanged(request: Request, why: str) -> None:
    """Note that whoever is logged in was not let change the password: somebody may have found a page open."""
    log.warning(
        "refused to change the password of %s from %s: %s", request.person.name, address_of(request), why
    )


def note_refused(request: Request, name: str, why: str) -> None:
    """Note that somebody was not let in; a name is written only when an account has it."""
    known = name if Account.objects.filter(name=name).exists() else _NO_NAME
    log.warning("refused a log-in as %s from %s: %s", known, address_of(request), why)
