"""A test of which only "the same" is said has the result of the test before it: "LCL the same"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.claims import Claim, Placed
from fabella.dictation.nodes import SideNode, Turn
from fabella.dictation.sharing import are_alike, take_result

_SAME = {
    "same", "ditto", "likewise", "identical", "same story", "same result", "same thing", "same again",
    "exactly same", "exactly the same", "just same", "just the same",
}  # fmt: skip
_FARTHEST = 1


def tell_likewise(events: Sequence[Placed]) -> tuple[Placed, ...]:
    """Return the events in which a bare test before "the same" has the results of the test told before it.

    Only where no knee is named between: else it is the other knee that is the same.
    """
    kept: list[Placed] = []
    for place, placed in enumerate(events):
        turn, bare = placed.event, events[place - 1].event if place else None
        sources = _sources(events, place)
        if not sources or not isinstance(turn, Turn) or not isinstance(bare, Claim):
            kept.append(placed)
            continue
        for source in sources[1:]:
            copy = replace(bare, mods=list(bare.mods), twin=source)
            take_result(copy, source)
            kept.append(replace(events[place - 1], event=copy))
        take_result(bare, sources[0])
        bare.twin = sources[0]
        kept.append(replace(placed, event=Turn(kind="frame", pieces=turn.pieces)))
    return tuple(kept)


def _sources(events: Sequence[Placed], place: int) -> list[Claim]:
    """Return what was told of the test before a bare one that is the same, each knee for itself."""
    turn, after = events[place].event, events[place + 1] if place + 1 < len(events) else None
    if not isinstance(turn, Turn) or turn.kind != "same" or turn.value not in _SAME or not place:
        return []
    ends = after is None or after.sentence != events[place].sentence or after.after_break
    bare = events[place - 1].event
    if not ends or (after is not None and isinstance(after.event, SideNode) and not after.after_break):
        return []
    if not isinstance(bare, Claim) or bare.has_result or bare.inner is not None or bare.word is None:
        return []
    found: list[Claim] = []
    for placed in reversed(events[: place - 1]):
        event = placed.event
        if isinstance(event, SideNode) and not found and (event.is_heading or placed.after_break):
            return []
        if not isinstance(event, Claim) or event.withdrawn or (event.subject and found):
            continue
        other = bool(found) and _test(event) != _test(found[-1])
        if other or not event.has_result or not are_alike(bare, event):
            break
        if not found and bare.sentence - event.sentence > _FARTHEST:
            break
        found.append(event)
    same_name = bool(found) and _test(found[0]) == _test(bare)
    return [] if same_name else found[::-1]


def _test(claim: Claim) -> tuple[str, tuple[str, ...]]:
    """Return what was tested: of a stress test with its direction."""
    return (claim.word.name if claim.word is not None else "", claim.compartments)
