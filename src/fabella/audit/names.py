"""From the name that a published case gives a sign to what it stands for; never guessed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from fabella.audit.entries import Entries, Entry
from fabella.audit.words import Bag, corrected, plain, vocabulary

_TENDERNESS = frozenset(("tenderness", "palpation", "pain"))
_HEADS = ("swelling", "mass", "ecchymosis", "erythema", "warmth", "oedema", "crepitus", "gap", "wound", "haematoma", "numbness")
_SIDE_WORDS = ("right", "left", "contralateral", "ipsilateral", "both")
_JOINT = re.compile(r"\s(?:and|or|&)\s|/|\+|,")


@dataclass(frozen=True, slots=True)
class Named:
    """What a name stands for: one entry or, when it names two signs at once, several; and the side and site it says."""

    entries: tuple[Entry, ...]
    side: str | None = None
    site: str = ""


def named(name: str, entries: Entries) -> Named | None:
    """Return what a name stands for, or None when it is not known.

    Word order, plural, spelling and small slips do not matter; a side may stand in the name; two signs joined by
    "and" are both meant. A word that is known is never taken for another.
    """
    for side, bag in _with_and_without_side(name):
        if entry := _one(bag, entries):
            return Named((entry,), side)
    if joined := _joined(name, entries):
        return Named(joined)
    for side, bag in _with_and_without_side(name):
        spelt = corrected(bag, entries.words)
        if spelt != bag and (entry := _one(spelt, entries)):
            return Named((entry,), side)
    return _headed(name, entries)


def sites_in(text: str, entries: Entries) -> tuple[Entry, ...]:
    """Return the sites of tenderness that a phrase names, in its order; of nested ones the most exact."""
    words = tuple(word for word in vocabulary().spelt(text))
    longest = max(map(len, entries.sites))
    found: list[Entry] = []
    start = 0
    while start < len(words):
        for end in range(min(len(words), start + longest), start, -1):
            entry = entries.sites.get(tuple(sorted(set(words[start:end]))))
            if entry is not None:
                found.append(entry)
                start = end - 1
                break
        start += 1
    return tuple(dict.fromkeys(found))


def _with_and_without_side(name: str) -> Iterator[tuple[str | None, Bag]]:
    """Yield the bag of the whole name, and then without the side that it says."""
    bag = vocabulary().bag(name)
    yield None, bag
    said = [word for word in plain(name).replace("-", " ").split() if vocabulary().side_of(word) in _SIDE_WORDS]
    if len(said) == 1 and len(said[0]) > 1:
        side = vocabulary().side_of(said[0])
        rest = re.sub(rf"\b{said[0]}\b", " ", plain(name).replace("-", " "))
        yield side, vocabulary().bag(rest) if rest.strip() else ("whole",)


def _one(bag: Bag, entries: Entries) -> Entry | None:
    return entries.by_bag.get(bag) or _tender(bag, entries)


def _tender(bag: Bag, entries: Entries) -> Entry | None:
    """Return the site of a name that speaks of tenderness; other words beside the site must be harmless."""
    if not _TENDERNESS & set(bag):
        return None
    site = tuple(word for word in bag if word not in _TENDERNESS)
    if not set(site) - entries.harmless:
        return entries.sites.get(site, entries.unsited)
    if exact := entries.sites.get(site):
        return exact
    bare = tuple(word for word in site if word not in entries.harmless)
    return entries.sites.get(bare)


def _headed(name: str, entries: Entries) -> Named | None:
    """Return what a name such as "swelling of the popliteal fossa" stands for: a head word, and sites only."""
    words = set(vocabulary().bag(name))
    places = {word for bag in entries.sites for word in bag} | entries.harmless
    for head in _HEADS:
        if head in words and not words - places - {head} and (entry := entries.by_bag.get((head,))):
            return Named((entry,), site=plain(name))
    return None


def _joined(name: str, entries: Entries) -> tuple[Entry, ...]:
    """Return both signs of a name such as "varus and valgus stress", or nothing unless both are known."""
    parts = [part.strip() for part in _JOINT.split(f"{plain(name)} ") if part.strip()]
    if len(parts) != len(("one", "other")):
        return ()
    first, last = parts
    firsts, lasts = first.split(), last.split()
    heads = [" ".join(firsts[:count]) for count in range(len(firsts))]
    tails = [" ".join(lasts[count:]) for count in range(1, len(lasts) + 1)]
    for tail in tails:
        for head in heads:
            one = _one(vocabulary().bag(f"{first} {tail}"), entries)
            other = _one(vocabulary().bag(f"{head} {last}"), entries)
            if one and other and one.signs != other.signs:
                return one, other
    return ()
