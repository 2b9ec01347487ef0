"""The plain reader: a sign, its result, how much of it, and what pain makes of it."""

from __future__ import annotations

from collections.abc import Sequence

from fabella.dictation.claims import Claim
from fabella.dictation.ligaments import stress_tests
from fabella.dictation.outcome import Judge, Outcome, converted, measured, stated
from fabella.dictation.understood import Idle
from fabella.dictation.vocabulary import Class, SignWord
from fabella.record import Finding, State

WHICH_OF_THEM = "which of them is not?"
POSITIVE_OR_NEGATIVE = "positive or negative?"


def targets_of(claim: Claim, word: SignWord) -> tuple[str, ...]:
    """Return the signs that a claim enters: those of its compartment or direction, or all of its word."""
    refined = [sign for each in claim.compartments for sign in word.refine.get(each, ())]
    if refined:
        return tuple(dict.fromkeys(refined))
    if word.reader == "stress":
        return stress_tests(claim, word)
    return word.to or word.normal_to


def read_plain(claim: Claim, word: SignWord, judge: Judge) -> Outcome:
    """Read a sign that needs nothing but its result."""
    painful, denied = _painful(claim)
    targets = targets_of(claim, word)
    extra = _pain(word, painful, targets)
    state = None if denied and not _was_painful(claim, word) else judge.state(claim, word)
    if not word.to and not claim.compartments:
        return _of_no_sign_alone(word, state, extra)
    if state is State.ABNORMAL and word.kind is Class.SOUND and len(targets) > 1:
        choices = tuple((judge.protocol.sign(each).name, stated([each], state)) for each in targets)
        return Outcome(question=WHICH_OF_THEM, choices=choices)
    read = (_one(claim, word, judge, each, state) for each in targets)
    found = (*(each for each in read if each is not None), *_end_point(claim, targets), *extra)
    if found:
        return Outcome(findings=tuple(dict.fromkeys(found)))
    if word.silent and not claim.has_result:
        return Outcome(idle=Idle.OPENING)
    choices = tuple((state.value, stated(targets, state)) for state in (State.ABNORMAL, State.NORMAL))
    return Outcome(question=POSITIVE_OR_NEGATIVE, choices=choices)


def _painful(claim: Claim) -> tuple[str, bool]:
    """Return what was said of pain, and whether it was all that was denied: "doesn't hurt"."""
    said = [(each, negated) for each, negated in claim.describing if not each.empty]
    painful, negated = next(((each.pain, negated) for each, negated in said if each.pain), ("", False))
    denied = painful == "present" and (negated or (bool(claim.denials % 2) and len(said) == 1))
    return ("absent" if denied else painful), denied


def _was_painful(claim: Claim, word: SignWord) -> bool:
    """Say whether a test that hurt on the other knee, which made it positive, does not on this one."""
    return claim.carried and word.pain.partition("=")[0] in word.to


def _of_no_sign_alone(word: SignWord, state: State | None, extra: tuple[Finding, ...]) -> Outcome:
    """Read a name that is a sign only with a compartment: all may be normal, else it is asked which."""
    if word.normal_to and state is State.NORMAL:
        return Outcome(findings=(*stated(word.normal_to, state), *extra))
    if extra:
        return Outcome(findings=extra)
    return Outcome(question="which one?" if state else POSITIVE_OR_NEGATIVE)


def _one(claim: Claim, word: SignWord, judge: Judge, name: str, state: State | None) -> Finding | None:
    """Return the finding of one sign, or None if nothing was said of it."""
    sign = judge.protocol.sign(name)
    measure = sign.scale.measure
    level = judge.level(claim, word, sign, state) if state is not None else None
    for number in claim.quantities:
        if number.out_of is not None and name != "beighton_score":
            continue
        graded = judge.grade(number.value, sign) if not number.unit else None
        if graded is not None:
            rank = sign.level(graded).rank
            return Finding(sign=name, state=State.ABNORMAL if rank else State.NORMAL, level=graded)
        value = converted(number.value, number.unit, measure.unit) if measure is not None else None
        if value is not None:
            return measured(sign, value, method=claim.method, level=level)
    if measure is not None and not sign.scale.levels and _is_nothing(claim, word):
        return measured(sign, 0.0)
    return None if state is None else Finding(sign=name, state=state, level=level)


def _is_nothing(claim: Claim, word: SignWord) -> bool:
    """Say whether "nil" was said of a distance, which then is nought: "heel to buttock nil"."""
    nothing = [said for said, negated in claim.describing if said.key == "nil" and not negated]
    return bool(nothing) and word.kind is Class.HEALTH


def _pain(word: SignWord, painful: str, targets: tuple[str, ...]) -> tuple[Finding, ...]:
    """Return what pain makes of a sign: of a test that it makes positive, or of another sign."""
    if not painful or not word.pain:
        return ()
    sign, _, level = word.pain.partition("=")
    if sign == "stress":
        return ()
    state = State.ABNORMAL if painful == "present" else State.NORMAL
    if sign in word.to:
        return stated(targets, state) if state is State.ABNORMAL else ()
    return stated([sign], state, level or None if state is State.ABNORMAL else None)


def _end_point(claim: Claim, targets: Sequence[str]) -> tuple[Finding, ...]:
    """Return the end point that a letter behind the grade tells: "2B"."""
    feels = [said.end_point for said, _ in claim.describing if said.end_point]
    if not feels or "lachman" not in targets:
        return ()
    state = State.NORMAL if feels[0] == "firm" else State.ABNORMAL
    return stated(["lachman_end_point"], state, feels[0])
