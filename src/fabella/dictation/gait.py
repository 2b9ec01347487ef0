"""A limp is of the person: without a side of its own it is that of the only knee complained of."""

from __future__ import annotations

from collections.abc import Iterable

from fabella.anatomy import Side
from fabella.dictation.proposal import Proposal
from fabella.dictation.sides import WHICH_KNEE

_GAIT = ("antalgic_gait",)


def give_gait_its_side(proposals: Iterable[Proposal], complained_of: tuple[Side, ...]) -> None:
    """Give a limp of which only the side is open to the one knee of which something was complained.

    Where both knees or none are complained of, it is still asked about.
    """
    if len(complained_of) != 1:
        return
    for proposal in proposals:
        head = proposal.claim.head if proposal.claim is not None else None
        if proposal.question != WHICH_KNEE or head is None or head.word.to != _GAIT:
            continue
        here = [
            choice.findings
            for choice in proposal.choices
            if {each.side for each in choice.findings} == set(complained_of)
        ]
        if len(here) == 1:
            proposal.findings, proposal.question, proposal.choices = list(here[0]), "", ()
