"""From a published case to a valid examination, with a list of everything that did not enter it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeVar

from fabella.anatomy import Side, other
from fabella.audit.answers import Answers
from fabella.audit.cases import CaseFinding, PublishedCase
from fabella.audit.collecting import Collected, Directness
from fabella.audit.entries import Entries, load_entries
from fabella.audit.findings import read_finding
from fabella.audit.left_out import LeftOut
from fabella.audit.stories import UNFORCED, code_of, mechanism_of
from fabella.audit.words import vocabulary
from fabella.protocol import Protocol
from fabella.record import Acuity, Context, Examination, Mechanism, Origin, Patient, Setting, Sex
from fabella.record.contradictions import onset_before_birth
from fabella.record.layout import MAX_AGE_YEARS, MAX_ONSET_DAYS

Code = TypeVar("Code", bound=StrEnum)

_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]+")
_LONGEST_TEXT = 4000
_LONGEST_ID = 100
_LONGEST_SAID = 200
SIDE_NOT_STATED = "the side is not stated and was taken to be the right"


@dataclass(frozen=True, slots=True, kw_only=True)
class AdaptedCase:
    """A published case as an examination.

    ``unread`` was not understood; ``set_aside`` was, but the protocol has no place for it or it was said before;
    ``conventions`` tells what was assumed.
    """

    case: PublishedCase
    examination: Examination
    unread: tuple[LeftOut, ...]
    set_aside: tuple[LeftOut, ...]
    conventions: tuple[str, ...]


def adapt(case: PublishedCase, *, protocol: Protocol, entries: Entries | None = None) -> AdaptedCase:
    """Return the examination that a published case describes; its diagnoses are not looked at.

    A sign that was not stated is absent from it, never assumed negative, except within a statement that everything
    was normal. A side that was not stated is the right one.
    """
    entries = entries or load_entries()
    unread: list[LeftOut] = []
    complaint, conventions = complaint_of(case)
    acuity = _coded("acuity", case.acuity, Acuity, unread)
    mechanism = mechanism_of(case.mechanism, acuity) if case.mechanism else None
    answers = Answers(case, protocol, entries)
    collected = Collected(protocol, entries)
    fresh = acuity is Acuity.ACUTE and mechanism not in UNFORCED
    for directness in (Directness.STATED, Directness.WIDE):
        for finding in case.findings:
            _read(finding, directness, complaint, collected, answers, entries, protocol, fresh=fresh)
    answers.join(mechanism)
    for draft in answers.findings:
        for side in complaint:
            collected.place(draft, side, "", Directness.NOTED)
    examination = Examination(
        id=re.sub(r"[^A-Za-z0-9._-]+", "-", case.id).lstrip("-._")[:_LONGEST_ID] or "case",
        origin=Origin.PUBLISHED,
        source=_clean(f"{case.source}; {case.identifier}" if case.identifier else case.source),
        patient=Patient(age_years=_age(case, unread), sex=_coded("sex", case.sex, Sex, unread)),
        context=_context(case, acuity, mechanism, complaint, unread),
        history=answers.answers,
        findings=collected.findings(),
    )
    return AdaptedCase(
        case=case,
        examination=examination,
        unread=(*unread, *answers.unread, *collected.unread),
        set_aside=(*answers.set_aside, *collected.set_aside),
        conventions=conventions,
    )


def complaint_of(case: PublishedCase) -> tuple[tuple[Side, ...], tuple[str, ...]]:
    """Return the knees complained of, and what was assumed to know them.

    A case without a side whose findings all name the same one is about that one; otherwise it is the right.
    """
    said = vocabulary().side_of(case.side) if case.side else None
    if said == "both":
        return tuple(Side), ()
    if said in list(Side):
        return (Side(said),), ()
    named = {vocabulary().side_of(finding.side) for finding in case.findings if finding.side}
    if len(named) == 1 and (only := named.pop()) in list(Side):
        return (Side(only),), (f"the side is that of the findings, {only}",)
    return (Side.RIGHT,), (SIDE_NOT_STATED,)


def sides_of(said: str, complaint: tuple[Side, ...]) -> tuple[Side, ...] | None:
    """Return the knees that a finding is about, or None when its side is not understood."""
    match vocabulary().side_of(said) if said else "unspecified":
        case "right" | "left" as side:
            return (Side(side),)
        case "both":
            return tuple(Side)
        case "contralateral":
            return tuple(other(side) for side in complaint)
        case "ipsilateral" | "unspecified":
            return complaint
        case _:
            return None


def _read(
    finding: CaseFinding,
    directness: Directness,
    complaint: tuple[Side, ...],
    collected: Collected,
    answers: Answers,
    entries: Entries,
    protocol: Protocol,
    *,
    fresh: bool,
) -> None:
    """Place a finding; statements about everything wait until the others are in."""
    said = f"{finding.value}; {finding.note}".strip("; ")
    outcome = read_finding(
        finding.sign,
        finding.value,
        finding.note,
        entries=entries,
        protocol=protocol,
        fresh=fresh,
        sided=sides_of(finding.side, ()) != () if finding.side else False,
    )
    if outcome.wide is not (directness is Directness.WIDE):
        return
    left = LeftOut(sign=finding.sign, value=said, why=outcome.unread or outcome.aside)
    if outcome.unread:
        collected.unread.append(left)
        return
    if outcome.aside:
        collected.set_aside.append(left)
        return
    own = (
        finding.side if vocabulary().side_of(finding.side or "unspecified") != "unspecified" else outcome.side
    )
    sides = sides_of(own or "", complaint)
    if sides is None:
        collected.unread.append(
            LeftOut(sign=finding.sign, value=finding.side, why="the side is not understood")
        )
        return
    note = _clean(said)[:_LONGEST_SAID]
    for drafts, directly in ((outcome.drafts, directness), (outcome.added, Directness.NOTED)):
        for draft in drafts:
            sign = protocol.sign(draft.sign)
            if not sign.is_history:
                for side in sides:
                    collected.place(draft, side, note, directly)
            elif sign.is_person or set(sides) & set(complaint):
                answers.take(draft, said)
            else:
                why = "the history is asked of the knee complained of"
                collected.set_aside.append(LeftOut(sign=finding.sign, value=said, why=why))


def _context(
    case: PublishedCase,
    acuity: Acuity | None,
    mechanism: Mechanism | None,
    complaint: tuple[Side, ...],
    unread: list[LeftOut],
) -> Context:
    onset = case.onset_days
    if onset is not None and (not 0 <= onset <= MAX_ONSET_DAYS or onset_before_birth(case.age_years, onset)):
        unread.append(LeftOut(sign="onset_days", value=f"{onset:g}", why="no complaint is that old"))
        onset = None
    return Context(
        setting=_coded("setting", case.setting, Setting, unread),
        acuity=acuity,
        onset_days=onset,
        mechanism=mechanism,
        mechanism_words=_clean(case.mechanism) or None,
        complaint=complaint,
    )


def _age(case: PublishedCase, unread: list[LeftOut]) -> float | None:
    age = case.age_years
    if age is None or 0 <= age <= MAX_AGE_YEARS:
        return age
    unread.append(LeftOut(sign="age", value=f"{age:g}", why="no patient is of that age"))
    return None


def _coded(kind: str, word: str, codes: type[Code], unread: list[LeftOut]) -> Code | None:
    if not word:
        return None
    code = code_of(kind, word)
    if code is None:
        unread.append(LeftOut(sign=kind, value=word, why=f"allowed: {', '.join(codes)}"))
        return None
    return codes(code)


def _clean(text: str) -> str:
    return _CONTROL.sub(" ", text).strip()[:_LONGEST_TEXT]
