"""Findings as they are dictated: the abnormal one by one, the normal in a sentence, the rest by its name."""

from __future__ import annotations

from dataclasses import dataclass

from fabella.anatomy import Side, other
from fabella.protocol import Protocol
from fabella.report.phrases import Group, load_phrases
from fabella.report.readings import Outcome, Readings
from fabella.report.wording import counted, described, listed, sentence


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """Names of what was examined not at all, or only in part; never to be read as normal."""

    wholly: tuple[str, ...]
    partly: tuple[str, ...]

    def words(self, where: str) -> str:
        """Return both as one phrase about a knee or both; empty when nothing was left out."""
        partly = ", ".join(self.partly)
        if not self.wholly:
            return f"{where}, only in part: {partly}" if partly else ""
        return f"{where}: {', '.join(self.wholly)}{f'; only in part: {partly}' if partly else ''}"

    def shared(self, other: LeftOut) -> LeftOut:
        """Return what was left out in the same way here and there."""
        return LeftOut(
            wholly=tuple(each for each in self.wholly if each in other.wholly),
            partly=tuple(each for each in self.partly if each in other.partly),
        )

    def without(self, other: LeftOut) -> LeftOut:
        """Return what was left out here and is not told there."""
        return LeftOut(
            wholly=tuple(each for each in self.wholly if each not in other.wholly),
            partly=tuple(each for each in self.partly if each not in other.partly),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class KneeFindings:
    """What was found on one knee, in words.

    Parameters
    ----------
    side, examined
        Which knee, and whether hands or eyes were laid on it at all.
    abnormal
        Each abnormal finding, in the examiner's order.
    recorded
        Findings that nothing allows to call normal or abnormal.
    normal
        Sentences about what was normal on this knee; what was normal on both stands elsewhere.
    untested
        Each sign that could not be tested, with why.
    left_out
        What was not examined.
    """

    side: Side
    examined: bool
    abnormal: tuple[str, ...]
    recorded: tuple[str, ...]
    normal: str
    untested: tuple[str, ...]
    left_out: LeftOut


def knee_findings(readings: Readings, side: Side, protocol: Protocol) -> KneeFindings:
    """Return the findings of one knee in words."""
    return KneeFindings(
        side=side,
        examined=readings.examined(side),
        abnormal=tuple(
            described(each, beside=False) for each in readings.with_outcome(Outcome.ABNORMAL, side)
        ),
        recorded=tuple(
            described(each, beside=False) for each in readings.with_outcome(Outcome.UNJUDGED, side)
        ),
        normal=_normal_here(readings, side),
        untested=tuple(map(described, readings.with_outcome(Outcome.COULD_NOT_BE_TESTED, side))),
        left_out=_left_out(readings, side, protocol),
    )


def normal_on_both(readings: Readings) -> str:
    """Return sentences about what was normal on both knees alike; empty when there was nothing."""
    return _normal(readings, tuple(Side))


def _normal_here(readings: Readings, side: Side) -> str:
    """What was normal on this side only: in a word when nothing else was found here, else group by group."""
    normal = readings.with_outcome(Outcome.NORMAL, side)
    found = [each for each in readings.of(side) if each.outcome is not Outcome.NOT_EXAMINED]
    if normal and len(normal) == len(found) and readings.examined(other(side)):
        return f"Normal in all that was examined ({counted(len(normal), 'sign')})."
    return _normal(readings, (side,))


def _normal(readings: Readings, sides: tuple[Side, ...]) -> str:
    """Sentences about what was normal on all of these sides, and not on the others."""
    measured = set.intersection(
        *(
            {each.sign for each in readings.of(side) if each.value is not None and not each.grade}
            for side in sides
        )
    )
    here = set.intersection(*(_signs(readings, side, Outcome.NORMAL) for side in sides))
    elsewhere = (_signs(readings, side, Outcome.NORMAL) for side in Side if side not in sides)
    normal = here.difference(*elsewhere)
    unsound = {
        sign
        for side in sides
        for outcome in (Outcome.ABNORMAL, Outcome.COULD_NOT_BE_TESTED, Outcome.UNJUDGED)
        for sign in _signs(readings, side, outcome)
    }
    clauses: list[str] = []
    absent: list[str] = []
    for group in load_phrases().groups:
        ours = [sign for sign in (*group.no, *group.well) if sign in normal - measured]  # those have a table
        others = bool(unsound & group.signs)
        if group.whole and set(group.core) <= normal and not others:
            clauses.append(group.whole_both if len(sides) > 1 else group.whole)
        elif len(ours) > group.few:
            many = group.many if others else group.many.replace(" other ", " ")
            clauses.append(many.replace("{n}", str(len(ours))))
        else:
            absent += [group.no[sign] for sign in ours if sign in group.no]
            if well := [group.well[sign] for sign in ours if sign in group.well]:
                clauses.append(_well(well, group, both=len(sides) > 1))
    if absent:
        clauses.append(f"there was no {listed(absent, last='or')}")
    return " ".join(map(sentence, clauses))


def _well(nouns: list[str], group: Group, *, both: bool) -> str:
    verb = "was" if len(nouns) == 1 and nouns[0] not in _PLURAL else "were"
    return f"{listed(nouns)} {verb} {group.normal_both if both else group.normal}"


_PLURAL = frozenset({"distal pulses"})


def _signs(readings: Readings, side: Side, outcome: Outcome) -> set[str]:
    return {each.sign for each in readings.with_outcome(outcome, side)}


def _left_out(readings: Readings, side: Side, protocol: Protocol) -> LeftOut:
    """Groups with routine signs of which nothing, or not everything, was at least tried."""
    done = {each.sign for each in readings.of(side) if each.outcome is not Outcome.NOT_EXAMINED}
    wholly, partly = [], []
    for group in load_phrases().groups:
        routine = {sign for sign in group.signs if protocol.sign(sign).routine}
        if routine and not done & group.signs:
            wholly.append(group.name)
        elif routine - done:
            partly.append(group.name)
    return LeftOut(wholly=tuple(wholly), partly=tuple(partly))


def person_findings(readings: Readings) -> str:
    """Return what was found about the person as a whole, and what was missing; empty when nothing was."""
    worth_saying = [
        each
        for each in readings.of(None)
        if each.outcome not in {Outcome.NORMAL, Outcome.NOT_EXAMINED} or each.value is not None
    ]
    nouns = load_phrases().person
    absent = [nouns[each.sign] for each in readings.with_outcome(Outcome.NORMAL, None) if each.sign in nouns]
    found = "; ".join(map(described, worth_saying))
    missing = f"there was no {listed(absent, last='or')}" if absent else ""
    return " ".join(sentence(each) for each in (found, missing) if each)
