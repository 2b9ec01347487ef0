"""What a side does where it stands: it opens a heading, or belongs to the sign before or after it."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum

from fabella.dictation.claims import Claim, Placed
from fabella.dictation.nodes import SideNode, Turn


class Role(StrEnum):
    """What a side does where it stands."""

    HEADING = "heading"
    BEFORE = "before its sign"
    BEHIND = "behind its sign"
    TARGET = "of a comparison"
    DOUBT = "doubtful"


def roles_of(events: Sequence[Placed]) -> dict[int, Role]:
    first_side = next((at for at, each in enumerate(events) if names_side(each)), len(events))
    first_claim = next((at for at, each in enumerate(events) if _needs_side(each)), len(events))
    sides_first = first_side < first_claim
    return {
        at: _role(events, at, sides_first=sides_first)
        for at, each in enumerate(events)
        if isinstance(each.event, SideNode)
    }


def names_side(placed: Placed) -> bool:
    event = placed.event
    return isinstance(event, SideNode) or (isinstance(event, Claim) and event.inner is not None)


def _needs_side(placed: Placed) -> bool:
    return isinstance(placed.event, Claim)


def _role(events: Sequence[Placed], at: int, *, sides_first: bool) -> Role:
    node, here = events[at].event, events[at]
    assert isinstance(node, SideNode)
    if not node.side:
        return Role.DOUBT
    before, after = neighbour(events, at, -1), neighbour(events, at, 1)
    if isinstance(before, Turn):
        return Role.TARGET
    if node.colon:
        return Role.HEADING
    parted_before = before is None or here.after_break
    parted_after = after is None or events[at + 1].after_break
    if parted_before:
        heading = node.knee or node.preposition or parted_after or isinstance(after, Turn)
        contrast = isinstance(after, Claim) and after.carried and not node.is_heading
        isolated = before is not None and parted_after and node.preposition and not node.knee
        if isolated:
            return Role.BEHIND
        return Role.BEFORE if contrast or not heading else Role.HEADING
    if parted_after:
        return Role.BEHIND
    follows = at + 2 < len(events) and isinstance(events[at + 2].event, SideNode)
    ends = follows and events[at + 2].sentence == here.sentence and not events[at + 2].after_break
    return _in_running_speech(node, before, after, sides_first=sides_first, side_follows=ends)


def _in_running_speech(
    node: SideNode,
    before: Claim | SideNode | Turn | None,
    after: Claim | SideNode | Turn | None,
    *,
    sides_first: bool,
    side_follows: bool,
) -> Role:
    """Return what a side does between two claims without any break around it."""
    if isinstance(after, Turn):
        return Role.HEADING
    assert isinstance(after, Claim | SideNode)
    if node.side == "both" and node.adjective and isinstance(after, Claim):
        return Role.BEFORE
    if node.side == "both" and node.preposition:
        return Role.BEHIND
    if isinstance(before, Claim) and isinstance(after, Claim) and after.carried and side_follows:
        return Role.BEHIND if before.inner is None else Role.BEFORE
    if isinstance(before, Claim) and isinstance(after, Claim) and after.carried:
        return (
            Role.BEFORE if before.inner is not None or (sides_first and not node.preposition) else Role.BEHIND
        )
    if node.preposition:
        if not sides_first or (isinstance(before, Claim) and before.carried):
            return Role.BEHIND
        return Role.HEADING if same_sign(before, after) else Role.DOUBT
    if sides_first:
        return Role.HEADING if node.knee else Role.BEFORE
    return Role.BEHIND


def neighbour(events: Sequence[Placed], at: int, step: int) -> Claim | SideNode | Turn | None:
    """Return the event beside a side, in its sentence."""
    beside = at + step
    if not 0 <= beside < len(events) or events[beside].sentence != events[at].sentence:
        return None
    return events[beside].event


def same_sign(one: object, other_one: object) -> bool:
    return (
        isinstance(one, Claim)
        and isinstance(other_one, Claim)
        and one.head is not None
        and other_one.head is not None
        and one.head.word.name == other_one.head.word.name
    )
