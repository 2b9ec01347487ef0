"""What "left knee normal", "otherwise normal" and ", left normal" include."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fabella.anatomy import Side, other
from fabella.dictation.lump_findings import OF_A_LUMP
from fabella.dictation.proposal import Proposal
from fabella.dictation.vocabulary import Lexicon
from fabella.protocol import Kind, Protocol
from fabella.record import Finding, State

_WITHOUT_A_MANOEUVRE = {Kind.LOOK, Kind.FEEL}
"""What is seen or felt of any knee; nobody did a manoeuvre because it was done on the other one."""

_STABLE = "ligament_laxity_any"
"""All ligaments as one; where one of them was told by itself the others stand by themselves, too."""

_ELSEWHERE = {"preparation", "history", "walking", "hip_foot_back", "vessels_nerves", "general"}
"""Positions that nobody means by "the knee is normal"."""


def whole_knee(
    side: Side, found: Sequence[Proposal], protocol: Protocol, lexicon: Lexicon
) -> Iterator[Finding]:
    """Yield what a knee that is normal, or otherwise normal, certainly includes."""
    stated = [each for one in found if not one.whole for each in one.findings]
    asked = {f.sign for one in found for choice in one.choices for f in choice.findings if f.side is side}
    here = {each.sign for each in stated if each.side is side} | asked
    silent = here | {sign for group in lexicon.same_thing if group & here for sign in group}
    there = dict.fromkeys(each.sign for each in stated if each.side is other(side))
    told = [each for each in there if each not in OF_A_LUMP]
    plain = [each for each in told if protocol.sign(each).kind in _WITHOUT_A_MANOEUVRE]
    mirrored = [each for each in plain if protocol.sign(each).position not in _ELSEWHERE]
    covered = {sign for group in lexicon.same_thing if group & set(mirrored) for sign in group}
    added = [each for each in lexicon.whole if each not in covered]
    if here.intersection(protocol.sign(_STABLE).summary_of):
        added += lexicon.whole_ligaments
    for sign in dict.fromkeys([*mirrored, *added]):
        if sign not in silent:
            yield Finding(sign=sign, side=side, state=State.NORMAL)


def as_named(side: Side, told: Sequence[Proposal]) -> Iterator[Finding]:
    """Yield the signs told of the other knee in a sentence that ends in ", left normal", and no others."""
    stated = [each for one in told if not one.whole for each in one.findings]
    here = {each.sign for each in stated if each.side is side}
    for sign in dict.fromkeys(each.sign for each in stated if each.side is other(side)):
        if sign not in here:
            yield Finding(sign=sign, side=side, state=State.NORMAL)
