"""What a lump has gathered: its details, its places, what must be asked about, and the sign made of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from fabella.dictation.items import Item
from fabella.dictation.lump_places import LumpPlace
from fabella.dictation.lump_words import kind_of, opened
from fabella.dictation.nodes import Head, Mod, Piece
from fabella.dictation.vocabulary import SignWord

PULSES = {"popliteal_mass": "popliteal_pulsation"}
"""The sign of a pulse in a lump, by the sign of the lump."""
_SIZE_OR_PLACE = "the size of the lump, or how far away it lies?"
_TWO_SIZES = "which of the two is its size?"
_NO_PULSE = "the protocol asks for the pulse of a lump behind the knee only"
_NOT_OF_KNEE = "it is not said of the knee"


def lump_signs(word: SignWord, sites: Iterable[str]) -> tuple[str, ...]:
    """Return the signs that a lump enters at these sites."""
    return tuple(dict.fromkeys(word.at[site] for site in sites if site in word.at)) or word.to


@dataclass(slots=True, eq=False)
class Gathered:
    """One lump and what was found around it; items that any lump has taken are no other's."""

    items: Sequence[Item]
    place: int
    taken: set[int]
    own: dict[int, Mod | None] = field(default_factory=dict)
    places: list[LumpPlace] = field(default_factory=list)
    distances: list[int] = field(default_factory=list)
    open: dict[int, Item] = field(default_factory=dict)
    denied: bool = False

    def puts_right(self, at: int) -> bool:
        """Forget the last detail where another of its kind follows: "5 cm, sorry, 4 cm"."""
        said = next((item for item in self.items[at + 1 :] if not item.is_break(",")), None)
        last = max((place for place, mod in self.own.items() if mod is not None), default=-1)
        before = self.own.get(last)
        if said is None or before is None or kind_of(before) != kind_of(Mod(item=said)):
            return False
        self.own[last] = None
        return True

    @property
    def has_size(self) -> bool:
        """Whether its size was found."""
        return any(kind_of(mod) == "size" for mod in self.own.values())

    def forget_size(self, at: int) -> None:
        """Ask about two sizes, the one found and another: "4 cm last year, 6 cm now"."""
        first = [place for place, mod in self.own.items() if kind_of(mod) == "size"]
        self.take([at])
        self._ask_about([*first, at], _TWO_SIZES)

    def take(self, places: Iterable[int], mod: Mod | None = None, said: int = -1) -> None:
        """Take items as its own, one of them (``said``) as a detail."""
        for place in places:
            self.own[place] = mod if place == said else None
            self.taken.add(place)

    def leave_open(self, at: int, end: int, why: str) -> int:
        """Take words out that must be asked about, and return where they end."""
        self.open[at] = opened(self.items, at, end, why)
        self.taken.update(range(at, end))
        return end

    # ------------------------------------------------------------------ the lump with all of it

    def finished(self) -> Iterable[tuple[int, Item]]:
        """Yield the lump with its details, and what is said of it that must be asked about."""
        item = self.items[self.place]
        word: SignWord = item.value
        sites = tuple(dict.fromkeys(site for where in self.places for site in where.sites))
        if not self.has_size:
            self._ask_about(self.distances, _SIZE_OR_PLACE)
        if not PULSES.keys() & set(lump_signs(word, sites)):
            self._ask_about([at for at, mod in self.own.items() if kind_of(mod) == "beat"], _NO_PULSE)
        if any(where.elsewhere for where in self.places):
            word = replace(word, aside=_NOT_OF_KNEE)
        head = Head(
            word=word,
            pieces=tuple(
                (self.items[at].first, self.items[at].last) for at in sorted({self.place, *self.own})
            ),
            sites=sites,
            details=tuple(mod for mod in self.own.values() if mod is not None),
            notes=self._notes(word),
            plural=item.plural,
            text=item.text,
        )
        yield self.place, replace(item, value=head)
        yield from self.open.items()

    def _ask_about(self, places: Iterable[int], why: str) -> None:
        for at in places:
            del self.own[at]
            self.open[at] = opened(self.items, at, at + 1, why)

    def _notes(self, word: SignWord) -> tuple[Piece, ...]:
        """Return the words kept beside the lump: where it is, unless its sign says so, and how it feels."""
        meant = list(word.at.values())
        told = {at for at, mod in self.own.items() if kind_of(mod) == "plain" or at in self.distances}
        for where in self.places:
            if not where.sites or any(meant.count(word.at.get(site, "")) != 1 for site in where.sites):
                told.update(where.own)
        pieces: list[Piece] = []
        for at in sorted(told):
            first = pieces.pop()[0] if at - 1 in told and pieces else self.items[at].first
            pieces.append((first, self.items[at].last))
        return tuple(pieces)
