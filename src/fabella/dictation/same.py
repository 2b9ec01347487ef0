"""Findings of one knee told by those of the other: "left knee the same", "as did the left"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.anatomy import Side, other
from fabella.dictation.claims import Claim, Placed
from fabella.dictation.nodes import SideNode, Turn
from fabella.dictation.proposal import Proposal
from fabella.dictation.rest import REST_AS
from fabella.dictation.roles import neighbour
from fabella.dictation.sides import resolve
from fabella.dictation.vocabulary import Class
from fabella.protocol import Protocol
from fabella.record import Finding, State

HOW_MUCH_THE_SAME = "only the last sign, or everything?"
SAME_OR_NORMAL = "the same as the other knee, or normal?"
_AS_WHAT = "the same as what?"
_AS_WHICH = "the same as what, on which knee?"
_ON = "same on"
_OF_ITS_SENTENCE = ("as d", "so d", "symmetric")


def same_as(
    turn: Turn, events: Sequence[Placed], place: int, found: Sequence[Proposal], protocol: Protocol
) -> Proposal:
    """Return what "the same" at a place of the events proposes, by what was found before it."""
    before, after = _side_beside(events, place, -1), _side_beside(events, place, 1)
    proposal = Proposal(pieces=turn.pieces)
    if turn.value == REST_AS:
        return _rest_of(proposal, after, found, protocol)
    if turn.value == _ON and after is not None:
        before = None  # "negative on the right, same on the left"
    target = before or after
    sides = resolve(target, ()) if target is not None else ()
    if len(sides) != 1 or target is None:
        proposal.question = _AS_WHICH
        return proposal
    if turn.value.startswith("same as") and before and after and _follows(events, place):
        return proposal  # what is the same comes after, and is said of both knees
    there = [one for one in found if one.claim and other(sides[0]) in _knees(one)]
    meant = _meant(turn, events, place, there, only_last=before is None and not target.is_heading)
    if meant is None:
        proposal.question = HOW_MUCH_THE_SAME
        return proposal
    told = [each for one in meant for each in one.findings if each.side is other(sides[0])]
    told = [each for each in told if not _is_limp(each, protocol)]
    if _is_normal(events, place) and any(each.state is State.ABNORMAL for each in told):
        proposal.question = SAME_OR_NORMAL
        return proposal
    proposal.findings = [replace(each, side=sides[0]) for each in told]
    proposal.question = "" if told else _AS_WHAT
    return proposal


def _is_limp(finding: Finding, protocol: Protocol) -> bool:
    """Say whether it was seen of one knee in walking: "the other one the same" tells of no second limp."""
    return protocol.sign(finding.sign).position == "walking" and finding.state is State.ABNORMAL


def _is_normal(events: Sequence[Placed], place: int) -> bool:
    """Say whether a knee is said to be normal besides: "left knee the same, all normal"."""
    later = [each.event for each in events[place + 1 :] if each.sentence == events[place].sentence]
    return any(
        isinstance(each, Claim)
        and (each.whole or each.head is None)
        and any(said.whole and not negated for said, negated in each.describing)
        for each in later
    )


def _meant(
    turn: Turn, events: Sequence[Placed], place: int, there: Sequence[Proposal], *, only_last: bool
) -> Sequence[Proposal] | None:
    """Return what "the same" means of what was found on the other knee; None where that is not certain.

    It means the sign that it names, or all of its sentence, or all there is; a side behind it that opens
    nothing new (``only_last``) means only what was said last.
    """
    if (scope := _scope(turn, events, place)) is not None:
        scope.subject = True
        return [one for one in there if one.claim and _name(one.claim) == _name(scope)]
    if turn.value.startswith(_OF_ITS_SENTENCE):
        return [one for one in there if one.claim and one.claim.sentence == events[place].sentence]
    if under := _under_heading(events, place, there):
        return under
    if turn.value == _ON and _tells_before(events, place):
        there = [one for one in there if one.claim and one.claim.sentence == events[place].sentence]
    if not only_last:
        return there
    return there[-1:] if len(there) <= 1 or _has_own_side(events, place) else None


def _under_heading(
    events: Sequence[Placed], place: int, there: Sequence[Proposal]
) -> Sequence[Proposal] | None:
    """Return what a bare side is the same in: "Hips. Left rotates freely. Right the same.", "…, right ditto".

    It is what was told of the other knee in its own sentence, or in the one before where a heading names it.
    """
    side, last = _side_beside(events, place, -1), there[-1].claim if there else None
    if side is None or side.knee or last is None:
        return None
    sentence = last.sentence
    if sentence != events[place].sentence - last.carried and sentence != events[place].sentence:
        return None
    return [one for one in there if one.claim is not None and one.claim.sentence == sentence]


def nothing_of_those(found: Sequence[Proposal]) -> None:
    """Let a sentence that says no more than "left nil" deny all that the one before found on the right.

    A reading, and a sign that is there in health, stay with that knee: nobody denies them so.
    """
    for proposal in found:
        claim = proposal.claim
        if claim is None or not _says_only_nil(claim, found) or len(claim.sides) != 1:
            continue
        before = [one for one in found if one.claim and one.claim.sentence == claim.sentence - 1]
        if {each.side for one in before for each in one.findings} != {other(claim.sides[0])}:
            continue
        own = {each.sign for each in proposal.findings}
        if denied := [sign for one in before if (sign := _deniable(one)) and sign not in own]:
            proposal.findings += [
                Finding(sign=sign, side=claim.sides[0], state=State.NORMAL) for sign in denied
            ]
            proposal.question, proposal.choices = "", ()


def _deniable(told: Proposal) -> str:
    """Return the sign found on one knee that "nil" may deny of the other; of a hard lump, the lump."""
    if told.claim is None or not told.claim.is_of(Class.ILLNESS, Class.TEST) or not told.findings:
        return ""
    first = told.findings[0]
    return first.sign if first.state is State.ABNORMAL and first.value is None else ""


def _says_only_nil(claim: Claim, found: Sequence[Proposal]) -> bool:
    said = [each.key for each, negated in claim.describing if not negated]
    alone = sum(one.claim is not None and one.claim.sentence == claim.sentence for one in found) == 1
    return alone and claim.carried and said == ["nil"] and not claim.quantities


def _rest_of(
    proposal: Proposal, like: SideNode | None, found: Sequence[Proposal], protocol: Protocol
) -> Proposal:
    """Propose of a knee what was said of the other one and not of itself: "rest as right"."""
    sides = resolve(like, ()) if like is not None else ()
    if len(sides) != 1:
        proposal.question = _AS_WHICH
        return proposal
    here = other(sides[0])
    told = [each for one in found for each in one.findings]
    own = {each.sign for each in told if each.side is here}
    own |= {part for sign in own for part in protocol.sign(sign).summary_of}
    rest = [
        replace(each, side=here)
        for each in told
        if each.side is sides[0] and not own & {each.sign, *protocol.sign(each.sign).summary_of}
    ]
    proposal.findings = list(dict.fromkeys(rest))
    proposal.question = "" if rest else _AS_WHAT
    return proposal


def leave_out_exceptions(
    alike: Sequence[tuple[Proposal, int]], found: Sequence[Proposal], protocol: Protocol
) -> None:
    """Take out of "the same" what its sentence says to differ: "left knee the same but no effusion"."""
    for proposal, sentence in alike:
        told = [one for one in found if one.claim is not None and one.claim.sentence == sentence]
        differs = {
            (sign, each.side)
            for one in told
            if one.claim is not None and one.claim.is_exception
            for each in one.findings
            for sign in (each.sign, *protocol.sign(each.sign).summary_of)
        }
        proposal.findings = [each for each in proposal.findings if (each.sign, each.side) not in differs]


def _knees(proposal: Proposal) -> set[Side | None]:
    return {finding.side for finding in proposal.findings}


def _name(claim: Claim) -> str:
    return claim.word.name if claim.word is not None else ""


def _side_beside(events: Sequence[Placed], place: int, step: int) -> SideNode | None:
    event = neighbour(events, place, step)
    return event if isinstance(event, SideNode) else None


def _follows(events: Sequence[Placed], place: int) -> bool:
    """Say whether claims follow in the sentence, which then tell what is the same."""
    later = [each.event for each in events[place + 1 :] if each.sentence == events[place].sentence]
    return any(isinstance(each, Claim) and not each.is_exception for each in later)


def _scope(turn: Turn, events: Sequence[Placed], place: int) -> Claim | None:
    """Return the claim that only names the sign of which the same is said: "for the Lachman"."""
    for each in events[place + 1 : place + 3]:
        if isinstance(each.event, Claim) and each.sentence == events[place].sentence:
            claim = each.event
            bare = claim.head is not None and not claim.has_result
            return claim if bare and (not each.after_break or _is_next(turn, claim)) else None
    return None


def _is_next(turn: Turn, claim: Claim) -> bool:
    """Say whether a sign follows "identical" at once: "identical range"."""
    return bool(claim.pieces) and min(claim.pieces)[0] == turn.pieces[-1][1]


def _tells_before(events: Sequence[Placed], place: int) -> bool:
    """Say whether something was told in its sentence, even if not understood: that is what is the same."""
    before = (each for each in events[:place] if each.sentence == events[place].sentence)
    return any(isinstance(each.event, Claim) for each in before)


def _has_own_side(events: Sequence[Placed], place: int) -> bool:
    """Say whether the sign before was given a side of its own."""
    before = events[place - 1].event if place else None
    return isinstance(before, SideNode) or (isinstance(before, Claim) and before.inner is not None)
