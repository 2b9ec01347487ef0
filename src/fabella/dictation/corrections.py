"""What the speaker puts right: a side, a value, a sign, or the last thing said altogether.

Where it is not certain how far a correction reaches, everything that it may reach is asked about.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.beside import SIDE_DOUBTFUL
from fabella.dictation.claims import Claim, Placed
from fabella.dictation.fitting import Fit
from fabella.dictation.items import Quantity, Stretch
from fabella.dictation.nodes import Mod, SideNode, Turn
from fabella.dictation.vocabulary import Tag

_RESULT_SLOTS = {"result", "grade", "degree", "no", "denies", "pain"}
_KINDS = {"sorry", "scrap", "actually"}


def correct(events: Sequence[Placed], fit: Fit) -> tuple[Placed, ...]:
    """Return the events with every correction carried out; what it withdraws stays, marked as withdrawn."""
    done: list[Placed] = []
    rest = list(events)
    while rest:
        placed = rest.pop(0)
        if isinstance(placed.event, Turn) and placed.event.kind in _KINDS:
            done.append(placed)
            _carry_out(placed.event.kind, placed.sentence, done, rest, fit)
        else:
            done.append(placed)
    return tuple(done)


def _carry_out(kind: str, sentence: int, done: list[Placed], rest: list[Placed], fit: Fit) -> None:
    """Put right what was said before by what follows; "scrap that" looks no further than its sentence."""
    here = bool(rest) and (kind != "scrap" or rest[0].sentence == sentence)
    following = rest[0].event if here else None
    if isinstance(following, SideNode):
        if kind != "actually" or not following.knee:
            _put_side_right(following, done, rest)
    elif isinstance(following, Claim):
        others = _put_claim_right(kind, following, done, fit)
        rest[1:1] = [replace(rest[0], event=each) for each in others]
    elif kind == "scrap" and not isinstance(following, Turn) and (last := _last_claim(done)) is not None:
        last.withdrawn = True


def _active(done: Sequence[Placed]) -> list[Claim]:
    return [each.event for each in done if isinstance(each.event, Claim) and not each.event.withdrawn]


def _last_claim(done: Sequence[Placed]) -> Claim | None:
    claims = _active(done)
    return claims[-1] if claims else None


# ------------------------------------------------------------------ another result, or another sign


def _put_claim_right(kind: str, new: Claim, done: list[Placed], fit: Fit) -> list[Claim]:
    """Let a claim replace what it puts right; return those that its words make besides."""
    if (tested := _at_its_bend(new, done)) is not None:
        return _replace_each(new, [(tested, [mod for mod in new.mods if mod.slot])])
    last = _last_claim(done)
    if last is None:
        return []
    if new.head is None:
        if kind == "actually" and not new.has_result:
            return []
        return _replace_each(new, _corrected(new, done, fit, last))
    if _same_thing(last, new) or last.head is None or kind == "scrap":
        last.withdrawn = True
    elif kind == "sorry":
        last.ask = "taken back, or not? Something else follows the correction"
    return []


def _at_its_bend(new: Claim, done: Sequence[Placed]) -> Claim | None:
    """Return the test at the bend that is told anew: "1+ at 30, at 0 stable. Make that 2+ at 30"."""
    if new.head is not None or not new.bends_deg:
        return None
    here = [each for each in reversed(_active(done)) if new.sentence - each.sentence <= 1]
    return next((each for each in here if each.head is not None and each.bends_deg == new.bends_deg), None)


def _corrected(new: Claim, done: Sequence[Placed], fit: Fit, last: Claim) -> list[tuple[Claim, list[Mod]]]:
    """Return each claim that is put right with the words that can be told of its sign.

    "Lachman 1+ with a firm end point. No, 2+, soft": no end point is 2+.
    """
    here = [each for each in reversed(_active(done)) if each.sentence == last.sentence]
    found: list[tuple[Claim, list[Mod]]] = []
    for mod in (mod for mod in new.mods if mod.slot):
        fitting = (each for each in here if each.head is None or fit.fits(mod, each.head.word))
        claim = next(fitting, last)
        known = next((mods for each, mods in found if each is claim), None)
        if known is None:
            found.append((claim, [mod]))
        else:
            known.append(mod)
    return found or [(last, [])]


def _replace_each(new: Claim, corrected: Sequence[tuple[Claim, list[Mod]]]) -> list[Claim]:
    """Put right each claim by its own words, the first by ``new`` itself; return the others."""
    idle = [mod for mod in new.mods if not mod.slot]
    copies = [replace(new, mods=mods) for _, mods in corrected[1:]]
    new.mods = [*corrected[0][1], *(mod for mod in idle if mod not in corrected[0][1])]
    for claim, (last, _) in zip((new, *copies), corrected, strict=True):
        _replace(claim, last)
    return copies


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
    if sites:
        slots.add("compartment")
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


def _put_side_right(node: SideNode, done: list[Placed], rest: list[Placed]) -> None:
    """Let a side replace the one before it, for as much as was certainly meant."""
    place, old = _last_side(done)
    since = _active(done[place + 1 :])
    last = since[-1] if since else None
    if old is None:
        if last is not None and last.inner is not None and len(since) == 1:
            last.inner = node
            rest[0] = replace(rest[0], event=Turn(kind="frame", pieces=node.pieces))
        return
    after = rest[1].event if len(rest) > 1 and isinstance(rest[1].event, Claim) else None
    restated = last is not None and after is not None and (after.head is None or _same_thing(last, after))
    if last is not None and restated:
        last.withdrawn = True
    if old.side == node.side:
        return
    if not since:
        _exchange(node, old, place, done, rest)
    elif len(since) == 1 and not restated:
        both = replace(old, side=node.side, pieces=(*old.pieces, *node.pieces))
        done[place] = replace(done[place], event=both)
        rest.pop(0)
        return
    elif not restated:
        for claim in since:
            claim.ask = SIDE_DOUBTFUL
        rest[0] = replace(rest[0], event=replace(node, side=""), after_break=True)
        return
    elif len(since) == 1:
        done[place] = replace(done[place], event=Turn(kind="withdrawn", pieces=old.pieces))


def _exchange(node: SideNode, old: SideNode, place: int, done: list[Placed], rest: list[Placed]) -> None:
    """Put a side in the place of the last thing said: of what follows, or of the sign before both."""
    if _closes(rest) and _is_behind(done, place):
        done[place] = replace(done[place], event=replace(old, side=node.side))
        rest[0] = replace(rest[0], event=Turn(kind="frame", pieces=node.pieces))
        return
    moved = replace(node, knee=node.knee or old.knee, preposition=node.preposition and old.preposition)
    rest[0] = replace(rest[0], event=moved, after_break=done[place].after_break)
    done[place] = replace(done[place], event=Turn(kind="withdrawn", pieces=old.pieces))


def _closes(rest: Sequence[Placed]) -> bool:
    """Say whether nothing follows a side in its sentence: "Sorry, right."."""
    return len(rest) == 1 or rest[1].sentence != rest[0].sentence


def _is_behind(done: Sequence[Placed], place: int) -> bool:
    """Say whether a side stands right behind the sign that it belongs to: "Lachman positive left"."""
    before = done[place - 1] if place else None
    behind = before is not None and before.sentence == done[place].sentence and not done[place].after_break
    return behind and before is not None and isinstance(before.event, Claim)


def _last_side(done: Sequence[Placed]) -> tuple[int, SideNode | None]:
    """Return the last side that was named, and its place; -1 when there is none."""
    for place in range(len(done) - 1, -1, -1):
        event = done[place].event
        if isinstance(event, SideNode):
            return place, event
    return -1, None
