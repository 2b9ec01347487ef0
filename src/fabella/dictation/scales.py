"""Signs with a scale of their own: power out of five, patellar glide, a locked knee, leg length."""

from __future__ import annotations

from fabella.dictation.claims import Claim
from fabella.dictation.outcome import Judge, Outcome, measured, stated
from fabella.dictation.vocabulary import SignWord
from fabella.record import State

_FULL_POWER = 5
_MM_IN_A_CM = 10
_WAYS = {"outside": "lateral", "laterally": "lateral", "inside": "medial", "medially": "medial"}
_TOO_FAR_QUARTERS = 3
_TOO_LITTLE_QUARTERS = 1


def read_strength(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    """Read the power of the quadriceps, out of five."""
    number = next((each for each in claim.quantities if each.out_of in {5, None}), None)
    if number is None:
        return None
    if claim.denials:
        return Outcome(question="which grade, 0 to 5?")
    sign = judge.protocol.sign(word.to[0])
    level = f"{number.value:g}"
    if level not in {each.id for each in sign.scale.levels}:
        return Outcome(question="which grade, 0 to 5?")
    state = State.ABNORMAL if sign.level(level).rank else State.NORMAL
    return Outcome(findings=stated(word.to, state, level))


def read_nerve_power(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    """Read a power out of five, of the foot as full, weak or absent, of the hip as weak or not."""
    number = next((each for each in claim.quantities if each.out_of == _FULL_POWER), None)
    if number is None:
        return None
    if claim.denials:
        return Outcome(question="full, weak or absent?")
    if number.value == _FULL_POWER:
        return Outcome(findings=stated(word.to, State.NORMAL))
    graded = "absent" in {level.id for level in judge.protocol.sign(word.to[0]).scale.levels}
    level = "weak" if number.value else "absent"
    return Outcome(findings=stated(word.to, State.ABNORMAL, level if graded else None))


def read_glide(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    """Read the glide of the patella: increased and reduced are two signs."""
    if judge.state(claim, word) is State.NORMAL:
        return Outcome(findings=stated(["patellar_glide_reduced", "patellar_glide_increased"], State.NORMAL))
    quarters = next((each.value for each in claim.quantities if each.unit == "quadrant"), None)
    if quarters is not None:
        return _of_quarters(claim, quarters)
    said = {each.key for each, negated in claim.describing if not negated}
    found = [f"patellar_glide_{key}" for key in ("increased", "reduced") if key in said]
    if len(found) == 1:
        return Outcome(findings=stated(found, State.ABNORMAL))
    return Outcome(question="increased or reduced?")


def _of_quarters(claim: Claim, quarters: float) -> Outcome:
    """Read the glide in quarters of the patella: too far laterally, or too little medially."""
    far = State.ABNORMAL if quarters >= _TOO_FAR_QUARTERS else State.NORMAL
    little = State.ABNORMAL if quarters <= _TOO_LITTLE_QUARTERS else State.NORMAL
    read = {
        "lateral": stated(["patellar_glide_increased"], far),
        "medial": stated(["patellar_glide_reduced"], little),
    }
    said = {_WAYS.get(each, each) for each in (*claim.text.split(), *claim.compartments)}
    if ways := said & {*read}:
        return Outcome(findings=tuple(each for way in read if way in ways for each in read[way]))
    return Outcome(question="medially or laterally?", choices=tuple((f"{way}ly", read[way]) for way in read))


def read_pulse(claim: Claim, _word: SignWord, _judge: Judge) -> Outcome | None:
    """Read no heart rate as a pulse of the foot."""
    return Outcome(aside="a heart rate is no sign of the knee") if claim.quantities else None


def read_straight_leg_raise(claim: Claim, _word: SignWord, _judge: Judge) -> Outcome | None:
    """Ask about a leg raise that is "positive" or "negative", which a stretch of the nerve may be."""
    judged = any(said.key in {"positive", "negative"} for said, _ in claim.describing)
    return Outcome(question="raised by the patient, or a stretch of the nerve?") if judged else None


def read_tracking(claim: Claim, word: SignWord, _judge: Judge) -> Outcome | None:
    """Read "tracks laterally"."""
    lateral = "lateral" in claim.compartments
    return Outcome(findings=stated(word.to, State.ABNORMAL)) if lateral else None


def read_haemarthrosis(claim: Claim, _word: SignWord, judge: Judge) -> Outcome | None:
    """Read "big haemarthrosis" as an effusion of that size; that it is blood, only the aspirate tells."""
    effusion = judge.protocol.sign("effusion")
    if claim.denials or "aspirat" in claim.text or "drained" in claim.text:
        return None
    level = judge.level(claim, SignWord(name="effusion", to=(effusion.id,)), effusion, State.ABNORMAL)
    return Outcome(findings=stated([effusion.id], State.ABNORMAL, level)) if level else None


def read_locked(claim: Claim, word: SignWord, _judge: Judge) -> Outcome | None:
    """Read "locked", which may be told or felt."""
    if claim.denials:
        return None
    choices = (("block to extension", stated(word.to, State.ABNORMAL)),)
    return Outcome(question="a block felt on examination, or told?", choices=choices)


def read_healed(claim: Claim, _word: SignWord, _judge: Judge) -> Outcome:
    """Read "wound healed": no wound is open, and there is a scar; one not healed need not be open."""
    if claim.denials or claim.describing:
        choices = (("open", stated(["open_wound"], State.ABNORMAL)),)
        return Outcome(question="is it open?", choices=choices)
    healed = (*stated(["open_wound"], State.NORMAL), *stated(["scar"], State.ABNORMAL))
    return Outcome(findings=healed)


def read_leg_length(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    """Read that the legs are equal; a difference must say which leg it is about."""
    if judge.state(claim, word) is State.NORMAL:
        return None
    return Outcome(question="which leg is longer, and by how much?")


def read_one_leg(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    """Read by how much a leg is longer (positive) or shorter than the other."""
    number = next((each for each in claim.quantities if each.unit in {"cm", "mm"}), None)
    if number is None:
        return Outcome(question="by how much?")
    length_cm = number.value / (_MM_IN_A_CM if number.unit == "mm" else 1)
    sign = judge.protocol.sign(word.to[0])
    return Outcome(findings=(measured(sign, length_cm if word.reader == "longer" else -length_cm),))
