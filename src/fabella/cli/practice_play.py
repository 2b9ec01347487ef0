"""A practice patient played line by line: what was typed is read, done, and answered with what it brought."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from typing import TextIO

from fabella.anatomy import Side, load_lesions
from fabella.cli.practice_lines import HELP, Asked, find_sign, read_line
from fabella.errors import InputError
from fabella.protocol import Protocol
from fabella.report.wording import lowered, sentence
from fabella.teach import Act, Encounter, Event, act
from fabella.teach.telling import felt_words
from fabella.teach.wording import clock_words, door_words


def played(encounter: Encounter, seed: int, out: TextIO) -> Encounter:
    """Play line by line until the end of the run or of the input."""
    print(f"Patient {seed}. {door_words(encounter.run.door)}", file=out)
    print('Type what you ask and do; "help" says how, "end" ends it.', file=out)
    before = time.monotonic()
    for line in _lines(out):
        thought_s = time.monotonic() - before if sys.stdin.isatty() else 0.0
        try:
            read = read_line(line, protocol=encounter.protocol)
        except InputError as error:
            print(_not_understood(error), file=out)
            continue
        if isinstance(read, Asked):
            for text in _answers(read, encounter):
                print(text, file=out)
            continue
        for number, event in enumerate(read):
            encounter = act(encounter, _after(event, 0.0 if number else thought_s))
            for text in _brought(encounter):
                print(text, file=out)
        before = time.monotonic()
        if encounter.run.finished:
            break
    return encounter


def _not_understood(error: InputError) -> str:
    """Return what was not understood of a line, as sentences."""
    return " ".join(sentence(str(each).removeprefix(": ")) for each in error.problems)


def _after(event: Event, thought_s: float) -> Event:
    return replace(event, thought_s=round(thought_s, 1))


def _lines(out: TextIO) -> Iterator[str]:
    while True:
        if sys.stdin is None:
            return
        if sys.stdin.isatty():
            print("> ", end="", flush=True, file=out)
        line = sys.stdin.readline()
        if not line:
            return
        if line.strip():
            yield line


def _brought(encounter: Encounter) -> Iterator[str]:
    """Yield what the last event brought, the clock first."""
    turn = encounter.run.turns[-1]
    event, seen = turn.event, turn.seen
    parts = []
    if seen.covered:
        parts.append("the legs are covered; expose them first")
    if seen.refused and not seen.said:
        parts.append(seen.told or "not now")
    elif seen.told:
        parts.append(seen.told)
    elif seen.shown is not None and event.sign is not None:
        parts.append(felt_words(encounter.protocol.sign(event.sign), event.side, seen.shown))
    if seen.said:
        parts.append(f"“{seen.said}”")
    if seen.face is not None and seen.face.value != "calm":
        parts.append(f"the face: {seen.face.value}")
    if event.act is Act.RECORD:
        parts.append("noted")
    if not seen.refused:
        parts.extend(_heard(event, encounter.protocol))
    if event.act is Act.WATCH_FACE or not parts:
        parts.append("done")
    text = "; ".join(each for each in parts if each)
    yield f"{clock_words(seen.clock_s)}  {text[:1].upper()}{text[1:]}"


def _heard(event: Event, protocol: Protocol) -> Iterator[str]:
    """Yield what was typed as it was understood, where nothing else shows it."""
    if event.act is Act.BELIEVE:
        named = (f"{load_lesions()[lesion].name} {chance:.0%}" for lesion, chance in event.beliefs)
        yield f"you think: {', '.join(named) or 'none of the lesions'}"
    if event.act is Act.COMPLETE:
        yield f"to complete: {'; '.join(event.would) or 'nothing'}"
    if event.act is Act.POSITION and event.position is not None:
        yield f"position: {lowered(protocol.position(event.position).name)}"


def _answers(asked: Asked, encounter: Encounter) -> Iterator[str]:
    run, protocol = encounter.run, encounter.protocol
    match asked.what:
        case "help":
            yield HELP
        case "time":
            left = "" if run.left_s is None else f", {clock_words(run.left_s)} left"
            where = lowered(protocol.position(run.position).name)
            yield f"{clock_words(run.clock_s)}{left}; position: {where}"
        case "list":
            yield from _listed(asked.about, protocol)
        case "levels":
            try:
                sign = find_sign([each for each in asked.about.split() if each not in list(Side)], protocol)
            except InputError as error:
                yield _not_understood(error)
                return
            measure = sign.scale.measure
            unit = f"a number of {measure.unit.value}" if measure else ""
            graded = (*(each.words for each in sign.scale.levels), unit)
            yield f"{sign.name}: {', '.join(filter(None, graded))}"


def _listed(about: str, protocol: Protocol) -> Iterator[str]:
    for position in protocol.positions:
        signs = [
            sign
            for sign in protocol.at(position.id)
            if sign.seconds
            and (
                not about
                or position.id.replace("_", " ").startswith(about)
                or sign.kind.value == about
                or about in sign.name.casefold()
            )
        ]
        if signs:
            yield f"{position.name}: {', '.join(sign.id.replace('_', ' ') for sign in signs)}"
