"""How well a word fits a sign, and which of two signs it belongs to: the weights of the parser.

The weights are judgements, tuned on invented dictations; only their order matters.
"""

from __future__ import annotations

from collections.abc import Collection, Container, Iterable, Sequence
from dataclasses import dataclass

from fabella.dictation.fitting import Fit
from fabella.dictation.items import Quantity
from fabella.dictation.nodes import Gap, Head, Mod, Node, SideNode, Turn
from fabella.dictation.vocabulary import Class, Describing, SignWord, Tag

NEVER = -4.0
_CROSSES = {",": -0.6, ":": -0.1, "/": -0.1, "and": -0.4, "or": -0.4, "but": -1.5, "?": -0.3}
_CROSSES_SIDE = -0.7
_NO_RESULT = -0.8
_IN_A_LIST = -0.3
_CARRIES_OVER = -0.45
_TEARS = -0.8
_SAID_OF_ANOTHER = -0.9
_WELL = "well"
_FOLLOWS = 0.25
_BEFORE_NO = 1.5
_MARK_WEIGHTS = {
    "no": (1.0, NEVER),
    "denies": (1.0, NEVER),
    "hedge": (0.6, 0.3),
    "cannot": (0.8, 0.8),
    "tolerated": (0.8, 0.8),
    "guarded": (0.8, 0.8),
    "not_done": (0.8, 0.8),
    "than": (NEVER / 2, 0.0),
    "because": (NEVER / 2, 0.0),
    "compared": (0.3, 0.3),
}
"""In front of a sign, and behind it."""
_LISTS = {"and", "or", "/"}
_ADJECTIVE = 0.5
_ADJECTIVES = {"swollen", "tender", "warm", "hot", "red"}
"""How much is seldom said behind them: "swollen, moderate effusion"."""
_ADVERBS = ("medially", "laterally", "anteriorly", "posteriorly")
_RESULTS = {"result", "grade", "degree", "number", "pain", "barred"}


@dataclass(frozen=True, slots=True)
class Attach:
    """Says how gladly words stand before or behind a sign."""

    fit: Fit

    def before(self, head: Head, nodes: Sequence[Node], *, follows: bool = False) -> float:
        """Return how well nodes do in front of a head, a little worse where results are said behind."""
        score, pending = 0.0, 0.0
        crossed: set[str] = set()
        filled: set[str] = set()
        for node in reversed(nodes):
            if not isinstance(node, Mod):
                crossed |= {node.kind} if isinstance(node, Gap) else set()
                pending += _crossing(node)
                continue
            score += pending + self._weight(head.word, node, front=True) + _clash(node, filled, crossed)
            score -= _FOLLOWS if follows and node.slot == "degree" else 0.0
            pending = 0.0
            filled.add(node.slot)
        return score

    def behind(self, head: Head, nodes: Sequence[Node], filled: frozenset[str]) -> float:
        """Return how well nodes do behind a head of which something was said in front already."""
        slots, score, pending = {*filled, *own_slots(head)}, 0.0, 0.0
        complete = bool(slots & _RESULTS) or head.word.kind.tells
        last, gap = None, ""
        for node in nodes:
            if isinstance(node, Gap):
                pending += _CROSSES.get(node.kind, 0.0)
                gap = node.kind
                continue
            if not isinstance(node, Mod):
                continue
            parted = pending < 0 and repeats(node, slots)
            if joins(last, gap, node):
                pending = 0.0
            elif parted or self.collides(node, slots, head.word):
                score += _CARRIES_OVER
                slots = set()
            score += pending + self._weight(head.word, node, front=False)
            score -= _ADJECTIVE if node.slot == "degree" and head.text in _ADJECTIVES else 0.0
            pending, last, gap = 0.0, node, ""
            slots |= fills(node)
            complete = complete or node.slot in _RESULTS
        listed = bool(nodes) and all(isinstance(node, Gap) and node.kind in _LISTS for node in nodes)
        return score if complete else score + (_IN_A_LIST if listed else _NO_RESULT)

    def collides(self, mod: Mod, slots: Iterable[str], word: SignWord) -> bool:
        """Say whether a modifier starts a new result for the same sign, because its place is taken."""
        filled, said = set(slots), mod.item.value
        if mod.slot == "compartment" and "compartment" in filled:
            return bool(filled & _RESULTS)
        if isinstance(said, Quantity) and not said.unit and "grade" in filled:
            return True  # "1+ at 30, 0 at 0"
        if isinstance(said, Describing):
            if mod.slot == "result" and "no" in filled:
                return not said.empty
            if said.says == "absent" and filled & {"degree", "grade", "number"}:
                return True
            if said.says == "good" and (
                "grade" in filled or ("number" in filled and word.reader == "stress")
            ):
                return True
        return mod.slot in {"result", "grade", "degree", "number", "angle"} and mod.slot in filled

    def _weight(self, word: SignWord, mod: Mod, *, front: bool) -> float:
        """Return how gladly a word stands in front of a sign or behind it."""
        item = mod.item
        match item.tag:
            case Tag.DESCRIBING:
                return self._weight_of_description(word, mod, front=front)
            case Tag.NUMBER | Tag.RANGE:
                if not self.fit.measures(mod, word):
                    return NEVER if front else _SAID_OF_ANOTHER
                return 0.9 if word.kind is Class.ILLNESS else (0.3 if front else 1.0)
            case Tag.COMPARTMENT | Tag.BOW:
                return self._weight_of_place(word, mod, front=front)
            case Tag.ANGLE:
                return (0.4 if front else 1.0) if self.fit.bends(word) else NEVER
            case Tag.REASON:
                return 0.8 if item.value == "refused" else -1.0 if front else 0.6
            case Tag.MARK:
                before, behind = _MARK_WEIGHTS.get(item.value, (0.0, 0.0))
                return before if front else behind
        return 0.0

    def _weight_of_description(self, word: SignWord, mod: Mod, *, front: bool) -> float:
        said: Describing = mod.item.value
        if not self.fit.describes(said, word):
            return NEVER if front else _SAID_OF_ANOTHER
        if front:
            with_it = mod.item.text.startswith(("with ", "without ", "and "))
            if with_it or (word.name == "opens" and said.says == "good"):
                return NEVER / 2
            if mod.item.text.startswith("none"):
                return NEVER
            if word.kind is Class.ILLNESS and said.says == "good" and not self.fit.grades(said, word):
                return NEVER / 2  # "lateral side fine, tender …": what is well is said of what stands before
            if word.kind is Class.HEALTH and said.degree and not said.says:
                return -0.5
        if word.kind.tells:
            return (1.0 if front else 0.8) + (0.3 if self.fit.grades(said, word) else 0.0)
        return 0.7 if front else 1.0

    def _weight_of_place(self, word: SignWord, mod: Mod, *, front: bool) -> float:
        value = str(mod.item.value)
        other_way = mod.item.tag is Tag.BOW and word.bow not in {"", "both", value}
        if other_way or not self.fit.locates(value, word):
            return NEVER
        if value in _ADVERBS:
            return -1.5 if front else 1.0
        return 1.0 if front else 0.8


def _crossing(node: Node) -> float:
    """Return what it costs to reach a sign over a break or a side."""
    if isinstance(node, Gap):
        return 2 * _CROSSES.get(node.kind, 0.0)
    parts = isinstance(node, SideNode) and (node.preposition or node.reference)
    return _CROSSES["but"] if parts else _CROSSES_SIDE


def _clash(mod: Mod, filled: Container[str], crossed: Collection[str]) -> float:
    """Return what it costs that a word in front of a sign stands before others, and over breaks."""
    cost = 0.0
    if "," in crossed and mod.slot == "result" and mod.item.text:
        cost += NEVER  # "power normal, effusion"
    if mod.slot == "no" and "no" in filled and crossed:
        cost += 2 * NEVER  # "not the lateral, and not the patella"
    if mod.slot and mod.slot in filled and mod.slot not in {"compartment", "no", "degree"}:
        cost += NEVER / 2
    if "no" in filled and mod.slot in _RESULTS:
        cost -= _BEFORE_NO
    return cost


def repeats(mod: Mod, slots: Iterable[str]) -> bool:
    """Say whether a result behind a break tells the sign anew; a grade behind "positive" only adds to it."""
    if mod.slot == "grade":
        return bool({"grade", "degree", "number", "no", _WELL} & set(slots))
    return mod.slot in {"result", "degree"} and bool((_RESULTS | {"no"}) & set(slots))


def tears(run: Sequence[Node], split: int) -> float:
    """Return what it costs to part a bend from the result before it, or an end point from its "firm"."""
    if not 0 < split < len(run):
        return 0.0
    before, after = run[split - 1], run[split]
    if not isinstance(before, Mod):
        return 0.0
    if isinstance(after, Head):
        named = after.word.reader == "end_point" and before.item.tag is Tag.DESCRIBING
        return _TEARS if named and before.item.last == after.pieces[0][0] else 0.0
    if not isinstance(after, Mod):
        return 0.0
    return _TEARS if after.slot == "angle" and before.slot in _RESULTS else 0.0


def breaks_contrast(run: Sequence[Node], head: int, split: int) -> float:
    """Return what it costs to part a side from the result behind it: "right Lachman 2+, left 0, pivot …"."""
    side = split if split < len(run) and isinstance(run[split], SideNode) else split - 1
    if not head + 1 < side < len(run) - 1 or not isinstance(run[side], SideNode):
        return 0.0
    told = any(isinstance(node, Mod) and node.slot in _RESULTS for node in run[head + 1 : side])
    after = run[side + 1]
    return _TEARS if told and isinstance(after, Mod) and after.slot in {"result", "grade"} else 0.0


def fills(mod: Mod) -> set[str]:
    """Return the places that a word fills, with a mark where it says that all is well."""
    said = mod.item.value
    well = isinstance(said, Describing) and said.says in {"good", "absent"} and not mod.negated
    return {mod.slot, _WELL} if well else {mod.slot}


def own_slots(head: Head) -> frozenset[str]:
    """Return the places that a name fills itself: "medial joint line" leaves no room for lateral."""
    sided = any(site.endswith(("_medial", "_lateral")) for site in head.sites)
    return frozenset({"compartment"}) if sided else frozenset()


def joins(last: Mod | None, gap: str, mod: Mod) -> bool:
    """Say whether "and" joins two compartments, directions or bends: "medially and laterally"."""
    return (
        last is not None and gap in {"and", "or", "/"} and mod.slot == last.slot in {"compartment", "angle"}
    )


def cuts(node: Node) -> bool:
    """Say whether a node ends what may modify one another: a new heading, a turn, the end of a sentence."""
    if isinstance(node, Turn):
        return True
    if isinstance(node, Gap):
        return node.kind == "."
    return not isinstance(node, (Mod, Head)) and node.is_heading and not node.reference
