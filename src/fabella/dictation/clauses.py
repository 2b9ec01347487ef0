"""The parser: which word belongs to which sign, chosen for a whole run of speech at once.

Between two signs stands a zone of modifiers; some belong to the sign before, the rest to the sign after.
Every split of every zone is weighed (`attach`), and the best chain of splits is found by dynamic programming.
What is left over behind a sign that has its result already is a new result for the same sign ("negative on
the left").
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from fabella.dictation.attach import Attach, breaks_contrast, cuts, tears
from fabella.dictation.builder import Builder
from fabella.dictation.claims import Placed
from fabella.dictation.nodes import Gap, Head, Mod, Node, SideNode, Turn

Zone = tuple[Node, ...]
Best = dict[frozenset[str], tuple[float, tuple[int, ...]]]
"""For each set of places filled in front of a sign, the best score so far and where its words begin."""
_CORRECTS = 0.7
_SAYS_NOTHING = -0.3


def parse(nodes: Sequence[Node], attach: Attach) -> tuple[Placed, ...]:
    """Return the claims, sides and turns of a text in order."""
    events: list[Placed] = []
    joined, sentence = "", 0
    for run in _runs(nodes):
        if isinstance(run, tuple):
            corrected = bool(events) and isinstance(events[-1].event, Turn)
            heading = events[-1].event if events and events[-1].sentence == sentence else None
            builder = Builder(sentence, joined, heading.side if isinstance(heading, SideNode) else "")
            found, joined = _claims_of(run, builder, attach, corrected=corrected)
            events.extend(found)
        elif isinstance(run, Gap):
            sentence += 1
            joined = "."
        else:
            events.append(Placed(event=run, sentence=sentence, after_break=joined != ""))
            joined = "," if isinstance(run, Turn) else ""
    return tuple(events)


def _runs(nodes: Sequence[Node]) -> Iterator[Zone | Gap | SideNode | Turn]:
    """Yield stretches of nodes that may modify one another, and what parts them."""
    run: list[Node] = []
    for node in nodes:
        if cuts(node):
            if run:
                yield tuple(run)
                run = []
            if isinstance(node, Gap | SideNode | Turn):
                yield node
        else:
            run.append(node)
    if run:
        yield tuple(run)


def _claims_of(run: Zone, builder: Builder, attach: Attach, *, corrected: bool) -> tuple[list[Placed], str]:
    """Return the events of one run (claims, results without a sign, sides between) and its last break."""
    heads = [(place, node) for place, node in enumerate(run) if isinstance(node, Head)]
    if not heads:
        builder.behind(None, run, attach)
        return builder.events, builder.gap
    starts = _best_starts(run, heads, attach, leftover=_CORRECTS if corrected else _SAYS_NOTHING)
    builder.behind(None, run[: starts[0]], attach)
    for (place, head), start, end in zip(heads, starts, (*starts[1:], len(run)), strict=True):
        builder.head(head, run[start:place], attach)
        builder.behind(head, run[place + 1 : end], attach, ahead=run[end : end + 1])
    return builder.events, builder.gap


def _best_starts(
    run: Zone, heads: Sequence[tuple[int, Head]], attach: Attach, *, leftover: float
) -> tuple[int, ...]:
    """Return where the words of every sign begin; words before the first are left over if they fit badly."""
    place, first = heads[0]
    follows = not any(isinstance(node, Mod) for node in run[:place])
    best: Best = {}
    for start in range(place + 1):
        left = leftover * sum(isinstance(node, Mod) for node in run[:start])
        score = attach.before(first, run[start:place]) + left + tears(run, start)
        _keep(best, _slots(run[start:place]), score, (start,))
    for (place, here), (following, after) in pairwise(heads):
        reached: Best = {}
        for start in range(place + 1, following + 1):
            front = run[start:following]
            ahead = attach.before(after, front, follows=follows) + tears(run, start)
            ahead += breaks_contrast(run, place, start)
            for filled, (score, starts) in best.items():
                total = score + attach.behind(here, run[place + 1 : start], filled) + ahead
                _keep(reached, _slots(front), total, (*starts, start))
        best = reached
    place, last = heads[-1]
    closed = [
        (score + attach.behind(last, run[place + 1 :], filled), starts)
        for filled, (score, starts) in best.items()
    ]
    return max(closed, key=lambda each: each[0])[1]


def _keep(best: Best, state: frozenset[str], score: float, starts: tuple[int, ...]) -> None:
    if state not in best or score > best[state][0]:
        best[state] = (score, starts)


def _slots(nodes: Sequence[Node]) -> frozenset[str]:
    return frozenset(node.slot for node in nodes if isinstance(node, Mod) and node.slot)
