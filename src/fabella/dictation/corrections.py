"""What the speaker puts right: a side, a value, a sign, or the last thing said altogether.

Where it is not certain how far a correction reaches, everything that it may reach is asked about.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.claims import Claim, Placed
from fabella.dictation.items import Quantity, Stretch
from fabella.dictation.nodes import Mod, SideNode, Turn
from fabella.dictation.vocabulary import Tag

SIDE_DOUBTFUL = "the side was put right, but not for what"
_RESULT_SLOTS = {"result", "grade", "degree", "no", "denies", "pain"}
_KINDS = {"sorry", "scrap", "actually"}


def correct(events: Sequence[Placed]) -> tuple[Placed, ...]:
    """Return the events with every correction carried out; what it withdraws stays, marked as withdrawn."""
    done: list[Placed] = []
    rest = list(events)
    while rest:
        placed = rest.pop(0)
        if isinstance(placed.event, Turn) and placed.event.kind in _KINDS:
            done.append(placed)
            _carry_out(placed, done, rest)
        else:
            done.append(placed)
    return tuple(done)


def _carry_out(turn: Placed, done: list[Placed], rest: list[Placed]) -> None:
    assert isinstance(turn.event, Turn)
    kind = turn.event.kind
    following = rest[0] if rest else None
    if following is not None and following.sentence != turn.sentence and kind == "scrap":
        following = None
    if following is not None and isinstance(following.event, Turn) and following.event.kind in _KINDS:
        return
    if following is not None and isinstance(following.event, SideNode):
        if kind != "actually" or not following.event.knee:
            _put_side_right(following, done, rest)
    elif following is not None and isinstance(following.event, Claim):
        _put_claim_right(kind, following.event, done)
    elif kind == "scrap" and (last := _last_claim(done)) is not None:
        last.withdrawn = True


def _active(done: Sequence[Placed]) -> list[Claim]:
    return [each.event for each in done if isinstance(each.event, Claim) and not each.event.withdrawn]


def _last_claim(done: Sequence[Placed]) -> Claim | None:
    claims = _active(done)
    return claims[-1] if claims else None


# ------------------------------------------------------------------ another result, or another sign


def _put_claim_right(kind: str, new: Claim, done: list[Placed]) -> None:
    last = _last_claim(done)
    if last is None:
        return
    if new.head is None:
        if kind == "actually" and not new.has_result:
            return
        _replace(new, last)
    elif _same_thing(last, new) or last.head is None or kind == "scrap":
        last.withdrawn = True
    elif kind == "sorry":
        last.ask = "taken back, or not? Something else follows the correction"


def _same_thing(one: Claim, other: Claim) -> bool:
    if one.head is None or other.head is None:
        return False
    first, second = one.head.word, other.head.word
    if first.name == second.name:
        return True
    return bool(first.family and first.family == second.family) or bool(
        set(first.to) and set(first.to) == set(second.to)
    )


def _replace(new: Claim, last: Claim) -> None:
    """Give a result that follows a correction the sign of the last claim, and what else was said of it."""
    new.head, new.carried = last.head, True
    new.inner = new.inner or last.inner
    sites = tuple(str(mod.item.value) for mod in new.mods if mod.item.tag is Tag.SITE)
    if sites and new.head is not None:
        new.head = replace(new.head, sites=sites)
    slots = {mod.slot for mod in new.mods}
    if slots & _RESULT_SLOTS:
        slots |= _RESULT_SLOTS
    kept = [mod for mod in last.mods if mod.slot not in slots and not mod.item.is_mark("preposition")]
    old = last.stretch
    new.mods = [*(replace(mod, pieces=()) for mod in kept), *(_completed(mod, old) for mod in new.mods)]
    last.withdrawn = True


def _completed(mod: Mod, old: Stretch | None) -> Mod:
    """Let a single number that follows a range be its new end."""
    value = mod.item.value
    if old is None or not isinstance(value, Quantity) or value.value <= max(old.low, 0):
        return mod
    return replace(mod, item=replace(mod.item, tag=Tag.RANGE, value=replace(old, high=value.value)))


# ------------------------------------------------------------------ another side


def _put_side_right(following: Placed, done: list[Placed], rest: list[Placed]) -> None:
    node = following.event
    assert isinstance(node, SideNode)
    place = next((at for at in range(len(done) - 1, -1, -1) if isinstance(done[at].event, SideNode)), None)
    since = _active(done[(place if place is not None else -1) + 1 :])
    after = rest[1].event if len(rest) > 1 and isinstance(rest[1].event, Claim) else None
    last = since[-1] if since else None
    if place is None and last is not None and last.inner is not None and len(since) == 1:
        last.inner = node
        rest.pop(0)
        done.append(
            Placed(
                event=Turn(kind="frame", pieces=node.pieces), sentence=following.sentence, after_break=True
            )
        )
        return
    if place is None:
        return
    old = done[place].event
    assert isinstance(old, SideNode)
    restated = after is not None and last is not None and (after.head is None or _same_thing(last, after))
    if old.side == node.side or (restated and last is not None):
        if restated and last is not None:
            last.withdrawn = True
        if len(since) == 1 and old.side != node.side:
            done[place] = _withdrawn(done[place])
        return
    if not since:
        moved = replace(node, knee=node.knee or old.knee, preposition=node.preposition and old.preposition)
        rest[0] = Placed(event=moved, sentence=following.sentence, after_break=done[place].after_break)
        done[place] = _withdrawn(done[place])
    elif len(since) == 1:
        rest.pop(0)
        done[place] = Placed(
            event=replace(old, side=node.side, pieces=(*old.pieces, *node.pieces)),
            sentence=done[place].sentence,
            after_break=done[place].after_break,
        )
    else:
        for claim in since:
            claim.ask = SIDE_DOUBTFUL
        rest[0] = Placed(event=replace(node, side=""), sentence=following.sentence, after_break=True)


def _withdrawn(placed: Placed) -> Placed:
    """Return a turn in place of a side that was taken back."""
    assert isinstance(placed.event, SideNode)
    turn = Turn(kind="withdrawn", pieces=placed.event.pieces)
    return Placed(event=turn, sentence=placed.sentence, after_break=placed.after_break)
