"""The parser: which word belongs to which sign, chosen for a whole run of speech at once.

Between two signs stands a zone of modifiers; some belong to the sign before, the rest to the sign after. Every split of
every zone is weighed (`attach`), and the best chain of splits is found by dynamic programming. What is left over behind
a sign that has its result already is a new result for the same sign ("negative on the left").
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from fabella.dictation.attach import Attach, cuts, tears
from fabella.dictation.builder import Builder
from fabella.dictation.claims import Placed
from fabella.dictation.nodes import Gap, Head, Mod, Node, SideNode, Turn

Zone = tuple[Node, ...]
_CORRECTS = 0.35
_SAYS_NOTHING = -0.3


def parse(nodes: Sequence[Node], attach: Attach) -> tuple[Placed, ...]:
    """Return the claims, sides and turns of a text in order."""
    events: list[Placed] = []
    joined, sentence = "", 0
    for run in _runs(nodes):
        if isinstance(run, tuple):
            corrected = bool(events) and isinstance(events[-1].event, Turn)
            found, joined = _claims_of(run, sentence, joined, attach, corrected=corrected)
            events.extend(found)
        elif isinstance(run, Gap):
            sentence += 1
            joined = "."
        else:
            events.append(Placed(event=run, sentence=sentence, after_break=joined != ""))
            joined = ""
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


def _claims_of(
    run: Zone, sentence: int, joined: str, attach: Attach, *, corrected: bool
) -> tuple[list[Placed], str]:
    """Return the events of one run (claims with a sign, results without one, sides between) and its last break."""
    heads = [place for place, node in enumerate(run) if isinstance(node, Head)]
    builder = Builder(sentence, joined)
    if not heads:
        builder.behind(None, run, attach)
        return builder.events, builder.gap
    splits = _best_splits(run, heads, attach, leftover=_CORRECTS if corrected else _SAYS_NOTHING)
    builder.behind(None, run[: splits[0]], attach)
    for number, place in enumerate(heads):
        head = run[place]
        assert isinstance(head, Head)
        start = splits[number]
        end = splits[number + 1] if number + 1 < len(heads) else len(run)
        builder.head(head, run[start:place], attach)
        builder.behind(head, run[place + 1 : end], attach)
    return builder.events, builder.gap


def _best_splits(run: Zone, heads: Sequence[int], attach: Attach, *, leftover: float) -> list[int]:
    """Return where the words of every sign begin; words before the first are left over if they fit badly."""
    first = run[heads[0]]
    assert isinstance(first, Head)
    follows = not any(isinstance(node, Mod) for node in run[: heads[0]])
    best: dict[frozenset[str], tuple[float, list[int]]] = {}
    for split in range(heads[0] + 1):
        front = run[split : heads[0]]
        left = leftover * sum(isinstance(node, Mod) for node in run[:split])
        score = attach.before(first, front) + left + tears(run, split)
        _keep(best, _slots(front), score, [split])
    for place, following in pairwise(heads):
        here, after = run[place], run[following]
        assert isinstance(here, Head)
        assert isinstance(after, Head)
        reached: dict[frozenset[str], tuple[float, list[int]]] = {}
        for split in range(place + 1, following + 1):
            behind, front = run[place + 1 : split], run[split:following]
            ahead = attach.before(after, front, follows=follows) + tears(run, split)
            for filled, (score, splits) in best.items():
                total = score + attach.behind(here, behind, filled) + ahead
                _keep(reached, _slots(front), total, [*splits, split])
        best = reached
    last = run[heads[-1]]
    assert isinstance(last, Head)
    tail = run[heads[-1] + 1 :]
    closed = [(score + attach.behind(last, tail, filled), splits) for filled, (score, splits) in best.items()]
    return max(closed, key=lambda each: each[0])[1]


def _keep(
    best: dict[frozenset[str], tuple[float, list[int]]],
    state: frozenset[str],
    score: float,
    splits: list[int],
) -> None:
    if state not in best or score > best[state][0]:
        best[state] = (score, splits)


def _slots(nodes: Sequence[Node]) -> frozenset[str]:
    return frozenset(node.slot for node in nodes if isinstance(node, Mod) and node.slot)
