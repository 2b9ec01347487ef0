"""What a lump amounts to: that it is there, where, how large, how it feels; its tenderness has no sign."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fabella.dictation.claims import Claim
from fabella.dictation.lump_gathered import PULSES, lump_signs
from fabella.dictation.lump_words import kind_of, lump_word
from fabella.dictation.nodes import Mod
from fabella.dictation.outcome import Judge, Outcome, converted, measured, stated
from fabella.dictation.vocabulary import SignWord
from fabella.record import Finding, State

OF_THE_LUMP = "it is said of the lump, whose tenderness has no sign; say where the knee is tender"
LUMP_OR_KNEE = "is the lump tender, or the knee?"
_SIZE, _FEEL = "mass_size", "mass_firm_fixed"
_STATES = {"present": State.ABNORMAL, "absent": State.NORMAL}
OF_A_LUMP = (_SIZE, _FEEL)
"""Signs that nobody states of a knee without a lump, as by "the left knee is normal"."""


def read_lump(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    """Read a lump; one that is not there has neither size nor feel."""
    state = judge.state(claim, word)
    if claim.head is None or state is None:
        return None
    signs = lump_signs(word, claim.head.sites)
    if state is State.NORMAL or claim.carried:
        return Outcome(findings=stated(signs, state))
    found = stated(signs, state, note=claim.note)
    return Outcome(findings=(*found, *_details(claim.head.details, signs, judge)))


def _details(details: Sequence[Mod], signs: Sequence[str], judge: Judge) -> Iterator[Finding]:
    sign = judge.protocol.sign(_SIZE)
    for mod in details:
        measure = sign.scale.measure
        if kind_of(mod) == "size" and measure is not None:
            size = converted(mod.item.value.value, mod.item.value.unit, measure.unit)
            yield from () if size is None else (measured(sign, size),)
    feels = {_feel(mod) for mod in details} - {""}
    if feels:
        # hard, deep or tethered: any one of them is enough
        yield from stated([_FEEL], _STATES["present" if "present" in feels else "absent"])
    beats = [not mod.negated for mod in details if kind_of(mod) == "beat"]
    for each in signs:
        if beats and each in PULSES:
            yield from stated([PULSES[each]], State.ABNORMAL if any(beats) else State.NORMAL)


def _feel(mod: Mod) -> str:
    word = lump_word(mod.item)
    return "" if word is None else word.denied if mod.negated else word.says


def of_lump(claims: Sequence[Claim], place: int, judge: Judge) -> str:
    """Return why tenderness without a site is not that of the whole knee: a lump stands beside it."""
    claim = claims[place]
    if claim.head is None or claim.head.word.reader != "tenderness" or claim.head.sites:
        return ""
    following = claims[place + 1] if place + 1 < len(claims) else None
    if following is not None and following.joined == "" and _is_felt(following, claim, judge):
        return OF_THE_LUMP
    for each in reversed(claims[:place]):
        if each.sentence != claim.sentence:
            break
        if _is_felt(each, claim, judge):
            return OF_THE_LUMP
    before = claims[place - 1] if place else None
    return LUMP_OR_KNEE if before is not None and _is_felt(before, claim, judge) else ""


def of_the_lump(claim: Claim, state: State, judge: Judge) -> Outcome:
    """Return tenderness said of a lump as left over, or as a question where the knee may be meant."""
    if claim.of_lump == OF_THE_LUMP:
        return Outcome(aside=claim.of_lump)
    nowhere = stated(judge.lexicon.nowhere, state) if state is State.NORMAL else ()
    return Outcome(question=claim.of_lump, choices=(("the knee is not tender", nowhere),) if nowhere else ())


def _is_felt(lump: Claim, claim: Claim, judge: Judge) -> bool:
    """Say whether a claim tells of a lump that is there, on a knee of which the other claim may speak."""
    if lump.head is None or lump.head.word.reader != "lump" or lump.withdrawn:
        return False
    alike = not lump.sides or not claim.sides or bool({*lump.sides} & {*claim.sides})
    return alike and judge.state(lump, lump.head.word) is State.ABNORMAL
