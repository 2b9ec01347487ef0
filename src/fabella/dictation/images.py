"""Images of a knee that were there: what was taken, of which knee, what it shows; or it is asked about.

Only a sentence of which every word is known is read. Whatever else an image is said to show stays open, as
what no hands found.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Any

from fabella.anatomy import Side
from fabella.dictation.words import Word, split
from fabella.record import ImageKind, Imaging

OF_WHICH_KNEE = "an image: of which knee?"
ONLY_DENIED = "does the image show nothing at all, or only not that?"
SHOWN_TWICE = "two images of one kind of this knee: which is the latest?"
_SENTENCE_ENDS = (".", "!", "?", "\n")

_Names = Mapping[tuple[str, ...], tuple[str, str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class ImagePassage:
    """What the words from ``first`` up to ``last`` tell of images, or what must be asked about them."""

    first: int
    last: int
    imaging: tuple[Imaging, ...] = ()
    question: str = ""


@dataclass(slots=True)
class _Sentence:
    """What one sentence has told of an image so far."""

    kinds: set[str] = field(default_factory=set)
    sides: set[str] = field(default_factory=set)
    shown: list[str] = field(default_factory=list)
    waiting: list[str] = field(default_factory=list)
    denying: bool = False
    denied: bool = False
    joined: bool = False
    normal: bool = False
    closed: bool = False
    limited: bool = False

    def take(self, part: str, value: str) -> bool:
        """Take one name of the sentence, and say whether it leaves nothing to guess."""
        match part:
            case "kind":
                self.kinds.add(value)
                return not (self.has_results or self.denying)
            case "side":
                self.sides.add(value)
            case "lesion" | "unnamed":
                return self._lesions(value.split(), named=part == "lesion")
            case "structure":
                return self._structure(value.split())
            case _:
                return self._word(value)
        return True

    def _lesions(self, lesions: Sequence[str], *, named: bool) -> bool:
        if self.waiting or (self.denying and self.joined):
            return False  # "no fracture and osteoarthritis"
        self.denied |= self.denying
        if not self.denying:
            self.shown += lesions
        return named or self.denying

    def _structure(self, lesions: Sequence[str]) -> bool:
        if self.denying:
            return False
        self.waiting += lesions
        return True

    def _word(self, word: str) -> bool:
        """Take a word of speech: what is torn or intact, what is denied, that all is normal."""
        match word:
            case "torn" | "intact" | "normal" if self.waiting:
                self.denied |= word != "torn"
                self.shown += self.waiting if word == "torn" else []
                self.waiting = []
            case "torn" | "intact":
                return False
            case "normal" | "rest":
                self.normal, self.closed = self.normal or word == "normal", self.closed or word == "rest"
                return not (self.waiting or self.denying)
            case "no":
                self.denying, self.joined = True, False
                return not self.waiting
            case "time":
                return not self.has_results  # "MRI last week, ACL torn last year"
            case "limited":
                self.limited = True
                return not self.denying  # "no motion artefact"
            case "stop":
                self.denying = self.joined = False
            case "and":
                self.joined = True
        return True

    @property
    def has_results(self) -> bool:
        """Whether anything was told that an image may show."""
        return self.normal or self.closed or self.denied or bool(self.shown or self.waiting)

    @property
    def is_told(self) -> bool:
        """Whether one kind of image was told, and what it shows without contradiction."""
        clear = not (self.waiting or (self.normal and (self.shown or self.closed)))
        return len(self.kinds) == 1 and self.has_results and clear


def read_images(text: str, words: Sequence[Word]) -> tuple[ImagePassage, ...]:
    """Return what the sentences of a text tell of images, in order; other sentences are left out."""
    found = [read for first, last in _sentences(words) if (read := _read(text, words, first, last))]
    taken = [(each.image, each.side) for read in found for each in read.imaging]
    return tuple(
        ImagePassage(first=read.first, last=read.last, question=SHOWN_TWICE)
        if any(taken.count((each.image, each.side)) > 1 for each in read.imaging)
        else read
        for read in found
    )


def _sentences(words: Sequence[Word]) -> Iterator[tuple[int, int]]:
    first = 0
    for place in range(len(words) + 1):
        if place == len(words) or words[place].text in _SENTENCE_ENDS:
            if place > first:
                yield first, place
            first = place + 1


def _read(text: str, words: Sequence[Word], first: int, last: int) -> ImagePassage | None:
    """Return what one sentence tells of an image, or None where it tells nothing or a word is not known."""
    told, place = _Sentence(), first
    while place < last:
        named = _longest(words, place, last)
        if named is None or not told.take(*named[0]):
            return None
        place = named[1]
    if not told.is_told:
        return None
    sides = tuple(Side) if told.sides == {"both"} else tuple(side for side in Side if side in told.sides)
    if not sides or len(told.sides) != 1:
        return ImagePassage(first=first, last=last, question=OF_WHICH_KNEE)
    kind, shown = ImageKind(next(iter(told.kinds))), tuple(dict.fromkeys(told.shown))
    if not shown and not told.normal and kind is not ImageKind.VEIN_ULTRASOUND:  # which looks for one thing
        return ImagePassage(first=first, last=last, question=ONLY_DENIED)
    said = text[words[first].start : words[last - 1].end]
    images = tuple(
        Imaging(image=kind, side=side, shows=shown, limited=told.limited, words=said) for side in sides
    )
    return ImagePassage(first=first, last=last, imaging=images)


def _longest(words: Sequence[Word], place: int, last: int) -> tuple[tuple[str, str], int] | None:
    """Return the longest name at a word, and the place behind it; a number tells when it was."""
    names = _names()
    for end in range(min(last, place + max(map(len, names))), place, -1):
        if named := names.get(tuple(word.stem for word in words[place:end])):
            return named, end
    return (("word", "time"), place + 1) if words[place].is_number else None


@cache
def _names() -> _Names:
    """Return every name as its stems, with the part it plays and what it stands for."""
    data: dict[str, Any] = tomllib.loads(
        files("fabella.dictation").joinpath("data", "images.toml").read_text("utf-8")
    )
    rows = [
        (name, part, value)
        for part in ("word", "structure", "lesion", "side", "kind")
        for value, names in data[part].items()
        for name in names
    ]
    rows += [(name, "unnamed", "") for name in data["unnamed"]["names"]]
    return {tuple(word.stem for word in split(name)): (part, value) for name, part, value in rows}
