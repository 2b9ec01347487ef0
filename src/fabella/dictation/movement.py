"""Movement and shape in degrees and centimetres: range, extension, flexion, lag, alignment, girth."""

from __future__ import annotations

from dataclasses import replace

from fabella.dictation.claims import Claim
from fabella.dictation.items import Quantity, Stretch
from fabella.dictation.outcome import Judge, Outcome, measured, stated
from fabella.dictation.vocabulary import SignWord
from fabella.record import Finding, State

_NO_START_DEG = 60.0
"""No knee is so stiff that its range begins there; two such numbers are a reading that wavers."""

_LEAST_BEND_DEG = 45.0
"""Below this a range told by one number is not where it ends for certain: a judgement."""

_OF_A_STRESS_TEST = (0, 1, 2, 3, 20, 25, 30)
"""A grade of laxity, or the bend at which it is tested; without a unit it may be either."""

_ENDS = {"flexion": "flexion_pain", "extension": "forced_extension_pain"}

DEGREES_OR_GRADE = "degrees of alignment, or a stress test?"
HOW_MUCH = "how much exactly?"
SHORT_OR_BEYOND = "short of straight, or beyond it?"


def read_range(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    """Read "range 5 to 110"; the first number is the bend from which the knee starts."""
    if claim.stretch is not None:
        ways = _ways(claim)
        active = measured(judge.protocol.sign("active_flexion"), claim.stretch.high)
        if ways == {"active"}:
            note = f"active range from {claim.stretch.low:g}" if claim.stretch.low else None
            return Outcome(findings=(replace(active, note=note),))
        both = _of_stretch(claim.stretch, judge)
        if both.findings and "active" in ways:
            both = replace(both, findings=(*both.findings, active))
        painless = any(said.pain == "absent" and not negated for said, negated in claim.describing)
        free = stated(["motion_pain_any"], State.NORMAL) if both.findings and painless else ()
        return replace(both, findings=(*both.findings, *free))
    if (number := _degrees(claim)) and (claim.doubt or number.value < _LEAST_BEND_DEG):
        return Outcome(question=HOW_MUCH)
    if number:
        return Outcome(findings=(measured(judge.protocol.sign("passive_flexion"), number.value),))
    state = judge.state(claim, word)
    pain = [said.pain for said, _ in claim.describing if said.pain]
    if state is None and pain:
        if pain[0] == "present":
            question = "painful all the way, or only at the ends?"
            return Outcome(
                question=question, choices=(("any movement", stated(["motion_pain_any"], State.ABNORMAL)),)
            )
        return Outcome(findings=stated(["motion_pain_any"], State.NORMAL))
    return None


def _ways(claim: Claim) -> set[str]:
    """Return whether a range is that of the patient's own movement, of the examiner's, or of both."""
    text = f"{claim.text} {' '.join(claim.compartments)}"
    names = {"active": ("active", "arom"), "passive": ("passive", "prom")}
    return {way for way, words in names.items() if any(word in text for word in words)}


def _of_stretch(stretch: Stretch, judge: Judge) -> Outcome:
    """Read a range; "-5 to 130" is written of a knee that lacks 5 degrees and of one that goes beyond."""
    extension = judge.protocol.sign("passive_extension")
    flexion = measured(judge.protocol.sign("passive_flexion"), stretch.high)
    if stretch.low >= _NO_START_DEG:
        return Outcome(question=HOW_MUCH)
    if stretch.low > stretch.high:
        return Outcome(question="the range ends before it begins")
    if not stretch.minus:
        return Outcome(findings=(measured(extension, 0.0 - stretch.low), flexion))
    beyond, short = measured(extension, -stretch.low), measured(extension, stretch.low)
    choices = (
        (f"{-stretch.low:g} short of straight", (short, flexion)),
        ("beyond straight", (beyond, flexion)),
    )
    return Outcome(question=SHORT_OR_BEYOND, choices=choices)


def read_flexion(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    """Read "flexes to 110"."""
    if claim.stretch is not None:
        return _of_stretch(claim.stretch, judge)
    number = _degrees(claim)
    if number is None:
        return None
    sign = "active_flexion" if claim.compartments == ("active",) else word.to[0]
    hurts = word.pain and any(said.pain == "present" for said, _ in claim.describing)
    pain = stated([word.pain], State.ABNORMAL) if hurts else ()
    return Outcome(findings=(measured(judge.protocol.sign(sign), number.value), *pain))


def read_extension(claim: Claim, _word: SignWord, judge: Judge) -> Outcome | None:
    """Read "extension minus ten"; a number without a sign and without a word for it may mean either way."""
    if claim.stretch is not None:
        return _of_stretch(claim.stretch, judge)
    number = _degrees(claim)
    if number is None:
        return None
    sign = judge.protocol.sign("passive_extension")
    lost = any(said.says == "bad" for said, _ in claim.describing)
    if number.beyond and not lost:
        return Outcome(findings=(measured(sign, number.value),))
    if number.value <= 0 or lost:
        return Outcome(findings=(measured(sign, 0.0 - abs(number.value)),))
    choices = (
        (f"{number.value:g} short of straight", (measured(sign, -number.value),)),
        (f"{number.value:g} beyond straight", (measured(sign, number.value),)),
    )
    return Outcome(question=SHORT_OR_BEYOND, choices=choices)


def read_end_of_range(claim: Claim, word: SignWord, judge: Judge, before: Claim | None) -> Outcome:
    """Read "pain at end range": of the flexion or the extension told before it, else it is asked of which."""
    state = judge.state(claim, word)
    if state is State.NORMAL:
        return Outcome(findings=stated(_ENDS.values(), state))
    beside = before is not None and (before.sentence, before.sides) == (claim.sentence, claim.sides)
    way = before.word.reader if beside and before is not None and before.word is not None else ""
    if way in _ENDS and state is State.ABNORMAL:
        return Outcome(findings=stated([_ENDS[way]], State.ABNORMAL))
    choices = [(way, stated([sign], State.ABNORMAL)) for way, sign in _ENDS.items()]
    both = ("both", stated(_ENDS.values(), State.ABNORMAL))
    return Outcome(question="at the end of flexion, or of extension?", choices=(*choices, both))


def read_shortfall(claim: Claim, _word: SignWord, judge: Judge) -> Outcome | None:
    """Read "lacks five degrees of extension"."""
    number = _degrees(claim)
    if number is not None and not claim.denials and "active" in claim.compartments:
        return Outcome(findings=(measured(judge.protocol.sign("extensor_lag"), abs(number.value)),))
    sign = judge.protocol.sign("passive_extension")
    if number is not None and not claim.denials:
        return Outcome(findings=(measured(sign, 0.0 - abs(number.value)),))
    return None


def read_deficit(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    """Read "fixed flexion of ten degrees"."""
    number = _degrees(claim)
    if number is None:
        return None
    return Outcome(findings=(measured(judge.protocol.sign(word.to[0]), abs(number.value)),))


def read_hyperextension(claim: Claim, _word: SignWord, judge: Judge) -> Outcome | None:
    """Read "hyperextends ten"."""
    number = _degrees(claim)
    if number is None:
        return None
    if claim.denials:
        return Outcome(question=HOW_MUCH)  # "hyperextends 5, not 10"
    return Outcome(findings=(measured(judge.protocol.sign("passive_extension"), abs(number.value)),))


def read_alignment(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    """Read varus and valgus, with the angle where one was said; neutral excludes both."""
    said = [word.bow] if word.bow else [each for each in claim.compartments if each in {"varus", "valgus"}]
    neutral = any(each.says == "good" for each, negated in claim.describing if not negated)
    if neutral and not word.bow:
        return Outcome(findings=stated(word.to, State.NORMAL))
    number = _degrees(claim)
    if not said:
        state = judge.state(claim, word)
        return None if state is State.NORMAL else Outcome(question="varus or valgus?")
    if number is not None and not number.unit and number.value in _OF_A_STRESS_TEST:
        return Outcome(question=DEGREES_OR_GRADE)
    if number is not None and len(said) == 1:
        angle = number.value if said[0] == "valgus" else 0.0 - number.value
        return Outcome(findings=(measured(judge.protocol.sign("tibiofemoral_angle"), angle),))
    state = State.NORMAL if claim.denials % 2 or neutral else State.ABNORMAL
    findings = []
    for bow in said:
        sign = judge.protocol.sign(f"{bow}_alignment")
        findings.append(Finding(sign=sign.id, state=state, level=judge.level(claim, word, sign, state)))
    return Outcome(findings=tuple(findings))


def read_wasting(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    """Read "1 cm wasting of the quadriceps"; the scale has no centimetres, so that they become the note."""
    if not claim.quantities or claim.denials:
        return None
    number = claim.quantities[0]
    level = judge.level(claim, word, judge.protocol.sign(word.to[0]), State.ABNORMAL)
    note = f"{number.value:g} {number.unit}".strip()
    return Outcome(findings=stated(word.to, State.ABNORMAL, level, note=note))


def read_held(claim: Claim, word: SignWord, _judge: Judge) -> Outcome | None:
    """Read "holds it at 30 degrees": bent by that much at rest, or straight."""
    bends = claim.bends_deg or tuple(each.value for each in claim.quantities)
    if len(bends) != 1:
        return None
    return Outcome(findings=stated(word.to, State.ABNORMAL if bends[0] else State.NORMAL))


def read_hip(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    """Read "hips normal": rotation neither reduced nor painful; "move freely" says nothing of pain."""
    if judge.state(claim, word) is State.NORMAL and any(said.whole for said, _ in claim.describing):
        return Outcome(findings=stated(["hip_rotation_reduced", "hip_rotation_pain"], State.NORMAL))
    return None


def read_hip_rotation(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    """Read degrees of hip rotation."""
    number = _degrees(claim)
    if number is None:
        return None
    found = [measured(judge.protocol.sign(f"{word.reader}_rotation"), number.value)]
    if judge.state(claim, word) is State.ABNORMAL:
        found.extend(stated(["hip_rotation_reduced"], State.ABNORMAL))
    if any(said.pain == "present" for said, _ in claim.describing):
        found.extend(stated(["hip_rotation_pain"], State.ABNORMAL))
    return Outcome(findings=tuple(found))


def _degrees(claim: Claim) -> Quantity | None:
    return next((each for each in claim.quantities if each.unit in {"deg", ""} and each.out_of is None), None)
