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


class Level(StrEnum):
    """How firmly the side in force is held."""

    NONE = "none"
    SOFT = "soft"
    ADJECTIVE = "adjective"
    LABEL = "label"
    HEADING = "heading"


def roles_of(events: Sequence[Placed]) -> dict[int, Role]:
    """Return the role of every side, by its place among the events."""
    first_side = next((at for at, each in enumerate(events) if names_side(each)), len(events))
    first_claim = next((at for at, each in enumerate(events) if _tells(each.event)), len(events))
    return {
        at: _role(each.event, events, at, sides_first=first_side < first_claim)
        for at, each in enumerate(events)
        if isinstance(each.event, SideNode)
    }


def _tells(event: object) -> bool:
    """Say whether an event tells something of a sign; "knee:" alone is a heading without a side."""
    if not isinstance(event, Claim):
        return False
    return event.head is not None or not all(mod.item.is_mark("knee") for mod in event.mods)


def names_side(placed: Placed) -> bool:
    """Say whether an event names a side, by itself or inside a claim."""
    event = placed.event
    return isinstance(event, SideNode) or (isinstance(event, Claim) and event.inner is not None)


def _role(node: SideNode, events: Sequence[Placed], at: int, *, sides_first: bool) -> Role:
    if _is_column(node, events, at):
        return Role.DOUBT
    before, after = neighbour(events, at, -1), neighbour(events, at, 1)
    if (plain := _plain_role(node, before)) is not None:
        return plain
    if isinstance(before, Claim) and before.labelled and after is None:
        return Role.BEHIND
    if before is None or events[at].after_break:
        return _behind_a_break(node, events, at)
    if isinstance(before, Claim) and isinstance(after, SideNode) and not after.reference:
        return Role.BEHIND
    if _is_parted_after(events, at):
        return _behind_or_heading(node, events, at, sides_first=sides_first)
    if isinstance(before, Claim) and isinstance(after, Claim) and after.carried:
        return _in_contrast(node, before, events, at, sides_first=sides_first)
    return _in_running_speech(node, before, after, sides_first=sides_first)


def _is_parted_after(events: Sequence[Placed], at: int) -> bool:
    return neighbour(events, at, 1) is None or events[at + 1].after_break


def _behind_a_break(node: SideNode, events: Sequence[Placed], at: int) -> Role:
    """Return what a side does that opens a piece: a heading, unless it only stands before its sign."""
    before, after, parted = neighbour(events, at, -1), neighbour(events, at, 1), _is_parted_after(events, at)
    if before is not None and parted and node.preposition and not node.knee:
        return Role.BEHIND
    if node.reference and parted:
        return Role.DOUBT  # "compared to the left, which …": what comes next is of which?
    heading = node.knee or node.preposition or parted or isinstance(after, Turn)
    contrast = isinstance(after, Claim) and after.carried and not node.is_heading
    return Role.BEFORE if contrast or not heading else Role.HEADING


def _in_contrast(
    node: SideNode, before: Claim, events: Sequence[Placed], at: int, *, sides_first: bool
) -> Role:
    """Return what a side does between two results of one sign, where that is certain."""
    follows = _side_follows(events, at)
    role = _between_results(node, before, sides_first=sides_first, side_follows=follows)
    torn = role is Role.BEHIND and not node.preposition and not follows
    return Role.DOUBT if torn and _is_sided_before(events, at - 1) else role


def _plain_role(node: SideNode, before: object) -> Role | None:
    """Return the role of a side that needs no look at what follows, or None."""
    if not node.side or (isinstance(before, SideNode) and not node.colon and _contradicts(before, node)):
        return Role.DOUBT
    if isinstance(before, Turn):
        return Role.TARGET
    return Role.HEADING if node.colon else None


def _is_column(node: SideNode, events: Sequence[Placed], at: int) -> bool:
    """Say whether a side follows the other one that stands alone, as at the head of a table: "R | L"."""
    before = events[at - 1].event if at else None
    if not isinstance(before, SideNode) or before.knee or before.colon or node.knee or node.colon:
        return False
    if before.preposition or node.preposition:
        return False
    alone = at == 1 or events[at - 2].sentence != events[at - 1].sentence
    parted = events[at - 1].sentence != events[at].sentence
    return alone and parted and {before.side, node.side} == {"right", "left"}


def _contradicts(before: SideNode, node: SideNode) -> bool:
    """Say whether a side right behind the heading of the other knee makes both doubtful."""
    return before.knee and not before.reference and {before.side, node.side} == {"right", "left"}


def _behind_or_heading(node: SideNode, events: Sequence[Placed], at: int, *, sides_first: bool) -> Role:
    """Return what a side does right behind a sign and before a break: "small effusion left knee, warm"."""
    if not node.is_heading or not sides_first:
        return Role.BEHIND
    sentence = events[at].sentence
    headed = any(
        isinstance(each.event, SideNode) and each.event.is_heading and each.event.side != node.side
        for each in events[:at]
        if each.sentence == sentence
    )
    follows = neighbour(events, at, 1) is not None
    if headed:
        return Role.HEADING if follows else Role.DOUBT
    return Role.DOUBT if follows else Role.BEHIND


def _is_sided_before(events: Sequence[Placed], at: int) -> bool:
    """Say whether a side was named earlier in the sentence: "left effusion, flexion 120 right 140"."""
    return any(names_side(each) for each in events[:at] if each.sentence == events[at].sentence)


def _side_follows(events: Sequence[Placed], at: int) -> bool:
    """Say whether the claim after a side has a side behind it as well, without a break."""
    behind = events[at + 2] if at + 2 < len(events) else None
    if behind is None or behind.sentence != events[at].sentence:
        return False
    return isinstance(behind.event, SideNode) and not behind.after_break


def _between_results(node: SideNode, before: Claim, *, sides_first: bool, side_follows: bool) -> Role:
    """Return what a side does between two results of one sign: "right 2+ left 0" or "2+ right, 0 left"."""
    if not before.has_result and before.subject:
        return Role.HEADING if node.knee else Role.BEFORE
    if before.inner is not None:
        return Role.BEFORE
    if side_follows and sides_first and node.is_heading:
        return Role.BEFORE  # "right knee effusion left knee none both stable"
    if side_follows or node.preposition or not sides_first:
        return Role.BEHIND
    return Role.BEFORE


def _in_running_speech(
    node: SideNode,
    before: Claim | SideNode | Turn | None,
    after: Claim | SideNode | Turn | None,
    *,
    sides_first: bool,
) -> Role:
    """Return what a side does between two signs without any break around it."""
    if isinstance(after, Turn):
        return Role.HEADING
    if node.side == "both" and node.adjective and isinstance(after, Claim):
        return Role.BEFORE
    if (node.side == "both" and node.preposition) or _is_end_point(after):
        return Role.BEHIND
    if node.preposition:
        if not sides_first or (isinstance(before, Claim) and before.carried):
            return Role.BEHIND
        return Role.HEADING if same_sign(before, after) else Role.DOUBT
    if sides_first:
        return Role.HEADING if node.knee else Role.BEFORE
    return Role.BEHIND


def _is_end_point(event: object) -> bool:
    """Say whether an end point follows, whose knee is that of its test: "Lachman 1+ left, firm end point"."""
    return isinstance(event, Claim) and event.reads("end_point")


def neighbour(events: Sequence[Placed], at: int, step: int) -> Claim | SideNode | Turn | None:
    """Return the event beside another, in its sentence."""
    beside = at + step
    if not 0 <= beside < len(events) or events[beside].sentence != events[at].sentence:
        return None
    return events[beside].event


def same_sign(one: object, other_one: object) -> bool:
    """Say whether two claims speak of one sign."""
    names = [each.word.name for each in (one, other_one) if isinstance(each, Claim) and each.word is not None]
    return len(names) == len((one, other_one)) and names[0] == names[1]
