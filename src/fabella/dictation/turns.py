"""Who speaks, and when: time stamps and names are no words, and of others' turns nothing is a finding."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from fabella.dictation.account import is_telling
from fabella.dictation.listed import load_listed
from fabella.dictation.spans import Mark
from fabella.dictation.tagging import tag
from fabella.dictation.understood import Became, Idle
from fabella.dictation.vocabulary import Lexicon, Tag
from fabella.dictation.words import Word, split

SOMEBODY_ELSE = "somebody else says it; say what was found"
REPLIED = "a question and its answer; say what was found"
WHO_EXAMINES = "it is not plain which of the speakers examines; say what was found"
_CLOCK = r"\d{1,2}:[0-5]\d(?::[0-5]\d)?(?:[.,]\d{1,3})?(?!\d)"
_STAMPS = re.compile(
    rf"\AWEBVTT[^\n]*\n"
    rf"|\n{{0,4}}^(?:[ \t]*\d+[ \t]*\n)?[ \t]*{_CLOCK}[ \t]*-->[ \t]*{_CLOCK}[^\n]*(?:\n|\Z)"
    rf"|[\[(<][ \t]*{_CLOCK}[ \t]*[\])>]"
    rf"|^[ \t]*{_CLOCK}(?=\s)",
    re.MULTILINE,
)
_LABEL = re.compile(r"[ \t]*(?:-[ \t]*)?(?P<name>[A-Za-z][\w.' ]{0,28}?)[ \t]*:(?=\s)")
_BEGINS = re.compile(r"^|(?<=[.?!])[ \t]+", re.MULTILINE)
_NUMBER = re.compile(r"[ .]*\b(?:\d{1,2}|one|two|three|four|five|six|[a-f])\Z")
_OPEN = {Tag.PERSON, Tag.UNKNOWN, Tag.UNIT, Tag.NO_UNIT}
_PAUSE = "um"
_UNSPOKEN = {"\n", _PAUSE}
_SHORTEST_STAMP = 2
"""A pause that was spoken, and the end of a line, are no longer."""
_COURTESIES = ("answers", "thanks", "thanks_briefly")
_FEWEST_TURNS = 3
_TIMES_AS_MUCH = 2
"""How much more than any other the examiner says, where speakers are only numbered: a judgement."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Turn:
    """What one speaker says, from the end of the name up to the next; ``who`` is a kind of speaker."""

    start: int
    begins: int
    end: int
    who: str
    name: str


def take_turns(text: str, lexicon: Lexicon) -> tuple[tuple[Word, ...], tuple[Mark, ...]]:
    """Return the words of the examiner, each other's turn as one mark of the text, and what became of those.

    A time stamp is no word. A name that is followed by a colon counts where speakers change, or beside a
    time stamp; what stands before the first name is the examiner's.
    """
    stamps = [match.span() for match in _STAMPS.finditer(text)]
    turns = _turns(text, stamps)
    said = _said(text, stamps, turns)
    spoken = _Spoken()
    spoken.add([word for word in said if not turns or word.start < turns[0].start])
    examiner = _examiner(turns, text)
    asked = ""
    for turn in turns:
        own = [word for word in said if turn.start <= word.start < turn.end]
        if turn.name == examiner or turn.who == "examines":
            spoken.add(own)
            asked = _question(text[turn.begins : turn.end])
            continue
        last = next((at + 1 for at in range(len(own) - 1, 0, -1) if own[at].text not in _UNSPOKEN), 1)
        spoken.add(own[:1])
        if last > 1:
            spoken.add_other(own[1:last], _why(own[1:last], asked, lexicon, known=bool(examiner)))
        spoken.add(own[last:])
    return tuple(spoken.words), tuple(spoken.marks)


class _Spoken:
    """The words of a transcript as they are gathered, and what becomes of those that are not read."""

    def __init__(self) -> None:
        self.words: list[Word] = []
        self.marks: list[Mark] = []

    def add(self, words: Sequence[Word]) -> None:
        """Add words of the examiner, and the marks of who speaks, and when."""
        for word in words:
            if word.text in _UNSPOKEN and word.end - word.start > _SHORTEST_STAMP:
                self._mark(Became.FRAME, Idle.SPEAKER)
            self.words.append(word)

    def add_other(self, words: Sequence[Word], why: str) -> None:
        """Add what somebody else says as one end of a sentence."""
        self._mark(Became.NOT_UNDERSTOOD if why else Became.FRAME, why or Idle.OTHERS)
        self.words.append(Word(start=words[0].start, end=words[-1].end, text="\n", glued=False))

    def _mark(self, became: Became, why: str) -> None:
        place = len(self.words)
        self.marks.append(Mark(pieces=((place, place + 1),), became=became, why=why))


def _said(text: str, stamps: Sequence[tuple[int, int]], turns: Sequence[_Turn]) -> list[Word]:
    """Return all words in order; a name is the end of a sentence, and so is a stamp that opens a line."""
    names = [(turn.start, turn.begins) for turn in turns]
    hidden = [each for each in stamps if not any(start <= each[0] < end for start, end in names)]
    marks = [Word(start=start, end=end, text="\n", glued=False) for start, end in names]
    for start, end in hidden:
        opens = "-->" not in text[start:end] and not text[:start].rpartition("\n")[2].strip()
        marks.append(Word(start=start, end=end, text="\n" if opens else _PAUSE, glued=False))
    return sorted([*split(_without(text, [*hidden, *names])), *marks], key=lambda word: word.start)


def _why(own: Sequence[Word], asked: str, lexicon: Lexicon, *, known: bool) -> str:
    """Return why somebody's turn must be asked about, or nothing where it tells nothing of a knee."""
    if not known:
        return WHO_EXAMINES
    if asked and (_tells(split(asked), lexicon) or not _is_courtesy(own)):
        return REPLIED
    return SOMEBODY_ELSE if _tells(own, lexicon) and not _is_courtesy(own) else ""


def _is_courtesy(own: Sequence[Word]) -> bool:
    """Say whether a turn is nothing but an "okay" or a "thank you", where nothing was asked."""
    said = [word.text for word in own if word.text not in {".", ",", "!", *_UNSPOKEN}]
    return any(load_listed("addressed").length(said, kind) == len(said) for kind in _COURTESIES)


def _tells(words: Sequence[Word], lexicon: Lexicon) -> bool:
    """Say whether words may tell something of a knee or of the patient; a "no" or "all right" does not."""
    items = [item for item in tag(words, lexicon) if item.tag not in {Tag.MARK, Tag.NUMBER}]
    return any(is_telling(item) or item.tag in _OPEN for item in items)


def _question(said: str) -> str:
    """Return the question with which a turn ends, or nothing."""
    return re.split(r"[.!?]\s+", said.strip())[-1] if said.rstrip().endswith("?") else ""


def _turns(text: str, stamps: Sequence[tuple[int, int]]) -> list[_Turn]:
    """Return the turns of a text in which speakers are marked, or none."""
    plain = _without(text, stamps)
    found = sorted({*_names(plain, {end for _, end in stamps})})
    names = {name for *_, name in found}
    if not (stamps or (len(found) >= _FEWEST_TURNS and len(names) > 1)):
        return []
    ends = [(start, begins, who, name) for start, begins, who, name in found]
    ends.append((len(text), len(text), "", ""))
    candidates = any(who == "candidates" for *_, who, _ in found)
    return [
        _Turn(
            start=start,
            begins=begins,
            end=following[0],
            who=_role(who, name, candidates=candidates),
            name=name,
        )
        for (start, begins, who, name), following in pairwise(ends)
    ]


def _role(who: str, name: str, *, candidates: bool) -> str:
    """Return the kind of a speaker; where a candidate speaks, who is examined examines the patient."""
    if who == "candidates":
        return "examines"
    return "others" if candidates and name.startswith("examiner") else who


def _names(text: str, openings: set[int]) -> Iterator[tuple[int, int, str, str]]:
    """Yield where a name stands that marks a speaker, and whom it names: behind a stamp, or a sentence."""
    for opening in sorted({*openings, *(match.end() for match in _BEGINS.finditer(text))}):
        label = _LABEL.match(text, opening)
        if label is None:
            continue
        name = " ".join(label["name"].casefold().split())
        if who := _who(name):
            yield label.start("name"), label.end(), who, name


def _who(name: str) -> str:
    """Return the kind of speaker that a name is, or nothing."""
    listed = load_listed("speakers").names
    bare = _NUMBER.sub("", name)
    for kind in ("examines", "others", "candidates", "numbered"):
        if any(tuple(each.split()) in listed[kind] for each in (name, bare, bare.rstrip("."))):
            return kind
    first = name.split(maxsplit=1)[0]
    return "examines" if any((each,) in listed["titles"] for each in (first, first.rstrip("."))) else ""


def _examiner(turns: Sequence[_Turn], text: str) -> str:
    """Return the name of a speaker who examines, or nothing where no one plainly does."""
    plain = next((turn.name for turn in turns if turn.who == "examines"), "")
    if plain or not turns:
        return plain
    says: Counter[str] = Counter()
    for turn in turns:
        if turn.who == "numbered":
            says[turn.name] += len(text[turn.begins : turn.end].split())
    ranked = says.most_common(2)
    if not ranked or (len(ranked) > 1 and ranked[0][1] < _TIMES_AS_MUCH * ranked[1][1]):
        return ""
    return ranked[0][0]


def _without(text: str, hidden: Sequence[tuple[int, int]]) -> str:
    """Return a text of the same length with blanks in place of what is no word of anybody."""
    kept = list(text)
    for start, end in hidden:
        kept[start:end] = " " * (end - start)
    return "".join(kept)
