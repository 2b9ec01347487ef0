"""What an administrator sees: the accounts, and whether the trail is whole. No patient."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse

from fabella.store import Role
from fabella.store.accounts.keeping import AccountLine, list_accounts
from fabella.store.clinic.verifying import Verification, verify
from fabella.web.door import SENDING, enter
from fabella.web.templating import render, said
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class AdministrationPage:
    """Accounts and trail."""

    template: ClassVar[str] = "administration.html"

    accounts: tuple[AccountLine, ...] = field(metadata=said("Every account, by name."))
    found: Verification | None = field(
        metadata=said("What checking the trail found; None before it was asked for.")
    )


@enter(Role.ADMINISTRATOR, methods=SENDING)
def administration(request: Request) -> HttpResponse:
    """Show the accounts; check the trail when asked to."""
    found = verify(request.person) if request.method == "POST" else None
    return render(request, AdministrationPage(accounts=list_accounts(), found=found))
