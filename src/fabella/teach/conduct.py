"""How it was done, apart from what was found: courtesy, order, both knees, and what hurt."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fabella.anatomy import Side, other
from fabella.protocol import Kind, Protocol, SideRule, Sign
from fabella.teach.actions import Act
from fabella.teach.answering import degree_of, guards, pain_of
from fabella.teach.encounter import Encounter
from fabella.teach.known import known_by
from fabella.teach.playing import act, begin
from fabella.teach.reasoning import Reasoner
from fabella.teach.run import Run, Turn
from fabella.teach.seen import Seen

_TOUCH = (Kind.FEEL, Kind.MOVE, Kind.TEST)
_ORDER = {Kind.LOOK: 0, Kind.FEEL: 1, Kind.MOVE: 2, Kind.TEST: 3}
_MOST = 0.8
"""Share from which a habit counts as kept (judgement)."""
MUCH = 2
"""Degree of pain from which a manoeuvre counts as having hurt."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One point of conduct: kept, not kept, or None where it could not come up; ``share`` if counted."""

    id: str
    kept: bool | None
    share: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Hurt:
    """A manoeuvre that hurt or was contraindicated.

    ``degree`` 0 (no pain) to 3 (too much); ``forbidden`` the contraindications that hold for this knee;
    ``known`` those of them that what had been found by then gave reason to see.
    """

    sign: str
    side: Side
    at_s: float
    degree: int
    forbidden: tuple[str, ...]
    known: tuple[str, ...]


def conduct_of(run: Run, *, protocol: Protocol) -> tuple[Check, ...]:
    """Return every point of conduct in the order of an examination."""
    done = [turn for turn in run.turns if turn.event.act is Act.DO and not turn.seen.refused]
    first: dict[str, int] = {}
    for place, turn in enumerate(done):
        first.setdefault(turn.event.sign or "", place)
    signs = [protocol.sign(turn.event.sign or "") for turn in done]
    touched = next((i for i, sign in enumerate(signs) if sign.kind in _TOUCH), None)
    watched = next((i for i, turn in enumerate(run.turns) if turn.event.act is Act.WATCH_FACE), None)
    touched_turn = None if touched is None else run.turns.index(done[touched])

    def before_touch(courtesy: str) -> bool:
        return courtesy in first and (touched is None or first[courtesy] < touched)

    return (
        Check(id="greeting", kept=first.get("greeting") == 0),
        Check(id="hand_hygiene", kept=before_touch("hand_hygiene")),
        Check(id="identity", kept="identity" in first),
        Check(id="consent", kept=before_touch("consent")),
        Check(id="chaperone", kept=before_touch("chaperone")),
        Check(id="pain_first", kept=before_touch("pain_first")),
        Check(id="exposure", kept="exposure" in first),
        Check(
            id="face_watched",
            kept=None if touched_turn is None else watched is not None and watched < touched_turn,
        ),
        _counted("both_knees", _both_knees(done, protocol)),
        _counted("sound_side_first", _sound_first(done, protocol, run.door.side)),
        _counted("look_feel_move", _look_feel_move(done, protocol)),
        Check(id="completion", kept=any(turn.event.act is Act.COMPLETE for turn in run.turns)),
        Check(id="closing", kept="closing" in first),
    )


def _counted(name: str, points: list[bool]) -> Check:
    if not points:
        return Check(id=name, kept=None)
    share = sum(points) / len(points)
    return Check(id=name, kept=share >= _MOST, share=share)


def _sided(done: list[Turn], protocol: Protocol) -> dict[str, list[Side]]:
    sides: dict[str, list[Side]] = {}
    for turn in done:
        sign = protocol.sign(turn.event.sign or "")
        if turn.event.side is not None and sign.side_rule.is_done_twice and not turn.seen.covered:
            sides.setdefault(sign.id, []).append(turn.event.side)
    return sides


def _both_knees(done: list[Turn], protocol: Protocol) -> list[bool]:
    return [set(sides) == set(Side) for sides in _sided(done, protocol).values()]


def _sound_first(done: list[Turn], protocol: Protocol, complaint: Side) -> list[bool]:
    return [
        sides[0] is other(complaint)
        for sign, sides in _sided(done, protocol).items()
        if len(set(sides)) > 1 and protocol.sign(sign).side_rule is SideRule.SOUND_SIDE_FIRST
    ]


def _look_feel_move(done: list[Turn], protocol: Protocol) -> list[bool]:
    """Return for each change within one position whether it went on from looking to feeling to moving."""
    kept: list[bool] = []
    last: Sign | None = None
    for turn in done:
        sign = protocol.sign(turn.event.sign or "")
        if sign.kind not in _ORDER:
            continue
        if last is not None and last.position == sign.position and last.kind is not sign.kind:
            kept.append(_ORDER[sign.kind] >= _ORDER[last.kind])
        last = sign
    return kept


def hurts_of(encounter: Encounter, reasoner: Reasoner) -> tuple[Hurt, ...]:
    """Return every manoeuvre that hurt much, or that this knee forbids."""
    return tuple(_hurts(encounter, reasoner))


def _hurts(encounter: Encounter, reasoner: Reasoner) -> Iterator[Hurt]:
    hidden, protocol = encounter.hidden, encounter.protocol
    now = begin(hidden, encounter.run.terms, protocol=protocol)
    for turn in encounter.run.turns:
        event = turn.event
        if (
            event.act is Act.DO
            and event.sign is not None
            and event.side is not None
            and _took_place(turn.seen)
        ):
            sign = protocol.sign(event.sign)
            degree = degree_of(pain_of(now, sign, event.side))
            forbidden = [each.id for each in sign.avoid_when if each.id in hidden.knees[event.side].forbidden]
            if degree >= MUCH or forbidden:
                known: frozenset[str] = frozenset()
                if forbidden and event.side is encounter.run.door.side:
                    known = reasoner.forbidden(reasoner.think(known_by(now)))
                yield Hurt(
                    sign=sign.id,
                    side=event.side,
                    at_s=turn.at_s,
                    degree=degree,
                    forbidden=tuple(forbidden),
                    known=tuple(each for each in forbidden if each in known),
                )
        now = act(now, event)


def guarded_from(encounter: Encounter) -> float | None:
    """Return when the knee complained of began to guard because it had been hurt; None when it did not."""
    side = encounter.run.door.side
    if encounter.hidden.complaint.guarding:
        return None
    now = begin(encounter.hidden, encounter.run.terms, protocol=encounter.protocol)
    for turn in encounter.run.turns:
        now = act(now, turn.event)
        if guards(now, side):
            return now.run.clock_s
    return None


def _took_place(seen: Seen) -> bool:
    return not (seen.covered or seen.refused)
