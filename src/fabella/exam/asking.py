"""What a station asks of candidate, volunteer and room, in words that follow its items."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from fabella.exam.stations import Item
from fabella.protocol import Protocol

_VOLUNTEER = (
    "You are examined by one candidate after the other, each for {minutes:g} minutes. Answer as you are; you "
    "are not asked to act. Wear shorts. Say at once when something hurts, and stop whenever you wish: nobody "
    "will mind. You will be asked to {positions}{spared}."
)
_ASKED = {
    "standing": "stand",
    "walking": "walk a few steps",
    "lying": "lie on the couch",
    "bent_up": "draw your knees up",
    "knees_90": "lie with both knees bent to a right angle",
    "special": "let your knees be bent and turned",
    "hip_foot_back": "let your hips and feet be moved",
    "vessels_nerves": "let your feet be felt",
}
_TOLD = {
    "tells_findings": "what you found",
    "concludes": "what you make of it",
    "next_step": "what you would do next",
}
"""Items that are something to say at the end, by id; what cannot wait is to be named without being asked."""
_LEAVE_OUT: Final = "Leave out, for it is not asked here and earns no mark: "


def for_candidate(opening: str, items: Sequence[Item], unasked: Sequence[str]) -> str:
    """Return the instruction for the door: what to do, what to say at the end, and what to leave out.

    Parameters
    ----------
    opening
        What the topic asks.
    items
        Those on the sheet.
    unasked
        What belongs to the topic and is not on the sheet, as a candidate calls it.
    """
    there = {each.id for each in items}
    told = [words for name, words in _TOLD.items() if name in there]
    says = [opening, *([f"At the end say {_listed(told)}."] if told else ())]
    lines = [" ".join(says), *([f"{_LEAVE_OUT}{'; '.join(unasked)}."] if unasked else ())]
    return "\n".join(lines)


def names_what_is_unasked(task: str) -> bool:
    """Whether an instruction for the door says what to leave out, in the words of `for_candidate`."""
    return _LEAVE_OUT in task


def for_volunteer(items: Iterable[Item], meant: Iterable[Item], protocol: Protocol, minutes: float) -> str:
    """Return the briefing of whoever is examined: what they are asked, and what of the topic is spared."""
    used, whole = _positions(items, protocol), _positions(meant, protocol)
    asked = [words for position, words in _ASKED.items() if position in used]
    spared = [words for position, words in _ASKED.items() if position in whole - used]
    return _VOLUNTEER.format(
        minutes=minutes,
        positions=_listed(asked) or "sit",
        spared=f"; you need not {_listed(spared, last='or')}" if spared else "",
    )


def equipment_for(items: Iterable[Item], rows: Iterable[Mapping[str, Any]]) -> tuple[str, ...]:
    """Return what has to be there, of the rows of the data file."""
    signs = {sign for item in items for sign in item.signs}
    return tuple(row["name"] for row in rows if row.get("always") or signs & set(row["signs"]))


def _positions(items: Iterable[Item], protocol: Protocol) -> set[str]:
    return {protocol.sign(sign).position for item in items for sign in item.signs if sign in protocol}


def _listed(words: Sequence[str], *, last: str = "and") -> str:
    return f" {last} ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))
