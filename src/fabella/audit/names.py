"""From the name that a published case gives a sign to what it stands for; never guessed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from fabella.audit.entries import Entries, Entry
from fabella.audit.words import Bag, corrected, plain, vocabulary

_TENDER = "tenderness"
_TENDERNESS = frozenset((_TENDER, "palpation", "pain"))
_HEADS = (
    "swelling",
    "mass",
    "ecchymosis",
    "erythema",
    "warmth",
    "oedema",
    "crepitus",
    "gap",
    "wound",
    "haematoma",
    "numbness",
)
_SIDE_WORDS = ("right", "left", "contralateral", "ipsilateral", "both")
_OTHER_KNEE = re.compile(r"\b(?:other|opposite|contralateral) (?:knee|leg|limb|side)\b")
_OTHER_TESTS = re.compile(r"\bother knee (?=(?:tests?|signs?)\b)")  # of the same knee
_JOINT = re.compile(r"\s(?:and|or|&)\s|/|\+|,")


@dataclass(frozen=True, slots=True)
class Named:
    """What a name stands for: one entry, or several when it names two signs at once.

    Besides, a name may say the ``side``, the ``site``, and a value of its own (``said``: "capillary refill
    delayed").
    """

    entries: tuple[Entry, ...]
    side: str | None = None
    site: str = ""
    said: str = ""


def named(name: str, entries: Entries) -> Named | None:
    """Return what a name stands for, or None when it is not known.

    Word order, plural, spelling and small slips do not matter; a side may stand in the name; two signs
    joined by "and" are both meant. A word that is known is never taken for another.
    """
    own = _OTHER_TESTS.sub("other ", plain(name))
    sided = tuple(_with_and_without_side(_OTHER_KNEE.sub("contralateral", own)))
    for side, bag in sided:
        if entry := _one(bag, entries):
            return Named((entry,), side)
    if joined := _joined(name, entries):
        return Named(joined)
    for side, bag in sided:
        if found := _with_own_value(bag, side, entries) or _headed(name, bag, side, entries):
            return found
    for side, bag in sided:
        spelt = corrected(bag, entries.words)
        if spelt != bag and (entry := _one(spelt, entries)):
            return Named((entry,), side)
    if entries.elsewhere_words & set(sided[0][1]):
        return Named((entries.elsewhere,))
    return None


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
    """Yield the words of a plain name, and then without the side that it says."""
    yield None, vocabulary().bag(name)
    words = name.replace("-", " ").split()
    said = [word for word in words if vocabulary().side_of(word) in _SIDE_WORDS and len(word) > 1]
    if len(said) == 1:
        rest = " ".join(word for word in words if word != said[0])
        yield vocabulary().side_of(said[0]), vocabulary().bag(rest) if rest else ("whole",)


def _one(bag: Bag, entries: Entries) -> Entry | None:
    if _TENDER in bag and (site := _tender(bag, entries)):
        return site
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


def _with_own_value(bag: Bag, side: str | None, entries: Entries) -> Named | None:
    """Return the sign of a name that says a value as well, or only that something was seen."""
    said, seen = vocabulary().said, vocabulary().seen
    for dropped in (said, seen, said | seen):
        rest = tuple(word for word in bag if word not in dropped)
        if rest != bag and (entry := _one(rest or ("whole",), entries)):
            return Named((entry,), side, said=" ".join(word for word in bag if word in dropped & said))
    return None


def _headed(name: str, bag: Bag, side: str | None, entries: Entries) -> Named | None:
    """Return what a name such as "swelling of the popliteal fossa" stands for: a head and sites only."""
    words = set(bag) - vocabulary().seen
    places = {word for site in entries.sites for word in site} | entries.harmless
    for head in _HEADS:
        if head in words and not words - places - {head} and (entry := entries.by_bag.get((head,))):
            return Named((entry,), side, site=plain(name))
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
