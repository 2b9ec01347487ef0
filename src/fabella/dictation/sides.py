"""Which knee a claim is about: never guessed. Where the speaker leaves it open, the claim is asked about.

A side opens a heading ("left knee: …"), belongs to the sign after it ("left McMurray positive") or before it
("McMurray positive on the left"), or only contrasts ("…, left negative"). A heading lasts until the next one; a side
said behind a sign lasts while no other knee comes up; a sign on the other knee in the middle of a list leaves what
follows it open.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from fabella.anatomy import Side, other
from fabella.dictation.claims import Claim, Placed
from fabella.dictation.nodes import SideNode, Turn
from fabella.dictation.roles import Role, names_side, neighbour, roles_of, same_sign

WHICH_KNEE = "which knee?"
BOTH_SIDES = "both knees, or medially and laterally?"
_BOTH = (Side.RIGHT, Side.LEFT)


class Level(StrEnum):
    """How firmly the side in force is held."""

    NONE = "none"
    SOFT = "soft"
    ADJECTIVE = "adjective"
    HEADING = "heading"


@dataclass(slots=True)
class _Frame:
    """The side in force."""

    sides: tuple[Side, ...] = ()
    level: Level = Level.NONE
    doubtful: bool = False


def place_sides(events: Sequence[Placed]) -> None:
    """Give every claim its knees, or nothing where they are not certain."""
    active = [each for each in events if not (isinstance(each.event, Claim) and each.event.withdrawn)]
    active = [each for each in active if not _is_silent_turn(each)]
    roles = roles_of(active)
    frame = _Frame()
    waiting: list[Claim] = []
    sentence = 0
    for place, placed in enumerate(active):
        if placed.sentence != sentence:
            waiting, sentence = [], placed.sentence
        event = placed.event
        if isinstance(event, SideNode):
            _take_side(active, place, roles, frame, waiting)
        elif isinstance(event, Claim):
            _take_claim(active, place, roles, frame, waiting)
    named = {each.sentence for each in active if names_side(each)}
    for placed in active:
        if isinstance(placed.event, Claim):
            placed.event.same_sentence_side = placed.sentence in named


def _is_silent_turn(placed: Placed) -> bool:
    return isinstance(placed.event, Turn) and placed.event.kind not in {"same", "similar"}


# ------------------------------------------------------------------ the side in force


def _take_side(
    events: Sequence[Placed], at: int, roles: dict[int, Role], frame: _Frame, waiting: list[Claim]
) -> None:
    node, role = events[at].event, roles[at]
    assert isinstance(node, SideNode)
    sides = resolve(node, frame.sides)
    if role is Role.DOUBT or not sides:
        frame.sides, frame.level, frame.doubtful = (), Level.NONE, True
        if role is Role.DOUBT and node.side and isinstance(before := neighbour(events, at, -1), Claim):
            before.sides = () if before.sides != sides else sides
    elif role is Role.HEADING:
        if frame.level is Level.NONE and _ends_sentence(events, at):
            _share_backwards(events, at, waiting, sides)
        frame.sides, frame.level, frame.doubtful = sides, Level.HEADING, False
    elif role is Role.TARGET:
        if (
            isinstance(before := events[at - 1].event, Turn)
            and before.value.startswith("same as")
            and frame.sides
        ):
            frame.sides, frame.level = _BOTH, Level.SOFT
    elif role is Role.BEHIND:
        claim = neighbour(events, at, -1)
        if isinstance(claim, Claim):
            if node.after_unknown or (
                claim.sides and claim.sides != sides and _has_own_side(events, at - 1, roles)
            ):
                claim.ask = WHICH_KNEE
            claim.sides = sides
            if (
                sides == _BOTH
                and frame.level is Level.HEADING
                and len(frame.sides) == 1
                and _has_two_sides(claim)
            ):
                claim.ask = BOTH_SIDES
            if claim in waiting:
                waiting.remove(claim)
            _share_backwards(events, at, waiting, sides)
            _after_own_side(events, at - 1, sides, frame)


def _ends_sentence(events: Sequence[Placed], at: int) -> bool:
    return at + 1 == len(events) or events[at + 1].sentence != events[at].sentence


def _take_claim(
    events: Sequence[Placed], at: int, roles: dict[int, Role], frame: _Frame, waiting: list[Claim]
) -> None:
    claim = events[at].event
    assert isinstance(claim, Claim)
    before = events[at - 1].event if at and events[at - 1].sentence == events[at].sentence else None
    if claim.inner is not None:
        claim.sides = resolve(claim.inner, frame.sides)
        _after_own_side(events, at, claim.sides, frame)
    elif isinstance(before, SideNode) and roles[at - 1] is Role.BEFORE:
        claim.sides = resolve(before, frame.sides)
        contrast = claim.carried or same_sign(_last_claim(events, at - 1), claim)
        if frame.level is not Level.HEADING:
            kept = Level.NONE if contrast and _last_claim(events, at - 1) is not None else Level.ADJECTIVE
            frame.sides = claim.sides if kept is Level.ADJECTIVE else ()
            frame.level, frame.doubtful = kept, kept is Level.NONE
        elif claim.sides != frame.sides and not contrast:
            frame.sides, frame.level, frame.doubtful = (), Level.NONE, True
    elif (lachman := _of_end_point(events, at)) is not None:
        claim.sides = lachman.sides
        if not lachman.sides and lachman in waiting:
            waiting.append(claim)
    elif claim.reference is not None and not frame.sides and (sides := resolve(claim.reference, ())):
        claim.sides = (other(sides[0]),) if len(sides) == 1 else ()
        if claim.sides and not frame.doubtful:
            frame.sides, frame.level = claim.sides, Level.SOFT
    elif frame.sides and (frame.level is not Level.SOFT or _still_holds(events, at, frame.sides, roles)):
        claim.sides = frame.sides
    elif not frame.doubtful:
        waiting.append(claim)


def _of_end_point(events: Sequence[Placed], at: int) -> Claim | None:
    """Return the test right before an end point, whose knee it shares."""
    claim, before = events[at].event, events[at - 1].event if at else None
    if not isinstance(claim, Claim) or claim.head is None or claim.head.word.reader != "end_point":
        return None
    at_once = isinstance(before, Claim) and before.sentence == claim.sentence and not claim.carried
    return before if at_once and isinstance(before, Claim) else None


def _after_own_side(events: Sequence[Placed], at: int, sides: tuple[Side, ...], frame: _Frame) -> None:
    """Decide what holds after a claim with a side of its own."""
    claim = events[at].event
    assert isinstance(claim, Claim)
    contrast = claim.carried or same_sign(_last_claim(events, at), claim)
    if frame.level is Level.HEADING:
        if sides != frame.sides and sides != _BOTH and not contrast:
            frame.sides, frame.level, frame.doubtful = (), Level.NONE, True
    elif contrast:
        frame.sides, frame.level, frame.doubtful = (), Level.NONE, True
    elif sides != _BOTH:
        frame.sides, frame.level, frame.doubtful = sides, Level.SOFT, False


def _has_own_side(events: Sequence[Placed], at: int, roles: dict[int, Role]) -> bool:
    """Say whether a claim was given a side before the one behind it: inside it, or right before it."""
    claim = events[at].event
    inside = isinstance(claim, Claim) and claim.inner is not None
    return inside or roles.get(at - 1) is Role.BEFORE


def _has_two_sides(claim: Claim) -> bool:
    """Say whether a sign has a medial and a lateral side, so that "both sides" may mean these."""
    if claim.head is None:
        return False
    return bool(claim.head.word.refine) or "joint_line_tenderness" in claim.head.sites


def _still_holds(events: Sequence[Placed], at: int, sides: tuple[Side, ...], roles: dict[int, Role]) -> bool:
    """Say whether a side said behind an earlier sign still holds: the next one named must not contradict it."""
    for place in range(at + 1, len(events)):
        event = events[place].event
        if isinstance(event, Claim) and event.inner is not None:
            return resolve(event.inner, sides) == sides or event.carried
        if isinstance(event, SideNode):
            if roles[place] is not Role.BEHIND:
                return True
            owner = events[place - 1].event
            return resolve(event, sides) in {sides, _BOTH} or (isinstance(owner, Claim) and owner.carried)
    return True


def _share_backwards(
    events: Sequence[Placed], at: int, waiting: list[Claim], sides: tuple[Side, ...]
) -> None:
    """Let the only side of a sentence, said at its end, hold for what came before it in the sentence."""
    sentence = events[at].sentence
    named = [each for each in events if each.sentence == sentence and names_side(each)]
    if len(named) == 1:
        for claim in waiting:
            claim.sides = sides
        waiting.clear()


def _last_claim(events: Sequence[Placed], at: int) -> Claim | None:
    return next((each.event for each in reversed(events[:at]) if isinstance(each.event, Claim)), None)


def resolve(node: SideNode, current: tuple[Side, ...]) -> tuple[Side, ...]:
    """Return the knees that a named side means; "the other" needs one in force, "the injured" is never certain."""
    if node.side in {Side.RIGHT, Side.LEFT}:
        return (Side(node.side),)
    if node.side in {"both", "neither"}:
        return _BOTH
    if node.side == "other" and len(current) == 1:
        return (other(current[0]),)
    return ()
