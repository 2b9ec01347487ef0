"""Lumps, before the parser sees them: their size, feel and place belong to no sign beside them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import takewhile

from fabella.dictation.items import Item, reads
from fabella.dictation.lump_gathered import Gathered
from fabella.dictation.lump_places import place_at, place_before
from fabella.dictation.lump_words import (
    ends_before_sign,
    is_degree,
    is_length,
    is_size_before,
    is_tender,
    lump_word,
    said_open,
)
from fabella.dictation.nodes import Mod
from fabella.dictation.vocabulary import Tag

_OF_NO_LUMP = "it is not said of which sign"
_IN_FRONT = {"feel", "beat", "plain"}


def join_lumps(items: Sequence[Item]) -> list[Item]:
    """Return the items in which every lump has what is said of it, and no such words are left beside it."""
    taken: set[int] = set()
    lumps = [_Lump(items, place, taken) for place, item in enumerate(items) if reads(item, "lump")]
    for lump in lumps:
        lump.look_before()
    for lump in lumps:
        lump.look_behind()
    made = {place: item for lump in lumps for place, item in lump.finished()}
    taken -= made.keys()
    return [_unless_of_lump(made.get(place, item)) for place, item in enumerate(items) if place not in taken]


def _unless_of_lump(item: Item) -> Item:
    """Return a word that is said of lumps alone as one not understood, where there is none."""
    if item.tag is not Tag.LUMP:
        return item
    feel = item.value.kind in {"feel", "beat"}
    return replace(item, tag=Tag.UNKNOWN, value=_OF_NO_LUMP if feel else item.text)


class _Lump(Gathered):
    """One lump, looking for what is said of it."""

    def look_before(self) -> None:
        """Take what stands in front: "a hard, fixed 5 cm lump"."""
        at, links = self.place - 1, list[int]()
        comma = False
        while at >= 0 and at not in self.taken:
            item = self.items[at]
            word = lump_word(item)
            size = not self.has_size and is_size_before(self.items, at, parted=comma)
            if size or (word is not None and word.kind in _IN_FRONT):
                self.take([at, *links], Mod(item=item), at)
                links = []
            elif item.is_break(",") or item.is_mark("and", "or", "but"):
                links.append(at)
                comma = True
            elif not is_tender(item) and not is_degree(item):
                break
            at -= 1
        self.denied = at >= 0 and self.items[at].is_mark("no", "denies")
        where = None if links or at < 0 else place_before(self.items, at)
        if where is not None:
            self.places.append(where)
            self.take(where.own)

    def look_behind(self) -> None:
        """Take what stands behind, and sentences that tell nothing but more of it."""
        at = self._run(self.place + 1, first=True)
        while not self.denied and at < len(self.items) and self.items[at].is_break("."):
            kept = (dict(self.own), list(self.places), list(self.distances), dict(self.open), set(self.taken))
            end = self._run(at + 1, first=False)
            if end == at + 1 or not self._says_no_more(end):
                self.own, self.places, self.distances, self.open = kept[:4]
                self.taken.intersection_update(kept[4])
                return
            at = end

    def _says_no_more(self, at: int) -> bool:
        """Say whether the rest of a sentence names nothing of which the words before could be said."""
        rest = list(takewhile(lambda item: not item.is_break("."), self.items[at:]))
        return not any(item.tag in {Tag.SIGN, Tag.SITE, Tag.SIDE, Tag.NUMBER, Tag.RANGE} for item in rest)

    def _run(self, at: int, *, first: bool) -> int:
        """Take one detail after the other, and return where they end; a side may stand between them once."""
        links: list[int] = []
        parted, crossed = not first, not first
        while at < len(self.items) and at not in self.taken:
            item = self.items[at]
            end = self._detail(at, parted=parted, first=first)
            if end > at:
                self.take(links)
                links, parted = [], False
            elif self.denied:
                break
            elif item.is_mark("sorry", "actually") and self.puts_right(at):
                links.append(at)
                end = at + 1
            elif item.is_break(",", ":") or item.is_mark("and", "but", "preposition"):
                links.append(at)
                parted = parted or not (item.is_mark("preposition") or item.text == "which")
                end = at + 1
            elif not crossed and item.tag is Tag.SIDE and self._is_own_side(at, parted=parted):
                links, crossed, end = [], True, at + 1
                end += end < len(self.items) and self.items[end].is_mark("knee")
            else:
                end = self._passed(at)
                links = []
            if end == at:
                break
            at = end
        return at

    def _passed(self, at: int) -> int:
        """Return the place after words that part nothing: how much, and tenderness without a site."""
        denied = self.items[at].is_mark("no")
        tender = at + denied
        if tender < len(self.items) and is_tender(self.items[tender]):
            sited = place_at(self.items, tender + 1, parted=False) is not None
            return at if sited else tender + 1
        return at + is_degree(self.items[at])

    def _is_own_side(self, at: int, *, parted: bool) -> bool:
        """Say whether a side tells where the lump is, and does not begin to speak of the other knee."""
        led = at > 0 and self.items[at - 1].is_mark("preposition")
        begins = max((place for place in range(at) if self.items[place].is_break(".")), default=-1)
        named = {item.value for item in self.items[begins + 1 : self.place] if item.tag is Tag.SIDE}
        return (led or not parted) and named <= {self.items[at].value}

    # ------------------------------------------------------------------ one detail

    def _detail(self, at: int, *, parted: bool, first: bool) -> int:
        """Take the detail that begins here, and return the place after it, or the same place."""
        where = place_at(self.items, at, parted=parted)
        if where is not None and (not self.denied or not parted):
            self.places.append(where)
            self.take(where.own)
            return where.end
        if self.denied:
            return at
        if (doubtful := said_open(self.items, at)) is not None:
            return self.leave_open(at, *doubtful)
        negated = self.items[at].is_mark("no", "denies")
        said = at + negated
        if said >= len(self.items) or ends_before_sign(self.items, said + 1, parted=parted):
            return at
        item, word = self.items[said], lump_word(self.items[said])
        if not negated and (is_length(item) or item.tag is Tag.LANDMARK):
            return self._length(at)
        if word is None or word.kind not in {"feel", "beat", *(() if negated else ("plain", "label"))}:
            return at
        if item.tag is Tag.SIGN and (parted or not first):
            return at  # "moves freely" behind a break may be said of the knee
        self.take(range(at, said + 1), Mod(item=item, negated=negated), said)
        return self._also_denied(said + 1) if negated else said + 1

    def _also_denied(self, at: int) -> int:
        """Take what "or" joins to a detail that was denied: "not hard or fixed"."""
        while at + 1 < len(self.items) and self.items[at].is_mark("or"):
            word = lump_word(self.items[at + 1])
            if word is None or word.kind != "feel":
                break
            self.take([at, at + 1], Mod(item=self.items[at + 1], negated=True), at + 1)
            at += 2
        return at

    def _length(self, at: int) -> int:
        """Take a length as the size, unless it may be how far away the lump lies."""
        item, following = self.items[at], self.items[at + 1 : at + 2]
        word = lump_word(following[0]) if following else None
        away = item.tag is Tag.LANDMARK or (word is not None and word.kind == "beside")
        if away and (item.tag is Tag.LANDMARK or item.value.diameters == 1):
            self.distances.append(at)
            self.take([at])
            return at + 1
        if self.has_size:
            self.forget_size(at)
        else:
            self.take([at], Mod(item=item), at)
        return at + 1
