"""A finding that a word of its value or note leads to another sign, as a gap to its tendon."""

from __future__ import annotations

import re
from dataclasses import replace

from fabella.audit.entries import Entry, Redirect
from fabella.audit.phrase import NEGATED, Draft, Drafts, Phrase, measured, one
from fabella.audit.values import ABNORMAL, Polarity, Reading, polarity
from fabella.record import State


def set_aside(phrase: Phrase, entry: Entry) -> str:
    """Return why the words of a finding have no place in the protocol, or nothing when they have one."""
    for redirect in entry.when:
        if redirect.aside and redirect.says.search(phrase.everything):
            return redirect.aside
    return ""


def redirected(phrase: Phrase, entry: Entry) -> Drafts:
    """Return what goes to other signs for a word in the value, or in the note of an abnormal finding."""
    for redirect in (each for each in entry.when if each.to):
        for in_note in (False, True):
            if drafts := _redirect(phrase, redirect, in_note=in_note):
                return drafts
    return ()


def _redirect(phrase: Phrase, redirect: Redirect, *, in_note: bool) -> Drafts:
    text = phrase.note if in_note else phrase.value
    found = redirect.says.search(text)
    if found is None:
        return ()
    if redirect.state is None:
        return _by_own_scales(phrase, redirect, in_note=in_note)
    if in_note and not (polarity(phrase.value) in {None, Polarity.PRESENT} or phrase.value == "abnormal"):
        return ()
    if redirect.state is not State.ABNORMAL:
        reading = Reading(state=redirect.state, level=redirect.level)
        return tuple(Draft(sign, reading) for sign in redirect.to)
    if NEGATED.search(text[: found.start()]) or (in_note and _is_healthy(phrase)):
        return ()
    given = None if redirect.level is None else Reading(state=State.ABNORMAL, level=redirect.level)
    return tuple(Draft(sign, given or _worded(phrase, sign)) for sign in redirect.to)


def _by_own_scales(phrase: Phrase, redirect: Redirect, *, in_note: bool) -> Drafts:
    """Return each sign read by its own scale; a bare mention in the value says that the first is there."""
    drafts = tuple(draft for sign in redirect.to for draft in plainly(phrase, sign))
    if drafts or in_note or polarity(phrase.value) is not None:
        return drafts
    return (Draft(redirect.to[0], ABNORMAL),)


def _is_healthy(phrase: Phrase) -> bool:
    own = phrase.words("deformity")
    return own is not None and own.state is State.NORMAL


def _worded(phrase: Phrase, sign: str) -> Reading:
    """Return abnormal, with the level that the words give if they give one."""
    reading = replace(phrase, good=False).words(sign)
    return reading if reading is not None and reading.state is State.ABNORMAL else ABNORMAL


def plainly(phrase: Phrase, sign_id: str) -> Drafts:
    """Return a sign read by its own scale: a number with a unit, or words."""
    sign = phrase.protocol.sign(sign_id)
    if sign.has_measure and not sign.scale.levels:
        noted = (
            phrase.note
            if re.match(r"(?:popliteal angle (?:of )?)?\d", phrase.note)
            and not re.search(r"\d", phrase.value)
            else ""
        )
        if number := measured(sign, phrase.value) or measured(sign, noted):
            return one(sign_id, number)
    return one(sign_id, phrase.words(sign_id))
