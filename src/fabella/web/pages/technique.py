"""How one sign is looked for: a card for whoever is learning, with its drawing."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import Http404, HttpResponse

from fabella.figure import sign_figure
from fabella.protocol import Contraindication, load_protocol
from fabella.protocol.card import card
from fabella.web.door import enter_known
from fabella.web.templating import render, said
from fabella.web.visitor import Request

_FACTS = ("Normal", "Record", "Knee bent", "Sides", "Time", "Hurts", "Guarding")


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """The card of a sign as a part of another page."""

    template: ClassVar[str] = "_card.html"

    sign: str = field(metadata=said("Id of the sign."))
    name: str = field(metadata=said("Name of the sign."))
    position: str = field(metadata=said("Name of the position in which it is looked for."))
    technique: str = field(metadata=said("What is done, or asked."))
    caution: str = field(metadata=said("What to beware of; empty when there is nothing."))
    facts: tuple[tuple[str, str], ...] = field(
        metadata=said("Headings and words: what is normal, how it is recorded, angle, sides, time, pain.")
    )
    not_when: tuple[Contraindication, ...] = field(metadata=said("When it must not be done, and why."))
    drawing: str = field(metadata=said("Drawing of how it is done; empty when there is none."))


@dataclass(frozen=True, slots=True, kw_only=True)
class CardPage(Card):
    """The same as a page of its own."""

    template: ClassVar[str] = "technique.html"


@enter_known()
def card_part(request: Request, sign: str) -> HttpResponse:
    """Show the card of a sign as a part of another page."""
    return render(request, _made(sign, Card))


@enter_known()
def technique(request: Request, sign: str) -> HttpResponse:
    """Show the card of a sign as a page."""
    return render(request, _made(sign, CardPage))


def _made(sign_id: str, kind: type[Card]) -> Card:
    protocol = load_protocol()
    if sign_id not in protocol:
        raise Http404
    sign = protocol.sign(sign_id)
    position = protocol.position(sign.position)
    words = dict(card(sign, position))
    return kind(
        sign=sign.id,
        name=sign.name,
        position=position.name,
        technique=sign.technique,
        caution=sign.caution,
        facts=tuple((heading, words[heading]) for heading in _FACTS if heading in words),
        not_when=sign.avoid_when,
        drawing=sign_figure(sign.id) or "",
    )
