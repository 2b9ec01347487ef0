"""What this is, and how it is used."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse

from fabella.evidence import LATEST
from fabella.figure import position_figure
from fabella.protocol import Position, Sign, load_protocol
from fabella.web.door import enter_known
from fabella.web.templating import render, said
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class HelpPage:
    """The way through an examination, and what the program promises."""

    template: ClassVar[str] = "help.html"

    positions: tuple[tuple[Position, tuple[Sign, ...], str], ...] = field(
        metadata=said("Every position with its drawing and the signs that every examiner looks for in it.")
    )
    edition: str = field(metadata=said("Edition of the evidence that conclusions rest on."))


@enter_known()
def help_page(request: Request) -> HttpResponse:
    """Show the help."""
    protocol = load_protocol()
    positions = tuple(
        (
            each,
            tuple(sign for sign in protocol.at(each.id) if sign.routine and not sign.is_summary),
            position_figure(each.id),
        )
        for each in protocol.positions
    )
    return render(request, HelpPage(positions=positions, edition=LATEST))
