"""Where what was recorded differs from what was there to be seen and felt."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from fabella.anatomy import Side
from fabella.grade import levels_of
from fabella.protocol import Sign
from fabella.stats import mdc
from fabella.teach.actions import Event
from fabella.teach.answering import ONE_PULL, shown_now
from fabella.teach.encounter import Encounter
from fabella.teach.everything import RESOLUTION
from fabella.teach.measuring import standard_error
from fabella.teach.seen import Shown


class Slip(StrEnum):
    """What went wrong with a record."""

    MISSED = "missed"
    """It showed something, and was recorded as normal."""
    OVERCALLED = "overcalled"
    """It showed nothing, and was recorded as abnormal."""
    GRADE = "grade"
    """It was seen, and called a degree too high or too low."""
    READING = "reading"
    """A measurement lies further from the truth than measuring errs."""
    NOT_DONE = "not_done"
    """It was recorded without having been done."""
    NOT_RECORDED = "not_recorded"
    """It was done and showed something, and nothing was recorded."""
    NOT_TESTABLE = "not_testable"
    """It could not be tested and was recorded as if it had been, or the reverse."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Misread:
    """One slip: ``recorded`` and ``shown`` are levels or readings, None where there is none."""

    sign: str
    side: Side | None
    slip: Slip
    recorded: str | float | None
    shown: str | float | None
    at_s: float


def misread(encounter: Encounter) -> tuple[Misread, ...]:
    """Return every slip, in the order of the run."""
    slips = (*_recorded_wrongly(encounter), *_not_recorded(encounter))
    return tuple(sorted(slips, key=lambda each: each.at_s))


def _recorded_wrongly(encounter: Encounter) -> Iterator[Misread]:
    run = encounter.run
    for (name, side), turn in run.recorded().items():
        sign = encounter.protocol.sign(name)
        if sign.is_history or sign.is_summary:
            continue
        shown = [each.seen.shown for each in run.done(name, side) if each.seen.shown is not None]
        if not shown and name in ONE_PULL and run.done(ONE_PULL[name], side):
            shown = [shown_now(encounter, sign, side)]
        event = turn.event
        slip = _slip(encounter, sign, side, event, shown)
        if slip is not None:
            yield Misread(
                sign=name,
                side=side,
                slip=slip,
                recorded=event.value if event.value is not None else event.level,
                shown=_answer(sign, shown[-1] if shown else None),
                at_s=turn.at_s,
            )


def _not_recorded(encounter: Encounter) -> Iterator[Misread]:
    run = encounter.run
    if run.terms.told:
        return
    told: set[tuple[str, Side | None]] = set(run.recorded())
    for turn in run.turns:
        shown, event = turn.seen.shown, turn.event
        if event.sign is None or shown is None or not shown.level or (event.sign, event.side) in told:
            continue
        told.add((event.sign, event.side))
        yield Misread(
            sign=event.sign,
            side=event.side,
            slip=Slip.NOT_RECORDED,
            recorded=None,
            shown=_answer(encounter.protocol.sign(event.sign), shown),
            at_s=turn.at_s,
        )


def _slip(
    encounter: Encounter, sign: Sign, side: Side | None, event: Event, shown: list[Shown]
) -> Slip | None:
    if not shown:
        return Slip.NOT_DONE
    possible = [each for each in shown if each.possible]
    if bool(possible) != (event.level is not None or event.value is not None):
        return Slip.NOT_TESTABLE
    levels = {each.level for each in possible if each.level is not None}
    if event.level is not None and levels:
        level = levels_of(sign).index(event.level)
        if level not in levels:
            return _slip_of_level(level, most=max(levels))
    if event.value is not None:
        values = [each.value for each in possible if each.value is not None]
        outcome = encounter.hidden.outcomes[sign.id, side]
        if outcome.value is not None and outcome.guarded_read == outcome.read:
            values.append(outcome.value)
        if values and min(abs(event.value - each) for each in values) > tolerance(sign):
            return Slip.READING
    return None


def _slip_of_level(level: int, *, most: int) -> Slip:
    if level == 0:
        return Slip.MISSED
    return Slip.OVERCALLED if most == 0 else Slip.GRADE


def tolerance(sign: Sign) -> float:
    """Return how far a reading may lie from the truth: its detectable change, at least its rounding."""
    unit = sign.scale.measure.unit.value if sign.scale.measure is not None else ""
    return max(mdc(sem=standard_error(sign), level=0.95), RESOLUTION.get(unit, 1.0))


def _answer(sign: Sign, shown: Shown | None) -> str | float | None:
    if shown is None or not shown.possible:
        return None
    if shown.level is not None:
        return levels_of(sign)[shown.level]
    return None if shown.value is None else round(shown.value, 2)
