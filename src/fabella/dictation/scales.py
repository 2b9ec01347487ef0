"""Signs with a scale of their own: power out of five, patellar glide and tracking, a locked knee, leg length."""

from __future__ import annotations

from fabella.dictation.claims import Claim
from fabella.dictation.outcome import Judge, Outcome, measured, stated
from fabella.dictation.vocabulary import SignWord
from fabella.record import State

_FULL_POWER = 5


def read_strength(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    number = next((each for each in claim.quantities if each.out_of in {5, None}), None)
    if number is None:
        return None
    sign = judge.protocol.sign(word.to[0])
    level = f"{number.value:g}"
    if level not in {each.id for each in sign.scale.levels}:
        return Outcome(question="which grade, 0 to 5?")
    state = State.ABNORMAL if sign.level(level).rank else State.NORMAL
    return Outcome(findings=stated(word.to, state, level))


def read_nerve_power(claim: Claim, word: SignWord) -> Outcome | None:
    number = next((each for each in claim.quantities if each.out_of == _FULL_POWER), None)
    if number is None:
        return None
    if number.value == _FULL_POWER:
        return Outcome(findings=stated(word.to, State.NORMAL))
    return Outcome(findings=stated(word.to, State.ABNORMAL, "weak" if number.value else "absent"))


def read_own_scale(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    said = {each.key for each, negated in claim.describing if not negated}
    state = judge.state(claim, word)
    match word.reader:
        case "glide":
            if state is State.NORMAL:
                return Outcome(findings=stated(["patellar_glide_reduced", "patellar_glide_increased"], state))
            for key in ("increased", "reduced"):
                if key in said:
                    return Outcome(findings=stated([f"patellar_glide_{key}"], State.ABNORMAL))
            return Outcome(question="increased or reduced?")
        case "tracking":
            if "lateral" in claim.compartments:
                return Outcome(findings=stated(word.to, State.ABNORMAL))
        case "locked":
            if not claim.denials:
                choices = (("block to extension", stated(word.to, State.ABNORMAL)),)
                return Outcome(question="a block felt on examination, or told?", choices=choices)
        case "shorter" | "longer":
            number = next((each for each in claim.quantities if each.unit in {"cm", "mm"}), None)
            if number is None:
                return Outcome(question="by how much?")
            sign = judge.protocol.sign("leg_length_difference")
            length_cm = number.value / (10 if number.unit == "mm" else 1)
            return Outcome(findings=(measured(sign, length_cm if word.reader == "longer" else -length_cm),))
        case "leg_length":
            if state is not State.NORMAL:
                return Outcome(question="which leg is longer, and by how much?")
        case _:
            return None
    return None
