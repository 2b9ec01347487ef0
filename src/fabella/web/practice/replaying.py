"""The debrief's drawings: what was misread once more, now with its words, and how both knees truly were."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from fabella.anatomy import Side
from fabella.figure import View
from fabella.protocol import load_protocol
from fabella.report.wording import sentence
from fabella.teach import VIEWS, Encounter, Run, seen_so_far
from fabella.teach.looks import look_at
from fabella.teach.misreading import Misread
from fabella.teach.moved import MOVED
from fabella.teach.wording import slip_words
from fabella.web.practice.motions import WALKING
from fabella.web.practice.reading import SEEN_FROM, moves, view_for
from fabella.web.practice.stage import BOTH, Drawing, legs, tested

_MOST_DRAWN = 6
"""Slips drawn again; the others stay in words, so that the page stays light."""
_STRIP = 4
_TRUE_VIEWS = (
    ("standing", View.FRONT.value),
    ("lying", View.ABOVE.value),
    ("knees_90", BOTH),
    (WALKING, View.FRONT.value),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Replayed:
    """Slips about one sign in words, and the sign once more, unless the figure does not show it."""

    words: tuple[str, ...]
    drawings: tuple[Drawing, ...] = ()

    @property
    def moves(self) -> bool:
        """Whether there is something to play."""
        return any(each.view for each in self.drawings)


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """How both knees truly were: in words, knee by knee, and drawn, position by position."""

    knees: tuple[tuple[str, tuple[str, ...]], ...]
    places: tuple[tuple[str, tuple[Drawing, ...]], ...]


def replayed(encounter: Encounter, slips: tuple[Misread, ...]) -> tuple[Replayed, ...]:
    """Return every slip, those about one sign together, and the first of them drawn again."""
    found: dict[str, Replayed] = {}
    left = _MOST_DRAWN
    for slip in slips:
        words = (sentence(slip_words(slip, protocol=encounter.protocol)),)
        if slip.sign in found:
            found[slip.sign] = replace(found[slip.sign], words=(*found[slip.sign].words, *words))
            continue
        drawings = tuple(_drawn(encounter.run, slip)) if left else ()
        left -= bool(drawings)
        found[slip.sign] = Replayed(words=words, drawings=drawings)
    return tuple(found.values())


def _drawn(run: Run, slip: Misread) -> Iterator[Drawing]:
    done = [
        number
        for number, turn in enumerate(run.turns, 1)
        if (turn.event.sign, turn.event.side) == (slip.sign, slip.side) and turn.seen.shown is not None
    ]
    if not done:
        return
    if moves(run.turns[done[-1] - 1]):
        yield from tested(run, done[-1], strips=True)
        return
    look = seen_so_far(run.turns[: done[-1]])
    position = load_protocol().sign(slip.sign).position
    view = view_for(slip.sign, slip.side, position)
    if look is not None and look.position == position and view in VIEWS[position]:
        turns = [number for number in range(1, done[-1] + 1) if run.turns[number - 1].seen.look is not None]
        yield from legs(look, view.value, turn=turns[-1], most=_STRIP)


def truth_of(encounter: Encounter) -> Truth:
    """Return how both knees truly were, whether it was looked at or not."""
    return Truth(
        knees=tuple((f"{side.value.title()} knee", tuple(_abnormal(encounter, side))) for side in Side),
        places=tuple(_places(encounter)),
    )


def _abnormal(encounter: Encounter, side: Side) -> Iterator[str]:
    for name in (*SEEN_FROM, *MOVED):
        outcome, sign = encounter.hidden.outcomes[name, side], encounter.protocol.sign(name)
        if outcome.level and sign.scale.levels:
            words, measure = sign.scale.levels[outcome.level].words, sign.scale.measure
            value = (
                "" if measure is None or outcome.value is None else f", {outcome.value:.0f} {measure.unit}"
            )
            yield f"{sign.name}{'' if words == 'yes' else f': {words}'}{value}"


def _places(encounter: Encounter) -> Iterator[tuple[str, tuple[Drawing, ...]]]:
    for position, show in _TRUE_VIEWS:
        look = look_at(encounter.hidden, position)
        if look is not None:
            name = encounter.protocol.position(position).name
            yield name, tuple(legs(look, show, turn=0, most=_STRIP))
