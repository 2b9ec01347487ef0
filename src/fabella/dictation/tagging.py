"""From words to items: the longest name in the lexicon, numbers, marks; the rest is unknown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from fabella.dictation.items import Item, break_at
from fabella.dictation.marks import ends_question, mark_at, opens_next
from fabella.dictation.names import names_in
from fabella.dictation.quantities import Numbers
from fabella.dictation.short import (
    ABLE,
    PRESENT,
    bracketed_side,
    empty_label,
    is_able,
    is_full_range,
    is_graded,
    is_knee,
    is_remaining,
    numerals,
    points_back,
    says_present,
)
from fabella.dictation.tokens import SIDES, Token, abbreviated, is_led_side, tokens_of
from fabella.dictation.vocabulary import Describing, Lexicon, Meaning, Tag
from fabella.dictation.words import Word, text_at

WHAT_WAS_NORMAL = "it is not said what was found normal"
_ORDER = (
    Tag.SIGN, Tag.BOW, Tag.SITE, Tag.COMPARTMENT, Tag.ANGLE, Tag.MARK, Tag.DESCRIBING, Tag.SIDE, Tag.PERSON,
    Tag.REASON, Tag.SILENT, Tag.UNIT, Tag.NO_UNIT, Tag.LUMP,
)  # fmt: skip
_NUMBERS_FIRST = {Tag.DESCRIBING, Tag.UNIT, Tag.SIDE, Tag.REASON, Tag.PERSON}
_BEFORE_NAMES = {"no", "not", "without", "with", "and"}
_MOST_INSIDE = 2
_WHOLE_KNEE = {"knee", "joint", "either", "both"}
_ARTICLES = {"the", "his", "her", "their"}


@dataclass(frozen=True, slots=True)
class _Text:
    """The words of one text, as the lexicon spells them, with the token that begins at each."""

    words: Sequence[Word]
    tokens: Sequence[Token]
    begins: dict[int, int]
    lexicon: Lexicon
    sides: frozenset[int]

    def named(self, word: int, *, alone: bool = False) -> Item | None:
        """Return the longest name that begins at a word, or the name that the word is by itself."""
        if word not in self.begins:
            return None
        start = self.begins[word]
        tokens = self.tokens[: start + 1] if alone else self.tokens
        return _named(start, tokens, self.words, self.lexicon)


def tag(words: Sequence[Word], lexicon: Lexicon) -> tuple[Item, ...]:
    """Return the items of a text in order; words without meaning have none."""
    tokens = tokens_of(words, lexicon)
    begins = {token.first: place for place, token in reversed(list(enumerate(tokens)))}
    sides = frozenset(place for place, word in enumerate(words) if _is_side(word, lexicon))
    text = _Text(words, tokens, begins, lexicon, sides)
    numbers = Numbers(words, lexicon, _units(lexicon))
    items: list[Item] = []
    counting = numerals(words)
    persons = names_in(words, lexicon)
    place = 0
    while place < len(words):
        if place in persons:
            place += 1
            continue
        if place in counting:
            items.append(Item(tag=Tag.BREAK, value=".", first=place, last=place + 2))
            place += 2
            continue
        item = _item_at(place, text, numbers)
        within = [each for at in item.inside for each in _named_alone(*at, words, lexicon)]
        if item.tag is not Tag.SILENT:
            whole = item
            if item.tag is Tag.SIDE:
                back = points_back(words, place, item.last)
                items = [each for each in items if back is None or each.first < back]
                items += [break_at(place)] if opens_next(words, place) else []
                whole = replace(item, of=_follows_of(words, place), concludes=back is not None)
            items.extend([whole, *within] if item.tag is Tag.SITE else [*within, whole])
            if ends_question(words, place):
                items.append(break_at(item.last))
        place = item.last
    return tuple(items)


def _item_at(place: int, text: _Text, numbers: Numbers) -> Item:
    """Return the item that begins at a word: a number in its company, a name, a mark, or an unknown word."""
    word, named = text.words[place], _best_name(place, text)
    if (little := _little_word(place, text)) is not None:
        return little
    if end := empty_label(text.words, place):
        return Item(tag=Tag.UNKNOWN, value=WHAT_WAS_NORMAL, first=place, last=end, text=word.text)
    number = numbers.at(place)
    if number is not None and (named is None or _goes_first(number, named, place, text)):
        return number
    if (end := abbreviated(text.words, place)) and (named is None or named.last < end):
        letters = "".join(word.text for word in text.words[place:end])
        return Item(tag=Tag.UNKNOWN, value=letters, first=place, last=end, text=letters)
    if named is not None:
        return named
    return mark_at(text.words, place) or _unknown_at(word, place)


def _little_word(place: int, text: _Text) -> Item | None:
    """Return the item of a word that means something by its neighbours alone, or None."""
    word = text.words[place]
    if end := bracketed_side(text.words, place, text.sides):
        side = text.named(place + (word.text in {"(", "["}), alone=True)
        return None if side is None else replace(side, first=place, last=end)
    if is_remaining(text.words, place, text.sides):
        return Item(tag=Tag.SILENT, value=None, first=place, last=place + 1)
    if says_present(text.words, place, text.sides):
        return Item(tag=Tag.DESCRIBING, value=PRESENT, first=place, last=place + 1, text="present")
    if is_full_range(text.words, place):
        full = [Token(stem, place, place + 1) for stem in ("full", "range")]
        return _named(0, full, text.words, text.lexicon) or _unknown_at(word, place)
    if is_able(text.words, place):
        return Item(tag=Tag.DESCRIBING, value=ABLE, first=place, last=place + 1, text=word.text)
    if is_knee(text.words, place, text.sides):
        return Item(tag=Tag.SILENT, value=None, first=place, last=place + 1)
    return None


def _unknown_at(word: Word, place: int) -> Item:
    return Item(tag=Tag.UNKNOWN, value=word.text, first=place, last=place + 1, text=word.text)


def _best_name(place: int, text: _Text) -> Item | None:
    """Return the name at a word; shorter where the words after it make a longer one of their own."""
    word = text.words[place]
    if (named := text.named(place)) is None:
        return None
    knee = named.last - 1 in text.sides and text_at(text.words, named.last) == "knee"
    silent = knee or (place in text.sides and text_at(text.words, place - 1) == "the")
    if (word.stem == "knee" and place - 1 in text.sides) or (named.tag is Tag.SILENT and silent):
        return text.named(place, alone=True)  # "that is all right knee", "now the right so"
    if isinstance(named.value, Describing) and named.value.phrase and _goes_on(text, named.last):
        return text.named(place, alone=True)
    if word.text in _BEFORE_NAMES and named.last > place + 1:
        later = text.named(place + 1)
        if later is not None and later.last > named.last and later.tag is Tag.SIGN:
            return text.named(place, alone=True)
    return named


def _goes_on(text: _Text, place: int) -> bool:
    """Say whether "of" and a sign follow a phrase: "no abnormality of gait", but not "of the left knee"."""
    words = text.words
    if text_at(words, place) not in {"of", "in"}:
        return False
    place += 1 + (text_at(words, place + 1) in _ARTICLES)
    return place < len(words) and place not in text.sides and words[place].stem not in _WHOLE_KNEE


def _follows_of(words: Sequence[Word], place: int) -> bool:
    """Say whether "of" stands before a word, or before the article before it."""
    return text_at(words, place - 1 - (text_at(words, place - 1) in _ARTICLES)) == "of"


def _goes_first(number: Item, named: Item, place: int, text: _Text) -> bool:
    """Say whether a number counts before a name at the same place: but for "to", "zero" may be a result."""
    if number.last != named.last:
        return number.last > named.last
    result = text.words[place].text in {"nil", "zero"} and text_at(text.words, place - 1) != "to"
    return named.tag in _NUMBERS_FIRST and not (result and not is_graded(text.words, place))


def _is_side(word: Word, lexicon: Lexicon) -> bool:
    """Say whether a word is a side, so that the knee after it is no part of a longer name."""
    node = lexicon.tree.follows.get(word.stem)
    return node is not None and any(meaning.tag is Tag.SIDE for meaning in node.meanings)


def _named(start: int, tokens: Sequence[Token], words: Sequence[Word], lexicon: Lexicon) -> Item | None:
    """Return the longest name that begins at a token.

    Silent words inside it do not matter, nor do hyphens; a degree or a "not" inside it is said of the whole.
    """
    node, place, best = lexicon.tree, start, None
    meanings: tuple[Meaning, ...] = ()
    inside: list[Token] = []
    skipped = 0
    while place < len(tokens):
        token = tokens[place]
        below = node.follows.get(token.stem)
        if below is None:
            if place == start:
                return None
            if (token.stem in lexicon.inside and len(inside) < _MOST_INSIDE) or is_led_side(token, words):
                inside.append(token)
            elif not _is_skipped(token, words, lexicon):
                break
        else:
            node = below
            if place > start and token.stem in SIDES and tokens[place - 1].stem in lexicon.silent:
                break  # "all of that was the right knee" is no "all right"
            if node.meanings and (not inside or _may_hold(node.meanings[0].tag, inside)):
                best, meanings, skipped = place, node.meanings, len(inside)
        place += 1
    if best is None:
        return None
    first, last = tokens[start].first, tokens[best].last
    ordered = sorted(meanings, key=lambda meaning: _ORDER.index(meaning.tag))
    return Item(
        tag=ordered[0].tag,
        value=ordered[0].value,
        first=first,
        last=last,
        text=" ".join(word.text for word in words[first:last]),
        plural=any(word.is_plural for word in words[first:last]),
        others=tuple(ordered[1:]),
        inside=tuple((token.first, token.last) for token in inside[:skipped]),
    )


def _is_skipped(token: Token, words: Sequence[Word], lexicon: Lexicon) -> bool:
    return token.stem in lexicon.silent or (token.stem == "-" and words[token.first].glued)


def _may_hold(tag: Tag, inside: Sequence[Token]) -> bool:
    """Say whether a name may have such words inside it: a site only a side, "behind the left knee"."""
    return tag is Tag.SIGN or (tag is Tag.SITE and all(token.stem in SIDES for token in inside))


def _named_alone(first: int, last: int, words: Sequence[Word], lexicon: Lexicon) -> list[Item]:
    """Return the item of a single word that stands inside a name."""
    item = _named(0, [Token(words[first].stem, first, last)], words, lexicon)
    return [] if item is None else [item]


def _units(lexicon: Lexicon) -> dict[str, str]:
    return {
        name: meaning.value
        for name, node in lexicon.tree.follows.items()
        for meaning in node.meanings
        if meaning.tag is Tag.UNIT
    }
