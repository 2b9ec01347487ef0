"""From one phrase and what its name stands for to drafts: which reader, which sites, which signs."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

from fabella.audit.entries import Entries, Entry, load_entries
from fabella.audit.names import sites_in
from fabella.audit.phrase import Draft, Drafts, Phrase, one
from fabella.audit.readers import READ
from fabella.audit.redirects import plainly, redirected
from fabella.audit.values import ABNORMAL, Polarity, Reading, polarity, untested
from fabella.audit.words import vocabulary
from fabella.protocol import Kind
from fabella.record import State

_NOTED = {
    **dict.fromkeys(("range", "flexion", "active_flexion", "extension", "deficit", "hyperextension"), "deg"),
    **dict.fromkeys(("hip_internal", "hip_external", "hip_flexion"), "deg"),
    "laxity": "mm",
    "temperature": "c|f",
}
"""The unit in which a note gives what the value of these readers leaves out."""
_PART_OF_IT = re.compile(r"\b(?:last|final|terminal|end|first|pain\w*|from)\b")
_SEEN_OR_FELT = (Kind.LOOK, Kind.FEEL)
_CLAUSE = re.compile(r"[,;]| but ")


def drafts_of(phrase: Phrase, entry: Entry, entries: Entries) -> Drafts:
    """Return what a value says of the signs that an entry stands for; nothing when it is not understood."""
    receivers = entry.to or entry.normal_to or entry.abnormal_to or ()
    phrase = _with_noted_number(phrase, entry)
    if left := _untested(phrase, entry, receivers):
        return left
    if clauses := _by_clause(phrase, entry, entries):
        return clauses
    if entry.reader == "mass":
        return _mass(phrase, entry)
    if elsewhere := redirected(phrase, entry):
        return elsewhere
    if entry.name.startswith("tenderness") and (at_sites := _at_sites(phrase, entry, entries)):
        return at_sites
    if entry.reader == "sites" and not entry.receivers(State.ABNORMAL):
        return _by_state(phrase, replace(entry, abnormal_to=()))
    if entry.reader == "words":
        return tuple(draft for draft in _by_state(phrase, entry) if _says_level(draft.reading))
    if entry.reader in READ and entry.to:
        return READ[entry.reader](phrase, entry.to[0])
    return _by_state(phrase, entry)


def _mass(phrase: Phrase, entry: Entry) -> Drafts:
    """Return a mass where value and note say that it lies; a value that is only a place says it is there."""
    places = (each.to[0] for each in entry.when if each.says.search(phrase.everything))
    lies = next(places, entry.to[0])
    placed = any(each.says.search(phrase.value) for each in entry.when)
    only_a_place = placed and polarity(phrase.value) is None
    return READ["mass"](phrase, lies) or one(lies, ABNORMAL if only_a_place else None)


def _with_noted_number(phrase: Phrase, entry: Entry) -> Phrase:
    """Return the phrase with the number of its note in the value that should have one and has none."""
    unit = _NOTED.get(entry.reader or "")
    if unit is None or re.search(r"\d", phrase.value) or not re.search(rf"\d ?(?:{unit})\b", phrase.note):
        return phrase
    if _PART_OF_IT.search(phrase.note) and polarity(phrase.value) is Polarity.GOOD:
        return phrase  # "full, the last 10 degrees painful"
    return replace(phrase, value=f"{phrase.value}, {phrase.note}", note="")


def _says_level(reading: Reading) -> bool:
    """Say whether a reading is more than a plain "positive"."""
    return reading.state is not State.ABNORMAL or reading.level is not None


def _by_clause(phrase: Phrase, entry: Entry, entries: Entries) -> Drafts:
    """Return a value such as "lax at 30 deg, stable at 0 deg" clause by clause, when each says something."""
    clauses = [clause.strip() for clause in _CLAUSE.split(phrase.value) if clause.strip()]
    angled = {any(rule.says.search(clause) for rule in entry.when) for clause in clauses}
    if entry.reader not in {"laxity", "dial"} or len(angled) == 1:
        return ()
    parts = [drafts_of(replace(phrase, value=clause, note=""), entry, entries) for clause in clauses]
    return tuple(draft for part in parts for draft in part) if all(parts) else ()


def _untested(phrase: Phrase, entry: Entry, receivers: tuple[str, ...]) -> Drafts:
    if any(rule.state is State.ABNORMAL and rule.says.search(phrase.value) for rule in entry.when):
        return ()
    drafts: Drafts = ()
    for sign_id in receivers:
        sign = phrase.protocol.sign(sign_id)
        if sign.is_history:
            continue
        drafts += one(sign_id, untested(phrase.value, phrase.note, sign, fresh=phrase.fresh))
    return drafts


def _at_sites(phrase: Phrase, entry: Entry, entries: Entries) -> Drafts:
    """Return tenderness at the sites that value and note name, for a wide site or a value that is a site.

    A note makes a wide site exact, and never leads away from it.
    """
    reading = phrase.words("tenderness_diffuse")
    sites = sites_in(phrase.value, entries)
    if entry.reader == "sites" and not sites:
        parts: set[str] = set()
        for sign in entry.receivers(State.ABNORMAL):
            parts.update(phrase.protocol.sign(sign).summary_of, entries.part_of.get(sign, ()))
        sites = tuple(site for site in sites_in(phrase.note, entries) if not parts or site.signs <= parts)
    elif reading is not None and entry.reader != "sites":
        return ()
    if not sites or (reading is not None and reading.state is not State.ABNORMAL):
        return ()
    exact = tuple(site for site in sites if site.to) or (sites if entry is entries.unsited else ())
    return tuple(Draft(sign, ABNORMAL) for site in exact for sign in site.receivers(State.ABNORMAL))


def _by_state(phrase: Phrase, entry: Entry) -> Drafts:
    """Return the reading for every sign that receives one of its state."""
    drafts: Drafts = ()
    candidates = entry.to or entry.normal_to or entry.abnormal_to or ()
    first = next((draft.reading for sign in candidates for draft in plainly(phrase, sign)), None)
    if first is None and (_names_a_place(phrase, entry) or _says_itself(phrase, entry)):
        first = ABNORMAL
    if first is None:
        return ()
    for sign in entry.receivers(first.state):
        own = plainly(phrase, sign)
        drafts += own if own and (own[0].reading.state is first.state) else one(sign, _bare(first))
    return drafts


def _names_a_place(phrase: Phrase, entry: Entry) -> bool:
    """Say whether the value of something seen or felt is the place where it was."""
    places = vocabulary().spelt(phrase.value)
    seen = all("pain" in sign or phrase.protocol.sign(sign).kind in _SEEN_OR_FELT for sign in entry.to)
    return bool(entry.to) and seen and not entry.good and bool(places) and set(places) <= _places()


def _says_itself(phrase: Phrase, entry: Entry) -> bool:
    """Say whether a value repeats its sign ("open wound: puncture wound"), or tells from where it hurts."""
    if entry.good or not entry.to:
        return False
    hurts = all("pain" in sign for sign in entry.to) and re.search(r"\d", phrase.value)
    return bool(hurts) or bool(set(vocabulary().spelt(phrase.value)) & set(vocabulary().spelt(entry.name)))


@cache
def _places() -> frozenset[str]:
    entries = load_entries()
    return frozenset(word for site in entries.sites for word in site) | entries.harmless


def _bare(reading: Reading) -> Reading:
    return Reading(state=reading.state, reason=reading.reason)
