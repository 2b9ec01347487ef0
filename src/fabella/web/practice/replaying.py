"""The debrief's drawings: what was misread once more, now with its words, and how both knees truly were."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from fabella.anatomy import Side
from fabella.figure import View
from fabella.protocol import load_protocol
from fabella.report.wording import quantity, sentence
from fabella.teach import VIEWS, Encounter, Run, seen_so_far
from fabella.teach.looks import look_at
from fabella.teach.misreading import Misread
from fabella.teach.moved import MOVED
from fabella.teach.wording import slip_words
from fabella.web.practice.motions import WALKING, motion_words
from fabella.web.practice.reading import SEEN_FROM, latest_first, moves, seen_words, view_for
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
    """Slips about one sign, and the sign once more in words and drawn, unless the figure does not show it."""

    words: tuple[str, ...]
    said: tuple[str, ...] = ()
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
        words = sentence(slip_words(slip, protocol=encounter.protocol))
        done = _last_done(encounter.run, slip)
        said = tuple(filter(None, [_said(encounter.run, done)]))
        if slip.sign in found:
            first = found[slip.sign]
            found[slip.sign] = replace(first, words=(*first.words, words), said=(*first.said, *said))
            continue
        drawings = tuple(_drawn(encounter.run, slip, done)) if left and done else ()
        left -= bool(drawings)
        found[slip.sign] = Replayed(words=(words,), said=said, drawings=drawings)
    return tuple(found.values())


def _last_done(run: Run, slip: Misread) -> int:
    """The turn in which it was done last, 0 where it never was."""
    about = (slip.sign, slip.side)
    done = (
        number
        for number, turn in latest_first(run)
        if (turn.event.sign, turn.event.side) == about and turn.seen.shown is not None
    )
    return next(done, 0)


def _said(run: Run, number: int) -> str:
    if not number:
        return ""
    turn = run.turns[number - 1]
    return motion_words(run, turn) if moves(turn) else seen_words(run, turn)


def _drawn(run: Run, slip: Misread, number: int) -> Iterator[Drawing]:
    if moves(run.turns[number - 1]):
        yield from tested(run, number, strips=True)
        return
    look = seen_so_far(run.turns[:number])
    position = load_protocol().sign(slip.sign).position
    view = view_for(slip.sign, slip.side, position)
    if look is not None and look.position == position and view in VIEWS[position]:
        turns = [each for each in range(1, number + 1) if run.turns[each - 1].seen.look is not None]
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
            told = [] if words == "yes" else [words]
            if measure is not None and outcome.value is not None:
                told.append(quantity(round(outcome.value), measure.unit.value))
            yield ": ".join(filter(None, (sign.name, ", ".join(told))))


def _places(encounter: Encounter) -> Iterator[tuple[str, tuple[Drawing, ...]]]:
    for position, show in _TRUE_VIEWS:
        look = look_at(encounter.hidden, position)
        if look is not None:
            name = encounter.protocol.position(position).name
            yield name, tuple(legs(look, show, turn=0, most=_STRIP))
