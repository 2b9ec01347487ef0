"""What "normal" without a sign is said of: the whole knee, or the signs named before it."""

from __future__ import annotations

from collections.abc import Sequence

from fabella.dictation.beside import side_at
from fabella.dictation.claims import Claim, Placed


def says_whole(claim: Claim, events: Sequence[Placed], place: int, before: Sequence[Claim]) -> bool:
    """Say whether "normal" without a sign means the whole knee and not the sign named before.

    "Left normal" means the sign before when that had a side of its own ("Lachman right 2+, left normal").
    """
    if not any(said.whole and not negated for said, negated in claim.describing):
        return False
    if (
        claim.compartments
        or claim.bends_deg
        or claim.quantities
        or any(mod.slot == "site" for mod in claim.mods)
    ):
        return False
    if claim.rest or claim.knee or any(said.phrase for said, _ in claim.describing):
        return True
    parted = events[place].after_break
    ahead, behind = side_at(events, place - 1), side_at(events, place + 1)
    if place + 1 < len(events) and events[place + 1].sentence != claim.sentence:
        behind = None
    if parted and ahead is not None and not ahead.is_heading:
        ahead = None
    if ahead is None:
        return behind is not None and (not before or before[-1].sentence != claim.sentence)
    if ahead.knee or ahead.colon or not before:
        return True
    if any(
        isinstance(each.event, Claim) and each.sentence == claim.sentence
        for each in events[place + 1 : place + 2]
    ):
        return False
    earlier = next(at for at, each in enumerate(events) if each.event is before[-1])
    beside = (
        side_at(events, earlier - 1),
        side_at(events, earlier + 1) if earlier + 1 < place - 1 else None,
    )
    own = before[-1].inner is not None or any(node is not None and not node.is_heading for node in beside)
    return not own


def means_named(claim: Claim, events: Sequence[Placed], place: int, before: Sequence[Claim]) -> bool:
    """Say whether ", left normal" closes a sentence about signs of the other knee, and means those."""
    if claim.rest or not before or before[-1].sentence != claim.sentence:
        return False
    return side_at(events, place - 1) is not None and events[place - 1].after_break
