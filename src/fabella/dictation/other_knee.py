"""What is told of the past of the knee that is not complained of: answers are about the one that is."""

from __future__ import annotations

from collections.abc import Iterable

from fabella.anatomy import Side
from fabella.dictation.proposal import Proposal
from fabella.protocol import Protocol

OF_THE_OTHER = "it is told of the other knee; is it so of the knee complained of?"


def ask_of_other_knee(
    proposals: Iterable[Proposal], complained_of: tuple[Side, ...], protocol: Protocol
) -> None:
    """Ask about an answer that is told, in its own sentence, of a knee that nobody complains of.

    "Right knee pain. Left: scar of a total knee replacement." leaves the right one its own joint. A denial
    stays as it is, and so does what is asked of the person.
    """
    if not complained_of:
        return
    for proposal in proposals:
        claim = proposal.claim
        if claim is None or not claim.sides or not claim.same_sentence_side:
            continue
        told = [protocol.sign(item) for item, answer in proposal.answers if answer]
        if set(claim.sides).isdisjoint(complained_of) and not all(each.is_person for each in told):
            proposal.answers, proposal.question = (), OF_THE_OTHER
