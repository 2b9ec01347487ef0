"""Temperatures: what a thermometer tells is of the body; without a number it may be of the knee."""

from __future__ import annotations

from fabella.dictation.claims import Claim
from fabella.dictation.outcome import Judge, Outcome, measured, stated
from fabella.dictation.vocabulary import SignWord
from fabella.record import State

OF_BODY_OR_KNEE = "of the body, or of the knee?"
_NO_CELSIUS = 90.0


def read_temperature(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    """Read a temperature, in Celsius or Fahrenheit; no patient has 90 degrees Celsius."""
    if not claim.quantities:
        return _without_a_number(claim, word, judge)
    number = claim.quantities[0]
    fahrenheit = number.unit == "F" or number.value > _NO_CELSIUS
    value = round((number.value - 32) * 5 / 9, 1) if fahrenheit else number.value
    return Outcome(findings=(measured(judge.protocol.sign("body_temperature"), value),))


def _without_a_number(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    """Ask whose temperature is normal or not, unless the body is named: hands feel the knees as well."""
    state = judge.state(claim, word)
    if state is None or "body" in claim.text:
        return None
    level = None if state is State.NORMAL else "warm"
    choices = (("of the body", stated(word.to, state)), ("of the knee", stated(["warmth"], state, level)))
    return Outcome(question=OF_BODY_OR_KNEE, choices=choices)
