"""The pieces of a sentence as the grammar sees them: heads, what modifies them, sides, breaks and turns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from fabella.dictation.items import Item, is_whole, item_at
from fabella.dictation.noes import bound_denial
from fabella.dictation.vocabulary import Describing, SignWord, Tag
from fabella.dictation.which_side import is_of_side, leads_to_side, names_knee, opens_leg

Piece = tuple[int, int]
"""First and last word, the last exclusive."""

_MARK_SLOTS = {
    "cannot": "result",
    "not_done": "result",
    "tolerated": "barred",
    "guarded": "barred",
    "bound": "number",
}


_DOUBTFUL = {"equivocal", "borderline", "questionable", "inconclusive", "indeterminate"}
"""Doubts that are results of their own: "equivocal on the right, negative on the left"."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """A sign and where it is (``sites``); of a lump also size and feel (``details``) and words to keep."""

    word: SignWord
    pieces: tuple[Piece, ...]
    sites: tuple[str, ...] = ()
    details: tuple[Mod, ...] = ()
    notes: tuple[Piece, ...] = ()
    plural: bool = False
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mod:
    """Something said of a head: a describing word, a number, a compartment, a bend, why it was not done."""

    item: Item
    negated: bool = False
    pieces: tuple[Piece, ...] = ()

    @property
    def slot(self) -> str:
        """Return the place that it fills; what fills none never collides."""
        tag, value = self.item.tag, self.item.value
        if tag is Tag.DESCRIBING:
            if value.grade is not None:
                return "grade"
            return "pain" if value.pain else "degree" if value.degree and not value.says else "result"
        if tag is Tag.MARK:
            return "result" if self.item.text in _DOUBTFUL else _MARK_SLOTS.get(value, str(value))
        if tag is Tag.REASON:
            return "barred" if value == "refused" else ""
        slots = {
            Tag.NUMBER: "number", Tag.RANGE: "number", Tag.COMPARTMENT: "compartment", Tag.BOW: "compartment",
            Tag.ANGLE: "angle", Tag.SITE: "site",
        }  # fmt: skip
        return slots.get(tag, "")


@dataclass(frozen=True, slots=True, kw_only=True)
class SideNode:
    """A side that was named: with a preposition or not, with the word knee or not, before a colon or not.

    ``side`` is right, left, both, other, affected or sound; empty when the words after it make it doubtful.
    """

    side: str
    pieces: tuple[Piece, ...]
    preposition: bool = False
    knee: bool = False
    colon: bool = False
    reference: str = ""
    """The words that only compare with it: "more than" the left; empty when it is named for itself."""
    adjective: bool = False
    """Whether it can only belong to what follows: "bilateral"."""
    after_unknown: bool = False
    """Whether the word before it is not known: "favouring the right"."""

    concludes: bool = False
    """Whether a sentence of its own says it of what came before: "that's the left knee"."""

    @property
    def is_heading(self) -> bool:
        """Whether it opens something new by its form alone."""
        return self.colon or (self.knee and not self.preposition)


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """What parts two pieces: a comma, a colon, "and", "or", "but", the end of a sentence, words not known."""

    kind: str
    pieces: tuple[Piece, ...]
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """The speaker turns: puts right, takes back, compares, makes an exception."""

    kind: str
    pieces: tuple[Piece, ...]
    value: str = ""


Node = Head | Mod | SideNode | Gap | Turn

_TRAILING = {"both sides", "both of them", "either side", "each side"}
"""Said without "on" they mean what was said before as well."""
_TURNS = ("sorry", "scrap", "actually", "same", "similar", "except")
_GAPS = ("and", "or", "but")


def nodes_of(items: Sequence[Item]) -> tuple[Node, ...]:
    """Return the nodes of a text; tenderness has found its sites, and directions their tests, before."""
    found: list[Node] = []
    place = 0
    while place < len(items):
        nodes, place = _nodes(items, place)
        found.extend(nodes)
    return tuple(found)


def _nodes(items: Sequence[Item], place: int) -> tuple[tuple[Node, ...], int]:
    """Return the nodes of the item at a place, and the place after it."""
    item = items[place]
    if leads_to_side(item) and item_at(items, place + 1).tag is Tag.SIDE:
        return (), place + 1
    if item.is_mark("and") and item.text == "which" and _is_knee(item_at(items, place - 1)):
        return (), place + 1
    if item.text.startswith("neither") and (neither := _neither(items, place)) is not None:
        return neither
    if item.tag is Tag.SIDE or (item.is_mark("knee") and (item.plural or _follows_unknown(items, place))):
        node, last = _side(items, place)
        return (node,), last
    if item.is_mark("than") and (compared := _than_side(items, place)) is not None:
        return compared
    if item.is_mark("no", "denies") and (bound := bound_denial(items, place)):
        negated = replace(items[place + 1], first=item.first)
        return (Mod(item=negated, negated=True, pieces=((item.first, negated.last),)),), bound
    doubtful = item.tag is Tag.SIGN and item.text.startswith("knee") and _follows_unknown(items, place)
    before = (SideNode(side="", pieces=(), knee=True),) if doubtful else ()
    return (*before, _single(items, place)), place + 1


def _is_knee(item: Item) -> bool:
    return item.tag is Tag.SIDE or item.is_mark("knee")


def _than_side(items: Sequence[Item], place: int) -> tuple[tuple[Node, ...], int] | None:
    """Return the knee with which "more than on the left" compares."""
    than, side = items[place], place + 1 + leads_to_side(item_at(items, place + 1))
    if item_at(items, side).tag is not Tag.SIDE:
        return None
    node, last = _side(items, side)
    if not isinstance(node, SideNode):
        return None
    return (replace(node, reference=than.text, pieces=((than.first, than.last), *node.pieces)),), last


def _neither(items: Sequence[Item], place: int) -> tuple[tuple[Node, ...], int] | None:
    """Return both knees and a denial for "neither knee"; behind a sign the denial is its result."""
    item = items[place]
    if item.tag is Tag.SIDE:
        node, last = _side(items, place)
        said = replace(item, tag=Tag.DESCRIBING, value=Describing(key="negative", says="absent"))
        behind = item_at(items, place - 1).tag is Tag.SIGN
        return (node, Mod(item=said if behind else replace(item, tag=Tag.MARK, value="no", text="no"))), last
    if item_at(items, place + 1).is_mark("knee"):
        pieces = ((item.first, items[place + 1].last),)
        return (SideNode(side="both", pieces=pieces, knee=True), Mod(item=item)), place + 2
    return None


def _single(items: Sequence[Item], place: int) -> Node:
    """Return the node of an item that stands for itself."""
    item = items[place]
    pieces = ((item.first, item.last),)
    if item.tag is Tag.SIGN:
        head = item.value if isinstance(item.value, Head) else Head(word=item.value, pieces=pieces)
        return replace(head, plural=head.plural or item.plural, text=head.text or item.text)
    if item.tag is Tag.BREAK:
        return Gap(kind=item.value, pieces=pieces)
    if item.tag in {Tag.UNKNOWN, Tag.NO_UNIT, Tag.UNIT} or item.is_mark("elsewhere"):
        return Gap(kind="?", pieces=pieces, text=item.text)
    if item.is_mark(*_GAPS):
        return Gap(kind=item.value, pieces=pieces)
    if item.is_mark("like") and _stands_between_sides(items, place):
        return Turn(kind="same", pieces=pieces, value="same as")
    if item.is_mark(*_TURNS):
        return Turn(kind=item.value, pieces=pieces, value=item.text)
    return Mod(item=item, pieces=pieces)


def _stands_between_sides(items: Sequence[Item], place: int) -> bool:
    before = [item for item in items[:place] if not item.is_mark("knee") and not item.is_break(":")]
    return bool(before) and before[-1].tag is item_at(items, place + 1).tag is Tag.SIDE


def _follows_unknown(items: Sequence[Item], place: int) -> bool:
    """Say whether an unknown word stands right before "knee": it may tell which one."""
    before = item_at(items, place - 1)
    return before.tag is Tag.UNKNOWN and before.last == items[place].first


def _side(items: Sequence[Item], place: int) -> tuple[Node, int]:
    """Return the knee that is named at a place, with its "knee", and the place after it."""
    item, before = items[place], item_at(items, place - 1)
    bare = item.tag is Tag.MARK  # "knees", or a knee behind a word that is not known
    last = place + 1
    if not bare and item_at(items, last).is_mark("elsewhere"):
        foot = items[last]
        return Gap(kind="?", pieces=((item.first, foot.last),), text=f"{item.text} {foot.text}"), last + 1
    last += not bare and names_knee(item_at(items, last))
    following = item_at(items, last)
    led = item.of or leads_to_side(before)
    knee = (
        bare
        or last > place + 1
        or opens_leg(items, place, following)
        or (item.text.endswith(" side") and not led and is_whole(following))
    )
    node = SideNode(
        side=_which(item, doubtful=not knee and is_of_side(items, place, last)),
        pieces=((item.first, items[last - 1].last),),
        preposition=led or item.text in _TRAILING,
        concludes=item.concludes,
        knee=knee,
        colon=following.is_break(":"),
        reference=before.text if before.is_mark("like") else "",
        adjective=item.text in {"bilateral", "bilat"},
        after_unknown=before.tag is Tag.UNKNOWN,
    )
    return node, last


def _which(item: Item, *, doubtful: bool) -> str:
    if item.tag is Tag.MARK:
        return "both" if item.plural else ""
    return "" if doubtful else str(item.value)
