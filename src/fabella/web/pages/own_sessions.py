"""Where one is logged in: one's own browsers, and the button that logs out another one."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.store.accounts.models import Account
from fabella.web.door import SENDING, enter_known
from fabella.web.forms import typed_whole
from fabella.web.logged_in import LoggedIn, end_elsewhere, logged_in
from fabella.web.noting import note_ended
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

_ENDED = "ended"


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnSessionsPage:
    """Where an account is logged in."""

    template: ClassVar[str] = "own_sessions.html"

    sessions: tuple[LoggedIn, ...] = field(
        metadata=said("Where the account is logged in, here first; empty where nobody needs an account.")
    )
    ended: int | None = field(metadata=said("How many were just ended; None when nothing was pressed."))


@enter_known(methods=SENDING)
def own_sessions(request: Request) -> HttpResponse:
    """Show where one is logged in; end one of the others, or all."""
    account = request.user
    if not isinstance(account, Account):
        return render(request, OwnSessionsPage(sessions=(), ended=None))
    if request.method == "POST":
        handle = request.POST.get("session", "")
        wanted = handle or request.POST.get("step") == "all"
        ended = end_elsewhere(account, request.session, now=request.now, handle=handle) if wanted else 0
        if ended:
            note_ended(request, ended)
        return HttpResponseRedirect(f"{url('own_sessions')}?{_ENDED}={ended}")
    page = OwnSessionsPage(
        sessions=logged_in(account, request.session, now=request.now),
        ended=typed_whole(request.GET[_ENDED]) if _ENDED in request.GET else None,
    )
    return render(request, page)
