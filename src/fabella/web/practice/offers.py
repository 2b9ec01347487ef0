"""What a student can do: the same for every patient, so that nothing on the page tells what matters."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, lru_cache

from fabella.anatomy import Side
from fabella.protocol import Kind, Sign, load_protocol
from fabella.teach import Act, Event, Run, Turn, event_tree, practice_lesions
from fabella.web.practice.lines import line_of
from fabella.web.practice.reading import latest_first, moves, reads_the_figure

_KINDS = {
    Kind.COURTESY: "Say and do",
    Kind.HISTORY: "Ask",
    Kind.LOOK: "Look",
    Kind.FEEL: "Feel",
    Kind.MOVE: "Move",
    Kind.TEST: "Test",
}
_UNITS = {"deg": "degrees", "h": "hours", "min": "minutes", "C": "°C", "kg/m2": "kg/m²", "/min": "a minute"}
"""How units stand beside a field, where they are not written as they are."""
_WRITTEN = 8192
"""Events remembered as written: every button there is, and more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """Something to do, as the event that does it: once, or on the right and on the left.

    ``also`` is by what other names it can be found.
    """

    name: str
    also: str
    once: str
    right: str
    left: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A position, the event that takes it up, and what can be done in it, by kind.

    ``take_up`` is empty where the patient is at ease, and there is nothing to take up.
    """

    id: str
    name: str
    take_up: str
    groups: tuple[tuple[str, tuple[Offer, ...]], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """A sign that was done and can be recorded; ``noted`` once it is. Levels are pairs of words and event.

    ``brought`` is what it brought when it was last done, in words; ``again`` the number of that turn where it
    can be played again, else 0. Of one that is ``known`` to whoever asks, ``key`` and ``noted`` tell all.
    """

    key: str
    noted: bool
    known: bool = False
    name: str = ""
    brought: str = ""
    again: int = 0
    levels: tuple[tuple[str, str], ...] = ()
    reading: str = ""
    unit: str = ""
    low: float = 0.0
    high: float = 0.0


@cache
def places() -> tuple[Place, ...]:
    """Return everything that can be done, in the order of the body."""
    protocol = load_protocol()
    return tuple(
        Place(
            id=position.id,
            name=position.name,
            take_up=written(Event(act=Act.POSITION, position=position.id)) if position.seconds else "",
            groups=tuple(_groups([sign for sign in protocol.at(position.id) if sign.seconds])),
        )
        for position in protocol.positions
    )


@cache
def lesion_names() -> tuple[tuple[str, str], ...]:
    """Return every lesion that can be believed in, by name."""
    named = ((each.id, each.name) for each in practice_lesions())
    return tuple(sorted(named, key=lambda each: each[1].casefold()))


def notes_of(run: Run, *, shown: int = 0) -> tuple[Note, ...]:
    """Return what was done and can be recorded, the latest first; none where findings are told.

    What was not done again after the first ``shown`` turns is known to whoever was shown those.
    """
    if run.terms.told:
        return ()
    noted = run.recorded()
    done: dict[tuple[str, Side | None], int] = {}
    for number, turn in latest_first(run):
        event = turn.event
        if event.act is Act.DO and turn.seen.shown is not None and event.sign is not None:
            done.setdefault((event.sign, event.side), number)
    return tuple(
        _note(sign, side, run=run, number=number, noted=(sign, side) in noted)
        if number > shown
        else Note(key=_key(sign, side), noted=(sign, side) in noted, known=True)
        for (sign, side), number in done.items()
    )


@lru_cache(maxsize=_WRITTEN)
def written(event: Event) -> str:
    """Return an event as a button carries it."""
    return json.dumps(event_tree(event), separators=(",", ":"))


def _groups(signs: list[Sign]) -> Iterator[tuple[str, tuple[Offer, ...]]]:
    kinds = dict.fromkeys(sign.kind for sign in signs)
    for kind in kinds:
        yield _KINDS.get(kind, "Besides"), tuple(_offer(sign) for sign in signs if sign.kind is kind)


def _offer(sign: Sign) -> Offer:
    once, right, left = (
        written(Event(act=Act.DO, sign=sign.id, side=side)) for side in (None, Side.RIGHT, Side.LEFT)
    )
    is_once = sign.is_person or sign.is_history
    return Offer(
        name=sign.name,
        also=" ".join(sign.aliases),
        once=once if is_once else "",
        right="" if is_once else right,
        left="" if is_once else left,
    )


def _brought(turn: Turn, run: Run) -> str:
    line = line_of(turn, run)
    return " ".join(filter(None, (line.words, f"“{line.said}”" if line.said else "")))


def _key(sign: str, side: Side | None) -> str:
    return sign if side is None else f"{sign}-{side}"


def _note(sign_id: str, side: Side | None, *, run: Run, number: int, noted: bool) -> Note:
    def event(level: str | None = None) -> str:
        return written(Event(act=Act.RECORD, sign=sign_id, side=side, level=level))

    sign = load_protocol().sign(sign_id)
    turn, measure = run.turns[number - 1], sign.scale.measure
    plays = reads_the_figure(run) and moves(turn)
    levels = tuple((each.words, event(each.id)) for each in sign.scale.levels)
    return Note(
        key=_key(sign_id, side),
        noted=noted,
        name=sign.name if side is None else f"{sign.name}, {side}",
        brought=_brought(turn, run),
        again=number if plays else 0,
        levels=(*levels, ("could not be tested", event())),
        reading="" if measure is None else event(),
        unit="" if measure is None else _UNITS.get(measure.unit.value, measure.unit.value),
        low=0.0 if measure is None else measure.low,
        high=0.0 if measure is None else measure.high,
    )
