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
    here, there = _told(side, found), _told(other(side), found)
    asked = {f.sign for one in found for choice in one.choices for f in choice.findings if f.side is side}
    mirrored = [sign for sign in there if _is_mirrored(sign, protocol)]
    added = [sign for sign in lexicon.whole if sign not in _with_twins(mirrored, lexicon)]
    if {*here, *asked}.intersection(protocol.sign(_STABLE).summary_of):
        added += lexicon.whole_ligaments
    silent = {*here, *asked} | _with_twins([*here, *asked], lexicon)
    for sign in dict.fromkeys([*mirrored, *added]):
        if sign not in silent:
            yield Finding(sign=sign, side=side, state=State.NORMAL)


def _told(side: Side, found: Sequence[Proposal]) -> tuple[str, ...]:
    """Return the signs that were told of a knee by themselves, in order."""
    told = (each.sign for one in found if not one.whole for each in one.findings if each.side is side)
    return tuple(dict.fromkeys(told))


def _is_mirrored(sign: str, protocol: Protocol) -> bool:
    """Say whether a sign told of one knee is meant by the other's being normal: one seen or felt."""
    asked = protocol.sign(sign)
    beside = sign in OF_A_LUMP or asked.position in _ELSEWHERE
    return asked.kind in _WITHOUT_A_MANOEUVRE and not beside


def _with_twins(signs: Sequence[str], lexicon: Lexicon) -> set[str]:
    """Return every sign that is the same thing as one of these, told in another way."""
    return {sign for group in lexicon.same_thing if group & set(signs) for sign in group}


def as_named(side: Side, told: Sequence[Proposal]) -> Iterator[Finding]:
    """Yield the signs told of the other knee in a sentence that ends in ", left normal", and no others."""
    here = _told(side, told)
    for sign in _told(other(side), told):
        if sign not in here:
            yield Finding(sign=sign, side=side, state=State.NORMAL)
