"""From a claim to what it amounts to: the readers of each kind of sign, and the plain one for the rest."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from fabella.dictation.claims import Claim, is_denied_history
from fabella.dictation.differences import read_difference, tell_by_difference
from fabella.dictation.history import told
from fabella.dictation.implied import BESIDE_UNKNOWN
from fabella.dictation.ligaments import read_cruciate, read_dial, read_end_point, read_stress
from fabella.dictation.lump_findings import read_lump
from fabella.dictation.movement import (
    HOW_MUCH,
    read_alignment,
    read_deficit,
    read_end_of_range,
    read_extension,
    read_flexion,
    read_held,
    read_hip,
    read_hip_rotation,
    read_hyperextension,
    read_range,
    read_shortfall,
    read_wasting,
)
from fabella.dictation.nodes import Head
from fabella.dictation.outcome import Judge, Outcome, reason_of, stated, untestable
from fabella.dictation.places import read_at_site, read_tenderness
from fabella.dictation.plain import read_plain, targets_of
from fabella.dictation.scales import (
    read_glide,
    read_haemarthrosis,
    read_healed,
    read_leg_length,
    read_locked,
    read_nerve_power,
    read_one_leg,
    read_pulse,
    read_straight_leg_raise,
    read_strength,
    read_tracking,
)
from fabella.dictation.temperature import read_temperature
from fabella.dictation.thessaly import read_thessaly
from fabella.dictation.understood import Idle
from fabella.dictation.vocabulary import Class, SignWord, Tag
from fabella.record import Finding, State

DONE_OR_PLANNED = "done, or only planned?"
_PROCEDURES = {"knee_prosthesis", "previous_surgery", "recent_injection_or_aspiration"}
_CLICKS = {"click", "painful click"}
DONE_OR_NOT = "not done, or found so?"
CLICK_OF_A_TEST = "it is told of the test, and no complaint"
DENIED_READING = "a number, and a “no” beside it: what was it?"
TESTED_ENOUGH = "negative, or not testable?"
SAID_WITH_DOUBT = "it was said with doubt"

_NO_MORE = ("less", "under", "below", "within", "at most", "<", "≤")
_WITH_A_RANGE = {"range", "flexion", "extension"}
_READERS = {
    "range": read_range,
    "flexion": read_flexion,
    "extension": read_extension,
    "shortfall": read_shortfall,
    "deficit": read_deficit,
    "lag": read_deficit,
    "hyperextension": read_hyperextension,
    "alignment": read_alignment,
    "wasting": read_wasting,
    "temperature": read_temperature,
    "haemarthrosis": read_haemarthrosis,
    "held": read_held,
    "hip": read_hip,
    "hip_internal": read_hip_rotation,
    "hip_external": read_hip_rotation,
    "gap": read_at_site,
    "lump": read_lump,
    "dial": read_dial,
    "cruciate": read_cruciate,
    "strength": read_strength,
    "power": read_strength,
    "nerve_power": read_nerve_power,
    "pulse": read_pulse,
    "slr": read_straight_leg_raise,
    "thessaly": read_thessaly,
    "glide": read_glide,
    "tracking": read_tracking,
    "locked": read_locked,
    "healed": read_healed,
    "leg_length": read_leg_length,
    "shorter": read_one_leg,
    "longer": read_one_leg,
}


def meaning(claim: Claim, word: SignWord, before: Sequence[Claim], judge: Judge) -> Outcome:
    """Return what a claim about a sign amounts to, after the claims ``before`` it."""
    outcome = (
        _of_a_test(word, claim, before) or _untried(claim, word, judge) or _read(claim, word, before, judge)
    )
    if claim.denials and any(map(_is_reading, outcome.findings)):
        return Outcome(question=DENIED_READING)
    for finding in outcome.findings:
        measure = judge.protocol.sign(finding.sign).scale.measure
        if measure is not None and finding.value is not None and not measure.allows(finding.value):
            return Outcome(question=f"{finding.value:g} {measure.unit} is impossible")
    return outcome


def _is_reading(finding: Finding) -> bool:
    """Say whether a finding is a number that somebody read, which a "no" beside it may deny."""
    return finding.value is not None


def _of_a_test(word: SignWord, claim: Claim, before: Sequence[Claim]) -> Outcome | None:
    """Return that a click was that of a test: "McMurray positive with a click"."""
    last = before[-1] if before else None
    if last is None or last.sentence != claim.sentence or not last.is_of(Class.TEST):
        return None
    if word.name in _CLICKS and not claim.denials and _is_positive(last):
        return Outcome(idle=Idle.OF_A_TEST)
    return Outcome(aside=CLICK_OF_A_TEST) if word.to == ("painful_click",) else None


def _is_positive(claim: Claim) -> bool:
    """Say whether a test was said to be positive, or painful."""
    said = [each for each, negated in claim.describing if not negated]
    return not claim.denials and any("present" in {each.says, each.pain} for each in said)


def _untried(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    """Return what a claim amounts to that is no finding of its sign: told, doubted, not tried."""
    if word.aside:
        absent = word.idle_denied and claim.denials % 2 and not claim.has_own_result
        return Outcome(idle=Idle.NO_SIGN) if absent else Outcome(aside=word.aside)
    if claim.marks("hedge"):
        return Outcome(question=SAID_WITH_DOUBT)
    if any(judge.protocol.sign(each).is_history for each in word.to):
        return _of_history(claim, word, judge)
    if word.told and _is_told(claim):
        return told(claim, replace(word, to=(word.told,)), judge)
    barred = _barred(claim, word, judge)
    if barred is not None:
        return barred
    if claim.doubt_before and word.kind is Class.SOUND and not claim.has_result:
        return Outcome(question=BESIDE_UNKNOWN, choices=(("normal", stated(word.to, State.NORMAL)),))
    if claim.doubt and word.kind is Class.ILLNESS and not claim.has_result:
        return Outcome(question=BESIDE_UNKNOWN, choices=(("present", stated(word.to, State.ABNORMAL)),))
    if claim.denials and word.level == "blood_with_fat":
        return Outcome(idle=Idle.MAY_STILL_BE)  # the aspirate may still be blood
    return None


def _of_history(claim: Claim, word: SignWord, judge: Judge) -> Outcome:
    """Return what a claim tells of the history, where it is certain that it is told of the patient's past."""
    if claim.doubt_before and not claim.has_result:
        return Outcome(question=BESIDE_UNKNOWN)
    if _PROCEDURES.intersection(word.to) and _is_planned(claim):
        return Outcome(question=DONE_OR_PLANNED)
    return told(claim, word, judge)


def _is_planned(claim: Claim) -> bool:
    """Say whether an operation may be still to come: "for", "declined" or an unknown word stands with it."""
    ahead = any(mod.item.text == "for" for mod in claim.marks("preposition"))
    return claim.doubt_behind or ahead or any(mod.item.tag is Tag.REASON for mod in claim.mods)


def _barred(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    """Return that a sign was not tried, or could not be, and why."""
    reasons = [mod.item.value for mod in claim.mods if mod.item.tag is Tag.REASON]
    bare = not (claim.describing or claim.quantities or claim.stretch)
    reasoned = bool(reasons or claim.marks("tolerated", "guarded"))
    if claim.marks("not_done") and (claim.quantities or any(said.grade for said, _ in claim.describing)):
        return Outcome(question=DONE_OR_NOT)  # "not doing the Lachman, it was 2+"
    if claim.marks("not_done") and not reasoned:
        return Outcome(findings=stated(targets_of(claim, word), State.NOT_EXAMINED))
    marked = bare and (claim.marks("cannot", "tolerated", "guarded", "not_done") or "refused" in reasons)
    unable = word.reader == "barred" and not claim.denials
    if marked or (reasoned and (unable or claim.tried)):
        return Outcome(findings=untestable(targets_of(claim, word), reason_of(claim)))
    if reasoned and word.kind is Class.TEST and judge.state(claim, word) is State.NORMAL:
        return Outcome(question=TESTED_ENOUGH)
    return None


def _is_told(claim: Claim) -> bool:
    """Say whether something was told rather than seen: it is denied, never was, or took hours to come."""
    return claim.told or is_denied_history(claim) or any(each.unit == "h" for each in claim.quantities)


def _read(claim: Claim, word: SignWord, before: Sequence[Claim], judge: Judge) -> Outcome:
    if claim.marks("bound"):
        return _bounded(claim, word)
    tell_by_difference(claim, before)
    if (difference := read_difference(claim, word)) is not None:
        return difference
    return _special(claim, word, before, judge) or read_plain(claim, word, judge)


def _special(claim: Claim, word: SignWord, before: Sequence[Claim], judge: Judge) -> Outcome | None:
    """Return what the reader of a sign makes of a claim, or None where the plain one serves."""
    if word.reader == "stress":
        return read_stress(claim, word, judge, _last(before, _tells_direction))
    if word.reader == "tenderness" and claim.stretch is None:
        return read_tenderness(claim, word, before, judge)
    if word.reader == "end_range":
        return read_end_of_range(claim, word, judge, before[-1] if before else None)
    if word.reader == "end_point":
        return read_end_point(claim, word, judge, _last(before, _is_ligament_test))
    if word.reader == "gap" and claim.head is not None and not claim.head.sites:
        claim.head = replace(claim.head, sites=_last_sites(claim, word, before))
    if word.at and word.reader not in {"gap", "lump"}:
        return read_at_site(claim, word, judge)
    if claim.stretch is not None and word.reader not in _WITH_A_RANGE:
        return Outcome(question=HOW_MUCH)
    reader = _READERS.get(word.reader)
    return reader(claim, word, judge) if reader is not None else None


def _last(before: Sequence[Claim], fits: Callable[[Head], bool]) -> Claim | None:
    return next((each for each in reversed(before) if each.head is not None and fits(each.head)), None)


def _last_sites(claim: Claim, word: SignWord, before: Sequence[Claim]) -> tuple[str, ...]:
    """Return where a gap was felt for that follows a tender place: "patellar tendon tender, no gap"."""
    last = before[-1] if before else None
    if last is None or last.head is None or claim.sentence - last.sentence > 1:
        return ()
    return tuple(site for site in last.head.sites if site in word.at)


def _is_ligament_test(head: Head) -> bool:
    return head.word.group == "ligament"


def _tells_direction(head: Head) -> bool:
    """Say whether a claim can lend a stress test its direction: another test, or a tender ligament."""
    return head.word.reader == "stress" or bool({"tenderness_mcl", "tenderness_lcl"} & set(head.sites))


def _bounded(claim: Claim, word: SignWord) -> Outcome:
    """Read "less than two seconds", which is no reading; of the capillary refill it is normal."""
    text = claim.marks("bound")[0].item.text
    if word.to == ("capillary_refill_s",) and text.startswith(_NO_MORE):
        return Outcome(findings=stated(word.to, State.NORMAL, note=text))
    return Outcome(question=HOW_MUCH)
