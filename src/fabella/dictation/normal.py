"""What "normal" without a sign is said of: the whole knee, or the signs named before it."""

from __future__ import annotations

from collections.abc import Sequence

from fabella.dictation.beside import side_at
from fabella.dictation.claims import Claim, Placed
from fabella.dictation.nodes import SideNode
from fabella.dictation.roles import neighbour


def says_whole(claim: Claim, events: Sequence[Placed], place: int, before: Sequence[Claim]) -> bool:
    """Say whether "normal" without a sign means the whole knee and not the sign named before.

    "Left normal" means the sign before when that had a side of its own ("Lachman right 2+, left normal").
    """
    if not any(said.whole and not negated for said, negated in claim.describing) or _is_narrowed(claim):
        return False
    if claim.rest or claim.knee or any(said.phrase for said, _ in claim.describing):
        return True
    ahead = side_at(events, place - 1)
    if ahead is None or (events[place].after_break and not ahead.is_heading):
        first = not before or before[-1].sentence != claim.sentence
        return first and isinstance(neighbour(events, place, 1), SideNode)
    if ahead.knee or ahead.colon or not before:
        return True
    return not isinstance(neighbour(events, place, 1), Claim) and not _has_own_side(before[-1], events, place)


def _is_narrowed(claim: Claim) -> bool:
    """Say whether a place, a bend or a number tells of what else than a knee "normal" is said."""
    sited = any(mod.slot == "site" for mod in claim.mods)
    return sited or bool(claim.compartments or claim.bends_deg or claim.quantities)


def _has_own_side(claim: Claim, events: Sequence[Placed], place: int) -> bool:
    """Say whether a side that is no heading stands in a claim or beside it, before the one at a place."""
    at = next(at for at, each in enumerate(events) if each.event is claim)
    beside = [side_at(events, at - 1), side_at(events, at + 1) if at + 1 < place - 1 else None]
    return claim.inner is not None or any(node is not None and not node.is_heading for node in beside)


def means_named(claim: Claim, events: Sequence[Placed], place: int, before: Sequence[Claim]) -> bool:
    """Say whether ", left normal" closes a sentence about signs of the other knee, and means those."""
    if claim.rest or not before or before[-1].sentence != claim.sentence:
        return False
    return side_at(events, place - 1) is not None and events[place - 1].after_break
