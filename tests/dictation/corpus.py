"""The invented dictations and what each says (``corpus/*.toml``), and how an understanding is scored.

In the files, ``effusion-`` is a normal finding, ``lachman+`` an abnormal one without a level, ``lachman=2+``
a level, ``passive_flexion:110`` a reading, ``lachman?pain`` untestable and why, ``lachman~`` not examined,
``*`` a whole knee said to be normal (or otherwise normal). ``asks`` and ``unread`` are words that must be
left open; everything else must not be.

Every third dictation of a file is held out: the files were written before the first line of the grammar, and
no failure of those was looked at while it was tuned.
"""

import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fabella.anatomy import Side
from fabella.dictation import Became, Understood, understand
from fabella.protocol import Protocol
from fabella.record import Finding, State

FOLDER = Path(__file__).parent
WHOLE = "*"


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """One thing that a dictation says: a finding, an answer, a fact of the patient, a whole normal knee."""

    what: str
    side: str
    how: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Dictation:
    """One dictation and everything that must be understood of it."""

    style: str
    number: int
    held_out: bool
    text: str
    said: frozenset[Said]
    open_words: tuple[str, ...]

    @property
    def name(self) -> str:
        """Its file and its place there."""
        return f"{self.style}-{self.number}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """How one dictation was understood."""

    dictation: Dictation
    missed: frozenset[Said]
    invented: frozenset[Said]
    right: frozenset[Said]
    wrong_sides: frozenset[Said]
    not_asked: tuple[str, ...]
    asked_in_vain: tuple[str, ...]

    @property
    def is_perfect(self) -> bool:
        """Whether nothing at all is to be said against it."""
        return not (self.missed or self.invented or self.not_asked or self.asked_in_vain)


def dictations(protocol: Protocol, *, folder: str = "corpus") -> Iterator[Dictation]:
    """Yield every dictation of a folder, file by file."""
    for path in sorted((FOLDER / folder).glob("*.toml")):
        for number, row in enumerate(tomllib.loads(path.read_text("utf-8"))["dictation"]):
            yield Dictation(
                style=path.stem,
                number=number,
                held_out=number % 3 == 2,
                text=row["text"],
                said=frozenset(_said(row, protocol)),
                open_words=(*row.get("asks", ()), *row.get("unread", ())),
            )


def _said(row: dict[str, Any], protocol: Protocol) -> Iterator[Said]:
    for side in ("right", "left", "person"):
        for entry in _entries(row.get(side, "")):
            yield (
                WHOLE_OF[side]
                if entry == WHOLE
                else _finding(entry, "" if side == "person" else side, protocol)
            )
    for entry in _entries(row.get("history", "")):
        name, _, number = entry.partition(":")
        how = f"{float(number):g}" if number else str(entry.endswith("+"))
        yield Said(what=name.rstrip("+-"), side="history", how=how)
    for entry in _entries(row.get("context", "")):
        name, _, value = entry.partition("=")
        yield Said(what=name, side="context", how=value)


WHOLE_OF = {side: Said(what=WHOLE, side=side, how="normal") for side in ("right", "left")}


def _entries(text: str) -> Iterable[str]:
    return [entry.strip() for entry in text.split(";") if entry.strip()]


def _finding(entry: str, side: str, protocol: Protocol) -> Said:
    for mark, state in (("?", "untestable "), ("=", "level "), (":", "value ")):
        name, found, rest = entry.partition(mark)
        if found:
            assert name in protocol, name
            if mark == "=":
                return Said(what=name, side=side, how=_level(name, rest, protocol))
            return Said(what=name, side=side, how=state + (f"{float(rest):g}" if mark == ":" else rest))
    states = {"+": "abnormal", "-": "normal", "~": "not_examined"}
    assert entry[:-1] in protocol, entry
    return Said(what=entry[:-1], side=side, how=states[entry[-1]])


def _level(name: str, level: str, protocol: Protocol) -> str:
    """Return how a level counts: the normal one is normal, the only abnormal one plainly abnormal."""
    scale = protocol.sign(name).scale.levels
    rank = protocol.sign(name).level(level).rank
    if rank == 0:
        return "normal"
    return "abnormal" if len(scale) == 2 else f"level {level}"


def _as_said(finding: Finding, protocol: Protocol) -> Said:
    side = finding.side or ""
    if finding.state in {State.UNTESTABLE, State.NOT_EXAMINED}:
        how = f"untestable {finding.reason}" if finding.reason else "not_examined"
    elif finding.value is not None:
        how = f"value {finding.value:g}"
    elif finding.level is not None:
        how = _level(finding.sign, finding.level, protocol)
    else:
        how = str(finding.state)
    return Said(what=finding.sign, side=side, how=how)


def understood(found: Understood, protocol: Protocol) -> frozenset[Said]:
    """Return what was understood, a whole normal knee as one thing."""
    wide = {finding for span in found.spans if span.whole for finding in span.findings}
    said = {_as_said(finding, protocol) for finding in found.findings if finding not in wide}
    said |= {WHOLE_OF[side] for side in found.said_normal}
    for item, answer in found.history.items():
        said.add(
            Said(what=item, side="history", how=str(answer) if isinstance(answer, bool) else f"{answer:g}")
        )
    facts = {
        "age_years": found.patient.age_years,
        "sex": found.patient.sex,
        "mechanism": found.context.mechanism,
        "onset_days": found.context.onset_days,
    }
    for fact, value in facts.items():
        if value is not None:
            said.add(
                Said(what=fact, side="context", how=f"{value:g}" if isinstance(value, float) else str(value))
            )
    said |= {Said(what="complaint", side="context", how=side) for side in found.context.complained_of}
    return frozenset(said)


def score(dictation: Dictation, protocol: Protocol) -> Score:
    """Return how a dictation is understood."""
    found = understand(dictation.text, protocol=protocol)
    said = understood(found, protocol)
    knees = {Side.RIGHT, Side.LEFT}
    swapped = {(each.what, each.how, "left" if each.side == "right" else "right") for each in dictation.said}
    invented = said - dictation.said
    wrong_sides = {
        each for each in invented if each.side in knees and (each.what, each.how, each.side) in swapped
    }
    open_spans = [span for span in found.spans if span.became.is_open]
    places = [(words, dictation.text.find(words)) for words in dictation.open_words]
    assert all(at >= 0 for _, at in places), dictation.name
    met = [
        words
        for words, at in places
        if any(span.start < at + len(words) and at < span.end for span in open_spans)
    ]
    vain = [
        found.words(span)
        for span in open_spans
        if not any(span.start < at + len(words) and at < span.end for words, at in places)
    ]
    return Score(
        dictation=dictation,
        missed=dictation.said - said,
        invented=frozenset(invented),
        right=dictation.said & said,
        wrong_sides=frozenset(wrong_sides),
        not_asked=tuple(words for words, _ in places if words not in met),
        asked_in_vain=tuple(vain),
    )


def is_open(found: Understood, words: str) -> bool:
    """Say whether these words of a text were left open."""
    at = found.text.index(words)
    return any(
        span.became in {Became.AMBIGUOUS, Became.NOT_UNDERSTOOD}
        and span.start < at + len(words)
        and at < span.end
        for span in found.spans
    )
