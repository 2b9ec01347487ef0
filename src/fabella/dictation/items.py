"""What tagging makes of words: items, each a group of words with the part it plays."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from fabella.anatomy import Side
from fabella.dictation.vocabulary import Describing, Meaning, SignWord, Tag


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A number with its unit (empty when none was said), or out of how many; the greatest of diameters."""

    value: float
    unit: str = ""
    out_of: int | None = None
    diameters: int = 1
    beyond: bool = False
    """Of degrees of extension, whether a plus was said: beyond straight."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Two numbers said as a range; a negative ``low`` lies beyond straight, as it was said."""

    low: float
    high: float
    unit: str = ""
    minus: bool = False
    """Whether the first was said with a minus and nothing else, which may mean either way."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A group of words and the part it plays; ``first`` and ``last`` bound its words, the last exclusive.

    ``others`` are further parts that the same words can play; ``inside`` bounds words of another meaning
    among them: "quadriceps *slightly* wasted".
    """

    tag: Tag
    value: Any
    first: int
    last: int
    text: str = ""
    plural: bool = False
    others: tuple[Meaning, ...] = ()
    inside: tuple[tuple[int, int], ...] = ()
    of: bool = False
    """Whether "of" stands before it, or it belongs to somebody else: "his 12 year old son"."""
    concludes: bool = False
    """Of a side, whether its sentence only says of what was told before: "that's the left knee"."""

    @property
    def sign(self) -> SignWord | None:
        """Return the sign that it names, while it is no head yet."""
        return self.value if isinstance(self.value, SignWord) else None

    def is_mark(self, *values: str) -> bool:
        """Say whether it is one of these marks of speech."""
        return self.tag is Tag.MARK and self.value in values

    def is_break(self, *values: str) -> bool:
        """Say whether it is one of these breaks: comma, stop, colon, slash."""
        return self.tag is Tag.BREAK and (not values or self.value in values)

    def other(self, tag: Tag) -> Any:
        """Return what the same words mean as another part, or None."""
        return next((meaning.value for meaning in self.others if meaning.tag is tag), None)


def reads(item: Item, reader: str) -> bool:
    """Say whether an item is a sign whose numbers or sites are read in this way."""
    return item.sign is not None and item.sign.reader == reader


def is_whole(item: Item) -> bool:
    """Say whether an item says of a whole knee that it is normal."""
    return isinstance(item.value, Describing) and item.value.whole


def is_knee(item: Item) -> bool:
    """Say whether an item names one knee."""
    return item.tag is Tag.SIDE and item.value in set(Side)


def break_at(place: int, mark: str = ".") -> Item:
    """Return a break before a word, where speech has no mark."""
    return Item(tag=Tag.BREAK, value=mark, first=place, last=place)


_EDGE = Item(tag=Tag.BREAK, value=".", first=-1, last=-1)


def item_at(items: Sequence[Item], place: int) -> Item:
    """Return the item at a place; before the first and behind the last one a sentence ends."""
    return items[place] if 0 <= place < len(items) else _EDGE


def sentence_at(items: Sequence[Item], place: int) -> Sequence[Item]:
    """Return the items of the sentence in which a place lies."""
    start = max((at for at in range(place) if items[at].is_break(".")), default=0)
    end = next((at for at in range(place, len(items)) if items[at].is_break(".")), len(items))
    return items[start:end]


def sentences(items: Sequence[Item]) -> Iterator[list[Item]]:
    """Yield the items up to each stop, the stop with them, and what stands behind the last."""
    sentence: list[Item] = []
    for item in items:
        sentence.append(item)
        if item.is_break("."):
            yield sentence
            sentence = []
    if sentence:
        yield sentence


def knee_left_open(before: Sequence[Item], passage: Sequence[Item], end: int) -> list[Item]:
    """Return what stands behind a passage that is put aside, up to the word ``end``.

    A knee that is named in it, and not right before it, may be the one that is told of next, or not: then it
    is an item that asks which, else nothing.
    """
    last = next((each.value for each in reversed(before) if is_knee(each)), None)
    named = {each.value for each in passage if is_knee(each)} - {last}
    return [Item(tag=Tag.SIDE, value="", first=end, last=end)] if named else []
