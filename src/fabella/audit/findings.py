"""One finding of a published case, in its own words, as drafts for the signs of the protocol."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from fabella.audit.drafting import drafts_of
from fabella.audit.entries import Entries, Entry
from fabella.audit.names import named
from fabella.audit.phrase import NEGATED, Draft, Drafts, Phrase
from fabella.audit.redirects import set_aside
from fabella.audit.values import Polarity, Reading, polarity
from fabella.audit.words import plain
from fabella.protocol import Protocol
from fabella.record import State

_UNNAMED = "the sign is not known"
_UNSAID = "the value is not understood"
_NOWHERE = "the site is not stated"
_UNPRESSED = "that nothing hurts by itself does not say that nothing hurts when pressed"
_GOES = re.compile(r"\b(?:mov\w+|slid\w*|slips?|slipping|glid\w+|disappear\w*|vanish\w*|sublux\w*|snap\w*) $")
"""What stands before a place that a lump goes to, and does not lie in."""
_PRESSED = re.compile(r"\b(?:tender\w*|palpat\w*|press\w*)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of a finding: drafts, what its note adds, or why nothing came of it.

    ``aside`` says why the protocol has no place for it, ``unread`` why it was not understood; ``side`` is
    the side that stands in its name; ``wide`` marks a statement about the whole knee.
    """

    drafts: Drafts = ()
    added: Drafts = ()
    aside: str = ""
    unread: str = ""
    side: str | None = None
    wide: bool = False


def read_finding(
    name: str,
    value: str,
    note: str,
    *,
    entries: Entries,
    protocol: Protocol,
    fresh: bool,
    sided: bool,
    lump: bool = False,
) -> Outcome:
    """Return what a finding says.

    Parameters
    ----------
    name, value, note
        As published; an empty value is looked for in the note.
    fresh
        Whether an injury of the last days is examined, so that an untested stress test was left for pain.
    sided
        Whether a knee is named beside it.
    lump
        Whether the patient has a lump, so that what fluctuates is the lump.
    """
    meant = named(name, entries)
    if meant is None:
        return Outcome(unread=_UNNAMED)
    said, noted = _own_value(plain(value), meant.said), plain(note)
    unpressed = meant.entries == (entries.unsited,) and not _PRESSED.search(plain(name))
    if unpressed and polarity(said) is Polarity.ABSENT:
        return Outcome(aside=_UNPRESSED, side=meant.side)
    phrase = Phrase(
        name=plain(name),
        value=said or noted,
        note="; ".join(filter(None, (noted if said else "", meant.site))),
        fresh=fresh,
        lump=lump,
        sided=sided or meant.side is not None,
        protocol=protocol,
    )
    if not phrase.value:
        return Outcome(unread="it has no value", side=meant.side)
    return _outcome(phrase, meant.entries, meant.side, entries)


def _own_value(value: str, said: str) -> str:
    """Return the value of a sign whose name says one too: a positive confirms it, a negative denies it."""
    if not said:
        return value
    healthy = polarity(said) is Polarity.GOOD
    match polarity(value):
        case Polarity.PRESENT:
            return said if value in {"positive", "present", "yes"} else f"{said}, {value}"
        case Polarity.ABSENT:
            return "abnormal" if healthy else "normal"
        case _:
            return value


def _outcome(phrase: Phrase, meant: tuple[Entry, ...], side: str | None, entries: Entries) -> Outcome:
    drafts: list[Draft] = []
    for entry in meant:
        own = replace(phrase, good=entry.good, level=entry.level)
        if why := set_aside(own, entry):
            return Outcome(aside=why, side=side)
        read = drafts_of(own, entry, entries)
        if not read and entry.aside:
            return Outcome(aside=entry.aside, side=side)
        if not read and entry.wide and phrase.words("deformity"):
            return Outcome(aside="it says of no sign what was abnormal", side=side)
        if not read:
            unsited = entry.reader == "sites" and phrase.words("deformity")
            return Outcome(unread=_NOWHERE if unsited else _UNSAID, side=side)
        drafts += read
    added = _added(drafts, phrase, entries)
    return Outcome(drafts=tuple(drafts), added=added, side=side, wide=any(entry.wide for entry in meant))


def _added(drafts: list[Draft], phrase: Phrase, entries: Entries) -> Drafts:
    """Return what the note adds to the findings it stands beside."""
    stated = {draft.sign: draft.reading for draft in drafts}
    added: Drafts = ()
    for rule in entries.additions:
        abnormal = any(
            stated[sign].state is not State.NORMAL or rule.always for sign in rule.on.intersection(stated)
        )
        found = rule.says.search(phrase.everything)
        before = "" if found is None else phrase.everything[: found.start()]
        if not abnormal or found is None or NEGATED.search(before) or _GOES.search(before):
            continue
        if rule.adds not in stated:
            added += (Draft(rule.adds, Reading(state=State.ABNORMAL, level=rule.level)),)
    return added
