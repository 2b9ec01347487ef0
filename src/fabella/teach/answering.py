"""What one event brings: seconds, words, what is seen and felt, and how much it hurts."""

from __future__ import annotations

from dataclasses import dataclass, replace

from fabella.anatomy import Side
from fabella.infer.posterior import GUARDING_SEEN
from fabella.protocol import Kind, Sign
from fabella.teach.actions import Act, Event
from fabella.teach.encounter import Encounter
from fabella.teach.hidden import Hidden, Outcome
from fabella.teach.looks import look_at
from fabella.teach.run import Run
from fabella.teach.seen import Face, Seen, Shown
from fabella.teach.speech import answer_words, hurt_words, prevented_words, story_words
from fabella.teach.telling import told_words

RECORD_S = 2
"""Seconds it takes to say what was found (judgement)."""
COVERED_S = 2
GUARDS_FROM, REFUSES_FROM = 7.0, 14.0
"""Pain given to a knee from which its muscles guard, and from which painful tests are refused (judgement)."""
PAINFUL = 2
LITTLE, MUCH, TOO_MUCH = 1.0, 2.2, 3.8
"""Pain of one manoeuvre from which it is a little, much, and too much (judgement)."""
ASKED_FIRST = 0.85
"""Factor by which it hurts less when the examiner has asked where, and goes there last (judgement)."""
FORBIDDEN_HURTS = 1.0
"""Pain added by what is contraindicated (judgement)."""
_FACES = (Face.CALM, Face.FROWN, Face.WINCE, Face.GRIMACE)
_SAID = ("none", "little", "much", "too_much")
_SEEN_DRESSED, _OF_THE_PERSON = ("walking_aid",), "general"
_PULL, _END = "lachman", "lachman_end_point"
ONE_PULL = {_PULL: _END, _END: _PULL}
"""One pull shows to anybody who does it how far the tibia comes and how that ends."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What an event brings: ``run`` with the new position, ``pain`` given to ``side``."""

    run: Run
    seen: Seen
    side: Side | None = None
    pain: float = 0.0


def answered(encounter: Encounter, event: Event) -> Answer:
    """Return what an event brings."""
    run = encounter.run
    match event.act:
        case Act.WATCH_FACE:
            return Answer(run=replace(run, watching=True), seen=Seen(seconds=0, clock_s=0))
        case Act.RECORD:
            return Answer(run=run, seen=Seen(seconds=RECORD_S, clock_s=0))
        case Act.IN_WORDS:
            return Answer(run=replace(run, in_words=True), seen=Seen(seconds=0, clock_s=0))
        case Act.BELIEVE | Act.COMPLETE | Act.FINISH:
            return Answer(run=run, seen=Seen(seconds=0, clock_s=0))
    if run.time_is_up:
        return Answer(run=run, seen=Seen(seconds=0, clock_s=0, refused=True, told="The time is up."))
    if event.act is Act.POSITION:
        return _moved(encounter, event.position or run.position)
    sign = encounter.protocol.sign(event.sign or "")
    if sign.kind is Kind.COURTESY:
        bares = sign.id == "exposure"
        seen = Seen(
            seconds=sign.seconds,
            clock_s=0,
            said=story_words(encounter.hidden, sign.id),
            look=look_at(encounter.hidden, run.position) if bares else None,
        )
        return Answer(run=replace(run, bare=run.bare or bares), seen=seen)
    if sign.is_history:
        said = answer_words(encounter.hidden, sign.id)
        return Answer(run=run, seen=Seen(seconds=sign.seconds, clock_s=0, said=said))
    return _examined(encounter, sign, event.side)


def pain_of(encounter: Encounter, sign: Sign, side: Side | None) -> float:
    """Return how much a manoeuvre hurts now, on the scale of `LITTLE`, `MUCH` and `TOO_MUCH`."""
    if side is None:
        return 0.0
    hidden = encounter.hidden
    knee = hidden.knees[side]
    abnormal = _level(encounter, hidden.outcomes[sign.id, side], side) > 0
    hurt = sign.hurts * knee.irritability * (1.0 if abnormal else 0.5)
    if encounter.run.done("pain_first"):
        hurt *= ASKED_FIRST
    if abnormal and _tells_by_pain(sign):
        hurt = max(hurt, LITTLE)
    elif _tells_by_pain(sign):
        hurt = min(hurt, LITTLE * 0.9)
    if sign.hurts and any(each.id in knee.forbidden for each in sign.avoid_when):
        hurt += FORBIDDEN_HURTS
    return hurt


def degree_of(pain: float) -> int:
    """Return 0 (none) to 3 (too much) for the pain of one manoeuvre."""
    return sum(pain >= start for start in (LITTLE, MUCH, TOO_MUCH))


def guards(encounter: Encounter, side: Side) -> bool:
    """Say whether a knee guards by now: by itself, or because it was hurt."""
    return encounter.hidden.knees[side].guarding or encounter.hurt_on(side) >= GUARDS_FROM


def _tells_by_pain(sign: Sign) -> bool:
    """Say whether the sign is that it hurts: a yes-or-no sign of touch or of a painful test."""
    return sign.hurts > 0 and sign.scale.is_yes_or_no and sign.kind is not Kind.LOOK


def _moved(encounter: Encounter, position: str) -> Answer:
    run = encounter.run
    seconds = 0 if position == run.position else encounter.protocol.position(position).seconds
    look = look_at(encounter.hidden, position) if run.bare else None
    return Answer(run=replace(run, position=position), seen=Seen(seconds=seconds, clock_s=0, look=look))


def _examined(encounter: Encounter, sign: Sign, side: Side | None) -> Answer:
    moved = _moved(encounter, sign.position)
    run, seconds = moved.run, moved.seen.seconds
    hidden = encounter.hidden
    if not run.bare and sign.position != _OF_THE_PERSON and sign.id not in _SEEN_DRESSED:
        return Answer(run=run, seen=Seen(seconds=seconds + COVERED_S, clock_s=0, covered=True))
    seconds += sign.seconds
    pain = pain_of(encounter, sign, side)
    degree = degree_of(pain)
    if side is not None and sign.hurts >= PAINFUL and encounter.hurt_on(side) >= REFUSES_FROM:
        said = hurt_words(hidden, "too_much", sign.id, side)
        return Answer(run=run, seen=Seen(seconds=COVERED_S, clock_s=0, said=said, refused=True))
    shown = shown_now(encounter, sign, side)
    said = (
        hurt_words(hidden, _SAID[degree], sign.id, side)
        if shown.possible
        else prevented_words(hidden, sign.id, side)
    )
    seen = Seen(
        seconds=seconds,
        clock_s=0,
        said=said,
        told=told_words(sign, side, shown) if run.terms.told else "",
        shown=shown,
        look=moved.seen.look if seconds > sign.seconds else None,
        face=_FACES[degree] if run.watching else None,
    )
    return Answer(run=run, seen=seen, side=side, pain=pain if degree else 0.0)


def _prevented(encounter: Encounter, side: Side, sign: Sign) -> bool:
    knee = encounter.hidden.knees[side]
    if knee.prevented or knee.guarding or not guards(encounter, side):
        return knee.prevented
    return encounter.hidden.dice.happens(GUARDING_SEEN[1], side, "provoked", sign.id)


def _level(encounter: Encounter, outcome: Outcome, side: Side | None) -> int:
    return outcome.guarded if side is not None and guards(encounter, side) else outcome.level


def shown_now(encounter: Encounter, sign: Sign, side: Side | None) -> Shown:
    """Return what a sign shows if it is done now."""
    hidden: Hidden = encounter.hidden
    if side is not None and sign.stress_test and _prevented(encounter, side, sign):
        return Shown(level=None, levels=len(sign.scale.levels), value=None, unit=None, possible=False)
    level = _level(encounter, hidden.outcomes[sign.id, side], side)
    guarded = side is not None and guards(encounter, side)
    again = len(encounter.run.done(sign.id, side))
    value = hidden.reading(sign.id, side, guarded=guarded, again=again)
    unit = sign.scale.measure.unit.value if sign.scale.measure is not None else None
    pulls = side is not None and sign.id in {_PULL, _END}
    return Shown(
        level=level if sign.scale.levels else None,
        levels=len(sign.scale.levels),
        value=value,
        unit=unit,
        possible=True,
        firm=_level(encounter, hidden.outcomes[_END, side], side) == 0 if pulls else None,
        travel_mm=hidden.reading(_PULL, side, guarded=guarded, again=again) if sign.id == _END else None,
    )
