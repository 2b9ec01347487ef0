"""Kinds of items by their names, also those that this program does not know."""

from __future__ import annotations

from collections.abc import Iterable

from fabella.exam.proposing import load_domains
from fabella.exam.stations import Domain, Item


def kinds_of(items: Iterable[Item]) -> tuple[Domain, ...]:
    """Return the kinds that items are of, in the order of an examination.

    One that this program does not know, as of a station that another program wrote, comes last, under its id.
    """
    there = dict.fromkeys(each.domain for each in items)
    known = load_domains()
    others = (Domain(id=each, name=each, anchors=()) for each in there if each not in known)
    return (*(each for name, each in known.items() if name in there), *others)
