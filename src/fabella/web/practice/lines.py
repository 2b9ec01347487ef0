"""A run in words: what each event brought, and how things stand now; what is drawn is left to the eye."""

from __future__ import annotations

from dataclasses import dataclass

from fabella.anatomy import load_lesions
from fabella.protocol import Protocol, Sign, load_protocol
from fabella.report.wording import lowered, quantity
from fabella.teach import Act, Event, Run, Turn
from fabella.teach.telling import felt_words
from fabella.teach.wording import clock_words, sign_words
from fabella.web.practice.motions import motion_words
from fabella.web.practice.reading import is_left_to_the_eye, moves, reads_the_figure, seen_words

_FACES = {"frown": "a frown", "wince": "a wince", "grimace": "a grimace"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One event: the clock when it was done, what it was and brought, the patient's words, and the face."""

    clock: str
    words: str
    said: str
    face: str


def lines_of(run: Run, *, shown: int = 0) -> tuple[Line, ...]:
    """Return every event after the first ``shown`` in words, in order."""
    return tuple(line_of(turn, run) for turn in run.turns[shown:])


def line_of(turn: Turn, run: Run) -> Line:
    """Return one event of a run in words."""
    seen = turn.seen
    face = "" if seen.face is None else _FACES.get(seen.face.value, "")
    words = _words(turn, run, load_protocol())
    return Line(clock=clock_words(turn.at_s), words=words, said=seen.said, face=face)


def state_words(run: Run) -> str:
    """Return how the patient is now: ``Lying, knees extended. The legs are bare.``."""
    position = load_protocol().position(run.position).name
    legs = "The legs are bare." if run.bare else "The legs are covered."
    return f"{position}. {legs}" + (" You watch the face." if run.watching else "")


def said_of(line: Line) -> str:
    """Return a line as one text, for whoever listens."""
    quoted = f"“{line.said}”" if line.said else ""
    face = f"In the face: {line.face}." if line.face else ""
    return " ".join(filter(None, (line.words, quoted, face)))


def _words(turn: Turn, run: Run, protocol: Protocol) -> str:
    event, seen = turn.event, turn.seen
    what = _what(event, protocol)
    if seen.covered:
        bare = protocol.sign("exposure")
        first = f"{protocol.position(bare.position).name}, {lowered(bare.name)}"
        return f"{what}: nothing to see or feel through clothes. First: {first}."
    if seen.refused:
        return f"{what}: {lowered(seen.told)}" if seen.told else f"{what}: not done."
    if seen.told:
        return seen.told
    if reads_the_figure(run) and is_left_to_the_eye(turn):
        return f"{what}: as drawn."
    if seen.shown is not None and event.sign is not None:
        if run.in_words and not run.finished and is_left_to_the_eye(turn):
            return motion_words(run, turn) if moves(turn) else f"{what}: {lowered(seen_words(run, turn))}"
        felt = felt_words(protocol.sign(event.sign), event.side, seen.shown)
        if not seen.shown.possible:
            return f"{what}: {felt}."
        if felt:
            return f"{felt[:1].upper()}{felt[1:]}."
    return f"{what}."


def _what(event: Event, protocol: Protocol) -> str:
    match event.act:
        case Act.POSITION:
            return f"Position: {lowered(protocol.position(event.position or '').name)}"
        case Act.WATCH_FACE:
            return "You watch the face from now on"
        case Act.IN_WORDS:
            return "Drawings are told in words from now on"
        case Act.RECORD:
            return f"Noted: {sign_words(event.sign or '', event.side)}, {_result(event, protocol)}"
        case Act.BELIEVE:
            lesions = load_lesions()
            said = ", ".join(f"{lesions[lesion].name} {chance:.0%}" for lesion, chance in event.beliefs)
            return f"You think: {said or 'none of the lesions'}"
        case Act.COMPLETE:
            return f"To complete: {'; '.join(event.would) or 'nothing'}"
        case Act.FINISH:
            return "The end"
    return sign_words(event.sign or "", event.side)


def _result(event: Event, protocol: Protocol) -> str:
    sign: Sign = protocol.sign(event.sign or "")
    if event.level is not None:
        return next((each.words for each in sign.scale.levels if each.id == event.level), event.level)
    if event.value is not None and sign.scale.measure is not None:
        return quantity(event.value, sign.scale.measure.unit.value)
    return "could not be tested"
