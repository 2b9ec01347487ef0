"""Films of a knee that must not be bent: without the skyline view, for which it is bent 30 to 45 degrees."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from fabella.advise.film_first import FILM
from fabella.advise.result import Advice, NextStep
from fabella.anatomy import Side
from fabella.protocol import Protocol

BENDING = "passive_flexion"
"""The manoeuvre that bends a knee: what forbids it forbids the view (common practice)."""

SKYLINE = " and a skyline view"
"""How the evidence names that view among the films."""


def unbent(advice: Advice, protocol: Protocol) -> Advice:
    """Return the same advice, with films of a knee that must not be bent named without the skyline view."""
    forbidding = {each.name for each in protocol.sign(BENDING).avoid_when}
    still = {each.side for each in advice.withheld if not forbidding.isdisjoint(each.reasons)}
    return replace(advice, first=_taken(advice.first, still), images=_taken(advice.images, still))


def _taken(images: Iterable[NextStep], still: set[Side]) -> tuple[NextStep, ...]:
    return tuple(
        replace(each, name=each.name.replace(SKYLINE, "")) if each.id == FILM and each.side in still else each
        for each in images
    )
