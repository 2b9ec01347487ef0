"""Which of several statements about one sign stands: findings gathered side by side without contradiction."""

from __future__ import annotations

from enum import IntEnum

from fabella.anatomy import Side
from fabella.audit.entries import Entries
from fabella.audit.phrase import Draft, LeftOut
from fabella.protocol import Protocol
from fabella.record import Finding, State
from fabella.record.contradictions import contradictions

_NO_RESULT = (State.UNTESTABLE, State.NOT_EXAMINED)


class Directness(IntEnum):
    """How a finding was said: by itself, in a note or the story, or within a statement about everything."""

    STATED = 0
    NOTED = 1
    WIDE = 2


class Collected:
    """The findings of one case by sign and side, in the order in which they came."""

    def __init__(self, protocol: Protocol, entries: Entries) -> None:
        self.unread: list[LeftOut] = []
        self.set_aside: list[LeftOut] = []
        self._protocol = protocol
        self._entries = entries
        self._found: dict[tuple[str, Side | None], Finding] = {}
        self._directness: dict[tuple[str, Side | None], Directness] = {}

    def place(self, draft: Draft, side: Side | None, said: str, directness: Directness) -> None:
        """Add a finding, unless a more direct or an earlier statement about the same sign stands.

        A result goes before "could not be tested", and a grade or a number before a plain result of the
        same kind.
        """
        sign = self._protocol.sign(draft.sign)
        place = (sign.id, None if sign.is_person else side)
        if directness is Directness.WIDE and self._is_told(*place):
            return
        finding = self._finding(draft, place[1], said)
        earlier = self._found.get(place)
        if earlier is None or self._stands_over(finding, earlier, directness, self._directness[place]):
            self._found[place] = finding
            self._directness[place] = directness
        elif directness is Directness.STATED and _bare(finding) != _bare(earlier):
            self.set_aside.append(LeftOut(sign=sign.id, value=said, why="it was stated before"))

    def findings(self) -> tuple[Finding, ...]:
        """Return what was found; of two that contradict each other the one said more directly, or first."""
        while clash := next(contradictions(dict(enumerate(self._found.values()))), None):
            places = list(self._found)
            earlier, later = places[clash.earlier], places[clash.later]
            wrong = earlier if self._directness[earlier] > self._directness[later] else later
            finding = self._found.pop(wrong)
            said = finding.note or finding.sign
            self.unread.append(
                LeftOut(sign=finding.sign, value=said, why=f"it contradicts another finding: {clash.why}")
            )
        return tuple(self._found.values())

    def _is_told(self, sign: str, side: Side | None) -> bool:
        """Say whether something more direct tells the same about a knee, or kept it from being examined."""
        alike = {sign, *self._protocol.sign(sign).summary_of}
        alike |= {each.id for each in self._protocol.signs if sign in each.summary_of}
        alike = alike.union(*(family for family in self._entries.same_thing if sign in family))
        stated = {
            each: finding
            for (each, where), finding in self._found.items()
            if where is side and self._directness[each, where] is not Directness.WIDE
        }
        ill = {each for each, finding in stated.items() if finding.state is State.ABNORMAL}
        hindered = any(sign in silent and by & ill for by, silent in self._entries.hindered)
        return hindered or bool(alike & stated.keys())

    @staticmethod
    def _stands_over(new: Finding, old: Finding, directness: Directness, before: Directness) -> bool:
        if directness is not before:
            return directness < before
        if old.state in _NO_RESULT:
            return new.state not in _NO_RESULT
        more = (new.level or new.value) is not None and (old.level or old.value) is None
        return more and old.state in {new.state, State.ABNORMAL if new.state is None else new.state}

    def _finding(self, draft: Draft, side: Side | None, said: str) -> Finding:
        reading, measure = draft.reading, self._protocol.sign(draft.sign).scale.measure
        return Finding(
            sign=draft.sign,
            side=side,
            state=reading.state,
            level=reading.level,
            value=reading.value,
            unit=measure.unit.value if measure and reading.value is not None else None,
            reason=reading.reason,
            note=said or None,
        )


def _bare(finding: Finding) -> tuple[object, ...]:
    return finding.state, finding.level, finding.value
