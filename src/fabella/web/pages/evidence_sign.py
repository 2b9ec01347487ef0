"""One sign: how it is done, what it tells, its rival sources, and how the model uses it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import Http404, HttpResponse

from fabella.anatomy import load_lesions
from fabella.evidence import Edition, SignEvidence, describe, load_edition, signs
from fabella.evidence.knowledge import load_knowledge
from fabella.protocol import Protocol, load_protocol
from fabella.protocol.card import card
from fabella.report.forest import Forest, forests, typeset
from fabella.report.roc import Roc, no_roc, roc
from fabella.web.door import enter_known
from fabella.web.evidence.measures import Measured, measured_by
from fabella.web.evidence.signs import SignUse, Tells, sign_use, tells_of_sign
from fabella.web.templating import render, said
from fabella.web.visitor import Request

_ELSEWHERE = {"Sums up", "Also called", "Rests on"}  # parts of a card that stand elsewhere on the page


@dataclass(frozen=True, slots=True, kw_only=True)
class SignHead:
    """Id and names of a sign; ``position`` is empty for what is no sign of the examination."""

    id: str
    name: str
    position: str
    also: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One question with its rivals, and the drawing of the pooled studies or why there is none."""

    forest: Forest
    roc: Roc | None
    no_roc: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SignPage:
    """Everything known of a sign."""

    template: ClassVar[str] = "evidence_sign.html"

    sign: SignHead = field(metadata=said("Id, name, position and other names of the sign."))
    card: tuple[tuple[str, str], ...] = field(
        metadata=said("How it is done and recorded, what is normal, cautions, and when not to do it.")
    )
    card_rests: str = field(metadata=said("What the card rests on; empty for no sign of the examination."))
    sums_up: tuple[tuple[str, str], ...] = field(metadata=said("Ids and names of the signs it sums up."))
    tells: tuple[Tells, ...] = field(metadata=said("Lesions that it tells most, the most told first."))
    questions: tuple[Question, ...] = field(metadata=said("Published accuracies, question by question."))
    known: SignEvidence | None = field(
        metadata=said("Agreement between examiners and gaps; None when nothing was looked for.")
    )
    use: SignUse | None = field(metadata=said("How the model uses it; None when it does not."))
    measured: Measured | None = field(
        metadata=said("Tables its measurement is held against; None when it is not measured.")
    )
    names: dict[str, str] = field(metadata=said("Names of signs by id, for sources that are borrowed."))
    edition: str = field(metadata=said("Edition of the evidence."))


@enter_known()
def evidence_sign(request: Request, sign: str) -> HttpResponse:
    """Show a sign."""
    edition, knowledge, protocol = load_edition(), load_knowledge(), load_protocol()
    known = _known(edition, sign)
    if sign not in protocol and known is None:
        raise Http404
    head = _head(protocol, sign, known)
    asked = forests(edition, knowledge, sign)
    own = protocol.sign(sign) if sign in protocol else None
    whole = card(own, protocol.position(own.position)) if own else ()
    page = SignPage(
        sign=head,
        card=tuple(each for each in whole if each[0] not in _ELSEWHERE),
        card_rests=own.provenance if own else "",
        sums_up=tuple((each, protocol.sign(each).name) for each in (own.summary_of if own else ())),
        tells=tells_of_sign(sign, head.name, load_lesions()),
        questions=tuple(_question(edition, each) for each in asked),
        known=known,
        use=sign_use(edition, knowledge, load_lesions(), sign),
        measured=measured_by(edition, own) if own and own.has_measure else None,
        names=_names(edition, protocol),
        edition=edition.id,
    )
    return render(request, page)


def _known(edition: Edition, sign: str) -> SignEvidence | None:
    held = any(each.sign_id == sign for each in signs(edition)) or edition.gaps_of(sign)
    return describe(edition, sign) if held else None


def _head(protocol: Protocol, sign: str, known: SignEvidence | None) -> SignHead:
    if sign in protocol:
        own = protocol.sign(sign)
        position = protocol.position(own.position).name
        return SignHead(id=sign, name=own.name, position=position, also=own.aliases)
    return SignHead(id=sign, name=typeset(known.name) if known else sign, position="", also=())


def _question(edition: Edition, asked: Forest) -> Question:
    question = (asked.sign, asked.target, asked.read)
    return Question(forest=asked, roc=roc(edition, *question), no_roc=no_roc(edition, *question))


def _names(edition: Edition, protocol: Protocol) -> dict[str, str]:
    return {each.sign_id: typeset(each.name) for each in signs(edition)} | {
        each.id: each.name for each in protocol.signs
    }
