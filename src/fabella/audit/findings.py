"""One finding of a published case, in its own words, as drafts for the signs of the protocol."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import cache

from fabella.audit.entries import Entries, Entry, Redirect, load_entries
from fabella.audit.names import named, sites_in
from fabella.audit.phrase import Draft, Drafts, Phrase, measured, one
from fabella.audit.readers import READ
from fabella.audit.values import ABNORMAL, Polarity, Reading, polarity, untested
from fabella.audit.words import plain, vocabulary
from fabella.protocol import Kind, Protocol
from fabella.record import State

_NEGATED = re.compile(r"\b(?:no|not|without|never|denie[sd]|nor|non|rather than)(?: \w+){0,3} $")
_CLAUSE = re.compile(r"[,;]| but ")
_UNNAMED = "the sign is not known"
_UNSAID = "the value is not understood"
_NOWHERE = "the site is not stated"


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
    name: str, value: str, note: str, *, entries: Entries, protocol: Protocol, fresh: bool, sided: bool
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
    """
    meant = named(name, entries)
    if meant is None:
        return Outcome(unread=_UNNAMED)
    said, noted = _own_value(plain(value), meant.said), plain(note)
    phrase = Phrase(
        name=plain(name),
        value=said or noted,
        note="; ".join(filter(None, (noted if said else "", meant.site))),
        fresh=fresh,
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
        read = _drafts(own, entry, entries)
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


def _drafts(phrase: Phrase, entry: Entry, entries: Entries) -> Drafts:
    receivers = entry.to or entry.normal_to or entry.abnormal_to or ()
    if left := _untested(phrase, receivers):
        return left
    if clauses := _by_clause(phrase, entry, entries):
        return clauses
    if redirected := _redirected(phrase, entry):
        return redirected
    if entry.name.startswith("tenderness") and (at_sites := _at_sites(phrase, entry, entries)):
        return at_sites
    if entry.reader == "sites" and not entry.receivers(State.ABNORMAL):
        return _by_state(phrase, replace(entry, abnormal_to=()))
    if entry.reader == "words":
        return tuple(draft for draft in _by_state(phrase, entry) if _says_level(draft.reading))
    if entry.reader in READ and entry.to:
        return READ[entry.reader](phrase, entry.to[0])
    return _by_state(phrase, entry)


def _says_level(reading: Reading) -> bool:
    """Say whether a reading is more than a plain "positive"."""
    return reading.state is not State.ABNORMAL or reading.level is not None


def _by_clause(phrase: Phrase, entry: Entry, entries: Entries) -> Drafts:
    """Return a value such as "lax at 30 deg, stable at 0 deg" clause by clause, when each says something."""
    clauses = [clause.strip() for clause in _CLAUSE.split(phrase.value) if clause.strip()]
    angled = {any(rule.says.search(clause) for rule in entry.when) for clause in clauses}
    if entry.reader not in {"laxity", "dial"} or len(angled) == 1:
        return ()
    parts = [_drafts(replace(phrase, value=clause, note=""), entry, entries) for clause in clauses]
    return tuple(draft for part in parts for draft in part) if all(parts) else ()


def _untested(phrase: Phrase, receivers: tuple[str, ...]) -> Drafts:
    drafts: Drafts = ()
    for sign_id in receivers:
        sign = phrase.protocol.sign(sign_id)
        if sign.is_history:
            continue
        drafts += one(sign_id, untested(phrase.value, phrase.note, sign, fresh=phrase.fresh))
    return drafts


def _redirected(phrase: Phrase, entry: Entry) -> Drafts:
    """Return what goes to other signs for a word in the value, or in the note of an abnormal finding."""
    for redirect in entry.when:
        if drafts := _redirect(phrase, redirect, phrase.value) or _redirect(phrase, redirect, phrase.note):
            return drafts
    return ()


def _redirect(phrase: Phrase, redirect: Redirect, text: str) -> Drafts:
    found = redirect.says.search(text)
    if found is None:
        return ()
    negated = _NEGATED.search(text[: found.start()]) is not None
    own = phrase.words("deformity")
    healthy = own is not None and own.state is State.NORMAL
    kind = polarity(phrase.value)
    if redirect.state is None:
        there = Draft(redirect.to[0], ABNORMAL) if kind is None and text is phrase.value else None
        drafts = tuple(draft for sign in redirect.to for draft in _plainly(phrase, sign))
        return drafts or ((there,) if there else ())
    if text is phrase.note and not (kind in {None, Polarity.PRESENT} or phrase.value == "abnormal"):
        return ()
    if redirect.state is State.ABNORMAL and (negated or (text is phrase.note and healthy)):
        return ()
    level = redirect.level
    if redirect.state is State.ABNORMAL and level is None:
        return tuple(Draft(sign, _worded(phrase, sign)) for sign in redirect.to)
    return tuple(Draft(sign, Reading(state=redirect.state, level=level)) for sign in redirect.to)


def _worded(phrase: Phrase, sign: str) -> Reading:
    """Return abnormal, with the level that the words give if they give one."""
    reading = replace(phrase, good=False).words(sign)
    return reading if reading is not None and reading.state is State.ABNORMAL else ABNORMAL


def _at_sites(phrase: Phrase, entry: Entry, entries: Entries) -> Drafts:
    """Return tenderness at the sites that value and note name, for a wide site or a value that is a site."""
    reading = phrase.words("tenderness_diffuse")
    sites = sites_in(phrase.value, entries)
    if entry.reader == "sites":
        sites = sites or sites_in(phrase.note, entries)
    elif reading is not None:
        return ()
    if not sites or (reading is not None and reading.state is not State.ABNORMAL):
        return ()
    exact = tuple(site for site in sites if site.to) or (sites if entry is entries.unsited else ())
    return tuple(Draft(sign, ABNORMAL) for site in exact for sign in site.receivers(State.ABNORMAL))


def _by_state(phrase: Phrase, entry: Entry) -> Drafts:
    """Return the reading for every sign that receives one of its state."""
    drafts: Drafts = ()
    candidates = entry.to or entry.normal_to or entry.abnormal_to or ()
    first = next((draft.reading for sign in candidates for draft in _plainly(phrase, sign)), None)
    if first is None and _names_a_place(phrase, entry):
        first = ABNORMAL
    if first is None:
        return ()
    for sign in entry.receivers(first.state):
        own = _plainly(phrase, sign)
        drafts += own if own and (own[0].reading.state is first.state) else one(sign, _bare(first))
    return drafts


def _names_a_place(phrase: Phrase, entry: Entry) -> bool:
    """Say whether the value of something seen or felt is the place where it was."""
    places = vocabulary().spelt(phrase.value)
    seen = all(phrase.protocol.sign(sign).kind in {Kind.LOOK, Kind.FEEL} for sign in entry.to)
    return bool(entry.to) and seen and not entry.good and bool(places) and set(places) <= _places()


@cache
def _places() -> frozenset[str]:
    entries = load_entries()
    return frozenset(word for site in entries.sites for word in site) | entries.harmless


def _bare(reading: Reading) -> Reading:
    return Reading(state=reading.state, reason=reading.reason)


def _plainly(phrase: Phrase, sign_id: str) -> Drafts:
    """Return a sign read by its own scale: a number with a unit, or words."""
    sign = phrase.protocol.sign(sign_id)
    if sign.has_measure and not sign.scale.levels and (number := measured(sign, phrase.value)):
        return one(sign_id, number)
    return one(sign_id, phrase.words(sign_id))


def _added(drafts: list[Draft], phrase: Phrase, entries: Entries) -> Drafts:
    """Return what the note adds to the findings it stands beside."""
    stated = {draft.sign: draft.reading for draft in drafts}
    added: Drafts = ()
    for rule in entries.additions:
        abnormal = any(
            stated[sign].state is not State.NORMAL or rule.always for sign in rule.on.intersection(stated)
        )
        found = rule.says.search(phrase.everything)
        if not abnormal or found is None or _NEGATED.search(phrase.everything[: found.start()]):
            continue
        if rule.adds not in stated:
            added += (Draft(rule.adds, Reading(state=State.ABNORMAL, level=rule.level)),)
    return added
