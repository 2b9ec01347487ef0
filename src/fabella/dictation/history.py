"""Answers of the history: yes, no, or how many hours and minutes."""

from __future__ import annotations

from fabella.dictation.claims import Claim
from fabella.dictation.outcome import Judge, Outcome
from fabella.dictation.understood import Idle
from fabella.dictation.vocabulary import SignWord
from fabella.record import Answer

NOT_AT_ALL = "not at all, or only not so? It stands before words that were not understood"


def told(claim: Claim, word: SignWord, judge: Judge) -> Outcome:
    """Return the answers that a claim about the history gives, or what must be asked for them."""
    yes = _is_told_so(claim, word)
    if not yes and claim.doubt_behind:
        return Outcome(question=NOT_AT_ALL)  # "did not swell xyz"
    if word.idle_denied and yes == (word.says == "no"):
        return Outcome(idle=Idle.MAY_STILL_BE)  # not on the pill; nobody asked about the journey
    answers: list[tuple[str, Answer]] = []
    hours = word.hours if word.hours is not None else _hours(claim)
    for item in word.to:
        sign = judge.protocol.sign(item)
        if sign.scale.measure is None:
            answers.append((item, yes))
        elif not yes and item == "morning_stiffness_min":
            answers.append((item, 0.0))
        elif (value := _amount(claim, sign.scale.measure.unit.value)) is not None:
            answers.append((item, value))
        else:
            return Outcome(question=f"how many {sign.scale.measure.unit}?")
    if "swelling_noticed" in word.to and hours is not None and not yes:
        return Outcome(question="no swelling at all, or only later?")
    if "swelling_noticed" in word.to and hours is not None and _lasts(claim):
        return Outcome(question="did it come after that time, or last so long?")
    if "swelling_noticed" in word.to and hours is not None:
        answers.append(("swelling_onset_hours", hours))
    return Outcome(answers=tuple(answers))


def _is_told_so(claim: Claim, word: SignWord) -> bool:
    """Say whether it was affirmed: each "no" beside it and in its name turns it round."""
    absent = any(said.says == "absent" and not negated for said, negated in claim.describing)
    return not (claim.denials + absent + (word.says == "no")) % 2


def _lasts(claim: Claim) -> bool:
    """Say whether a time is how long something lasted: "swelling for two hours"."""
    return any(mod.item.text == "for" for mod in claim.marks("preposition"))


def _hours(claim: Claim) -> float | None:
    return _amount(claim, "h")


def _amount(claim: Claim, unit: str) -> float | None:
    for each in claim.quantities:
        if each.unit == unit:
            return each.value
        if (each.unit, unit) == ("h", "min"):
            return each.value * 60
    return None
