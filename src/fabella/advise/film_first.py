"""Plain films before magnetic resonance imaging of the same knee, whatever they would tell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.advise.result import NextStep, Precedes

FILM, MRI = "radiograph", "mri"
SOURCES = ("ACR Chronic Knee Pain, 2018", "ACR Acute Trauma to the Knee, 2019")
"""Criteria by which the first image of a knee is a radiograph, and magnetic resonance imaging usually not.

Of one that hurts for long, from 5 years on, and of one that was injured.
"""


def film_first(
    confirming: Sequence[NextStep], telling: Sequence[NextStep], film: NextStep
) -> tuple[tuple[NextStep, ...], tuple[NextStep, ...]]:
    """Return the images of one knee with the film before magnetic resonance imaging, if that is named.

    ``confirming`` are those that treatment rests on, ``telling`` the others, in their order. The film keeps
    what it is for; it is there once, and told to come first only where it would not stand there anyway.
    """
    named = (*confirming, *telling)
    first = next((i for i, each in enumerate(named) if each.id == MRI), None)
    if first is None or any(each.id == FILM for each in named[:first]):
        return tuple(confirming), tuple(telling)
    own = next((each for each in named if each.id == FILM), film)
    if own.purpose is None:
        own = replace(own, purpose=Precedes(named[first].name), sources=(*own.sources, *SOURCES))
    at = min(first, len(confirming))
    rest = [each for each in confirming if each.id != FILM]
    return (*rest[:at], own, *rest[at:]), tuple(each for each in telling if each.id != FILM)
