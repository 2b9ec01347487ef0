"""From a published case to a valid examination, with a list of everything that did not enter it."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TypeVar

from fabella.anatomy import Side, other
from fabella.audit.answers import Answers
from fabella.audit.cases import CaseFinding, PublishedCase
from fabella.audit.collecting import Collected, Directness
from fabella.audit.entries import Entries, load_entries
from fabella.audit.findings import Outcome, read_finding
from fabella.audit.phrase import LeftOut
from fabella.audit.stories import code_of, mechanism_of
from fabella.audit.words import vocabulary
from fabella.protocol import Protocol
from fabella.record import NO_INJURY, Acuity, Context, Examination, Mechanism, Origin, Patient, Setting, Sex
from fabella.record.contradictions import onset_before_birth
from fabella.record.layout import MAX_AGE_YEARS, MAX_ONSET_DAYS

Code = TypeVar("Code", bound=StrEnum)

_LUMP = re.compile(r"(?:^|_|\b)(?:mass|lump|tumou?r|nodule|cyst)(?:_|\b|$)", re.IGNORECASE)
_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]+")
_LONGEST_TEXT = 4000
_LONGEST_ID = 100
_LONGEST_SAID = 200
SIDE_NOT_STATED = "the side is not stated and was taken to be the right"


@dataclass(frozen=True, slots=True, kw_only=True)
class AdaptedCase:
    """A published case as an examination.

    ``unread`` was not understood; ``set_aside`` was, but the protocol has no place for it or it was said
    before; ``conventions`` tells what was assumed.
    """

    case: PublishedCase
    examination: Examination
    unread: tuple[LeftOut, ...]
    set_aside: tuple[LeftOut, ...]
    conventions: tuple[str, ...]


def adapt(case: PublishedCase, *, protocol: Protocol) -> AdaptedCase:
    """Return the examination that a published case describes; its diagnoses are not looked at.

    A sign that was not stated is absent from it, never assumed negative, except within a statement that
    everything was normal. A side that was not stated is the right one.
    """
    entries = load_entries()
    unread: list[LeftOut] = []
    complaint, conventions = complaint_of(case)
    acuity = _coded("acuity", case.acuity, Acuity, unread)
    mechanism = mechanism_of(case.mechanism, acuity, case.onset_days) if case.mechanism else None
    answers = Answers(case, protocol, entries)
    collected = Collected(protocol, entries)
    fresh = acuity is Acuity.ACUTE and mechanism not in NO_INJURY
    lump = any(_LUMP.search(finding.sign) for finding in case.findings)
    reader = _Reader(complaint, collected, answers, entries, protocol, fresh, lump)
    for directness in (Directness.STATED, Directness.WIDE):
        for finding in case.findings:
            reader.read(finding, directness)
    answers.join(mechanism)
    for draft in answers.findings:
        for side in answers.sides.get(draft.sign, complaint):
            collected.place(draft, side, "", Directness.NOTED)
    examination = Examination(
        id=re.sub(r"[^A-Za-z0-9._-]+", "-", case.id).lstrip("-._")[:_LONGEST_ID] or "case",
        origin=Origin.PUBLISHED,
        source=_source(case),
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


@dataclass(frozen=True, slots=True)
class _Reader:
    """Reads the findings of one case into what is collected."""

    complaint: tuple[Side, ...]
    collected: Collected
    answers: Answers
    entries: Entries
    protocol: Protocol
    fresh: bool
    lump: bool

    def read(self, finding: CaseFinding, directness: Directness) -> None:
        """Place a finding; statements about everything wait until the others are in."""
        outcome = read_finding(
            finding.sign,
            finding.value,
            finding.note,
            entries=self.entries,
            protocol=self.protocol,
            fresh=self.fresh,
            lump=self.lump,
            sided=_is_stated(finding.side),
        )
        if outcome.wide is not (directness is Directness.WIDE):
            return
        said = f"{finding.value}; {finding.note}".strip("; ")
        left = LeftOut(sign=finding.sign, value=said, why=outcome.unread or outcome.aside)
        sides = sides_of(finding.side if _is_stated(finding.side) else outcome.side or "", self.complaint)
        if outcome.unread:
            self.collected.unread.append(left)
        elif outcome.aside:
            self.collected.set_aside.append(left)
        elif sides is None:
            self.collected.unread.append(replace(left, why=f"the side '{finding.side}' is not understood"))
        else:
            self._place(outcome, left, sides, directness)

    def _place(
        self, outcome: Outcome, left: LeftOut, sides: tuple[Side, ...], directness: Directness
    ) -> None:
        note = _clean(left.value)[:_LONGEST_SAID]
        both = ((outcome.drafts, directness), (outcome.added, Directness.NOTED))
        if len(sides) > 1 and any(draft.across for draft in outcome.drafts):
            self.collected.unread.append(replace(left, why="which number is which knee's is not stated"))
            return
        for draft, directly in ((draft, directly) for drafts, directly in both for draft in drafts):
            sign = self.protocol.sign(draft.sign)
            if not sign.is_history:
                for side in sides:
                    self.collected.place(draft, other(side) if draft.across else side, note, directly)
            elif sign.is_person or set(sides) & set(self.complaint):
                self.answers.take(draft, left.value, sides)
            else:
                why = "the history is asked of the knee complained of"
                self.collected.set_aside.append(replace(left, why=why))


def _is_stated(side: str) -> bool:
    """Say whether a side is written at all, be it one that is not understood."""
    return bool(side) and vocabulary().side_of(side) != "unspecified"


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


def _source(case: PublishedCase) -> str:
    cited = f"{case.source}; {case.identifier}" if case.identifier.strip() else case.source
    return _clean(cited) or "published case, source not stated"


def _clean(text: str) -> str:
    return _CONTROL.sub(" ", text).strip()[:_LONGEST_TEXT]
