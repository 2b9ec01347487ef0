"""What stands beside a claim and bears on its knee."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from fabella.anatomy import Side, other
from fabella.dictation.claims import Claim, Placed, is_illness
from fabella.dictation.nodes import SideNode, Turn
from fabella.dictation.roles import Role

SIDE_DOUBTFUL = "the side was put right, but not for what"


def has_own_side(events: Sequence[Placed], at: int, roles: Mapping[int, Role]) -> bool:
    """Say whether a claim was given a side before the one behind it: inside it, or right before it."""
    claim = events[at].event
    inside = isinstance(claim, Claim) and claim.inner is not None
    return inside or roles.get(at - 1) is Role.BEFORE


def has_two_sides(claim: Claim) -> bool:
    """Say whether a sign has a medial and a lateral side, so that "both sides" may mean these."""
    if claim.head is None:
        return False
    return bool(claim.head.word.refine) or "joint_line_tenderness" in claim.head.sites


def are_seen(claim: Claim, after: Claim) -> bool:
    """Say whether "and" joins two things that were seen: "an effusion and warmth on the left"."""
    return after.joined == "and" and all(is_illness(each) and not each.denials for each in (claim, after))


def follows_normal_knee(earlier: Claim | None, claim: Claim) -> bool:
    """Say whether one knee was normal as a whole right before: what is told now is of the other one.

    "The right knee is normal. But the left has an effusion and is warm."
    """
    if earlier is None or not earlier.whole or earlier.rest or earlier.of_named or earlier.excepted:
        return False
    told = not claim.whole and not claim.carried and len(earlier.sides) == 1
    return told and claim.sides == (other(earlier.sides[0]),)


def shares_its_side(events: Sequence[Placed], at: int) -> Claim | None:
    """Return the result before an end point, whose knee is that behind it: "…, 0 with a firm end left"."""
    claim, before = events[at].event, events[at - 1].event if at else None
    if not isinstance(claim, Claim) or not claim.reads("end_point") or events[at].after_break:
        return None
    same = isinstance(before, Claim) and events[at - 1].sentence == events[at].sentence
    return before if isinstance(before, Claim) and same and before.carried and before.inner is None else None


def last_claim(events: Sequence[Placed], at: int) -> Claim | None:
    """Return the last claim before a place."""
    return next((each.event for each in reversed(events[:at]) if isinstance(each.event, Claim)), None)


def _of_end_point(events: Sequence[Placed], at: int) -> Claim | None:
    """Return the test right before an end point, whose knee it shares."""
    step = 2 if at > 1 and isinstance(events[at - 1].event, SideNode) and not events[at].after_break else 1
    claim, before = events[at].event, events[at - step].event if at else None
    if not isinstance(claim, Claim) or not claim.reads("end_point"):
        return None
    at_once = isinstance(before, Claim) and before.sentence == claim.sentence and not claim.carried
    return before if at_once and isinstance(before, Claim) else None


def of_same_test(events: Sequence[Placed], at: int) -> Claim | None:
    """Return the result before it whose knee a claim shares: that of its end point, or at another bend."""
    return _of_end_point(events, at) or _at_another_bend(events, at) or _only_graded(events, at)


def _only_graded(events: Sequence[Placed], at: int) -> Claim | None:
    """Return the sign before a side of which a claim only tells how much: "antalgic on the right, mild"."""
    claim, before = events[at].event, events[at - 2].event if at > 1 else None
    if (
        not isinstance(claim, Claim)
        or not isinstance(before, Claim)
        or not isinstance(events[at - 1].event, SideNode)
    ):
        return None
    graded = {mod.slot for mod in claim.mods} in ({"degree"}, {"grade"})
    same = claim.carried and before.head is claim.head and before.sentence == claim.sentence
    return before if same and graded and claim.joined == "," and not before.has_result else None


def only_contrasts(before: object, claim: Claim) -> bool:
    """Say whether "nothing" behind a side is said of no sign: "in the left one nothing is there"."""
    nothing = any(said.says == "absent" and not negated for said, negated in claim.describing)
    return claim.head is None and nothing and isinstance(before, SideNode) and before.preposition


def _at_another_bend(events: Sequence[Placed], at: int) -> Claim | None:
    """Return the result right before it of the same test at another bend: "1+ at 30, 0 at 0"."""
    claim, before = events[at].event, events[at - 1].event if at else None
    if not isinstance(claim, Claim) or not isinstance(before, Claim) or before.sentence != claim.sentence:
        return None
    same = claim.carried and before.head is claim.head
    bends = before.bends_deg and claim.bends_deg and not {*before.bends_deg} & {*claim.bends_deg}
    return before if same and bends else None


def says_another_side(events: Sequence[Placed], at: int, sides: tuple[Side, ...]) -> Claim | None:
    """Return the sign before a side, and right before it the other one: "no effusion left, right knee"."""
    if not ends_sentence(events, at):
        return None
    before = [each.event for each in events[max(0, at - 2) : at] if each.sentence == events[at].sentence]
    claim = before[0] if before else None
    if not isinstance(claim, Claim) or not isinstance(before[-1], SideNode):
        return None
    return claim if {*claim.sides, *sides} == set(Side) and len(claim.sides) == 1 else None


def counts(placed: Placed) -> bool:
    """Say whether an event can give or take a side: no withdrawn claim, and of turns only comparisons."""
    event = placed.event
    if isinstance(event, Claim):
        return not event.withdrawn and event.twin is None
    return not isinstance(event, Turn) or event.kind in {"same", "similar"}


def doubt_other_sides(events: Sequence[Placed], at: int, sides: tuple[Side, ...]) -> None:
    """Ask about what was said last of the other knee, where "that was the right knee" may be said of it."""
    for placed in reversed(events[:at]):
        if isinstance(placed.event, Claim) and placed.event.sides:
            if placed.event.sides == sides:
                return
            placed.event.ask = placed.event.ask or SIDE_DOUBTFUL


def only_compares(events: Sequence[Placed], at: int) -> bool:
    """Say whether a side ends a sentence that told something: "Lachman 1+, same as the left. Effusion"."""
    claim = last_claim(events, at)
    told = claim is not None and claim.sentence == events[at].sentence
    return told and ends_sentence(events, at)


def ends_sentence(events: Sequence[Placed], at: int) -> bool:
    """Say whether nothing follows an event in its sentence."""
    return at + 1 == len(events) or events[at + 1].sentence != events[at].sentence


def side_at(events: Sequence[Placed], place: int) -> SideNode | None:
    """Return the side that was named at a place, if one was."""
    event = events[place].event if 0 <= place < len(events) else None
    return event if isinstance(event, SideNode) else None


def name_headings(events: Sequence[Placed]) -> None:
    """Let a bare sign of no knee be the heading of what is told of each: "swelling, right yes, left no"."""
    claims = [each.event for each in events if isinstance(each.event, Claim) and not each.event.withdrawn]
    for claim, following in pairwise(claims):
        bare = is_illness(claim) and not claim.has_result and not claim.carried and not claim.ask
        one, two = claim.word, following.word
        next_one = following.sentence == claim.sentence + 1
        same = next_one and one is not None and two is not None and one.to == two.to
        told = bool(following.sides) and ((following.carried and following.head is claim.head) or same)
        claim.subject = claim.subject or (bare and told and not claim.sides)
