"""Ligament tests: which direction, at which bend, how much; never a guess between varus and valgus."""

from __future__ import annotations

from dataclasses import replace

from fabella.dictation.claims import Claim
from fabella.dictation.items import Quantity
from fabella.dictation.outcome import Judge, Outcome, measured, stated
from fabella.dictation.vocabulary import Class, SignWord
from fabella.record import Finding, State

VALGUS_OR_VARUS = "on valgus or on varus stress?"
_STRAIGHT_UP_TO_DEG = 10.0
_BENT_UP_TO_DEG = 45.0
_TWO_BENDS = 2
_DIRECTIONS = {"medial": "valgus", "lateral": "varus", "valgus": "valgus", "varus": "varus"}
_AT_LIGAMENT = {"tenderness_mcl": "valgus", "tenderness_lcl": "varus"}
_GRADES = {0, 1, 2, 3}
_NO_DIRECTION = {"laxity", "instability", "stability", "stress"}


def read_stress(claim: Claim, word: SignWord, judge: Judge, before: Claim | None) -> Outcome | None:
    """Read a collateral stress test; its direction may come from the same test before it in the sentence."""
    if "compartment" in claim.text and _is_plainly_normal(claim):
        return Outcome(question="stable, or in what way normal?")
    directions = _directions(claim, word) or (_directions_before(before, claim) if before is not None else [])
    claim.directions = tuple(directions)
    bends = _bends(claim)
    if bends is None:
        return Outcome(question="at which bend: straight, or 20 to 30 degrees?")
    state = _state(claim, _as_test(claim, word), judge)
    if not directions and len(bends) == _TWO_BENDS and _is_of_the_knee(claim, before, state):
        directions = ["valgus", "varus"]
    if not directions:
        return _without_direction(claim, word, judge, bends, state)
    return _findings(claim, judge, directions, bends, state)


def _as_test(claim: Claim, word: SignWord) -> SignWord:
    """Return the collaterals as the test of one of them, where one was told: "collaterals 1+ medially"."""
    present = any(said.says == "present" and said.grade is None for said, _ in claim.describing)
    return (
        replace(word, kind=Class.TEST) if word.bow == "both" and claim.compartments and not present else word
    )


def _is_plainly_normal(claim: Claim) -> bool:
    """Say whether a compartment was only said to be normal, which tells nothing of a ligament."""
    return not claim.bends_deg and any(said.whole for said, _ in claim.describing)


def stress_tests(claim: Claim, word: SignWord) -> tuple[str, ...]:
    """Return the signs of the stress tests that a claim names."""
    directions, bends = _directions(claim, word), _bends(claim) or []
    return tuple(f"{direction}_stress_{bend}" for direction in directions for bend in bends)


def _findings(
    claim: Claim, judge: Judge, directions: list[str], bends: list[str], state: State | None
) -> Outcome:
    painful = [said for said, _ in claim.describing if said.pain == "present"]
    found = [Finding(sign=f"{each}_stress_pain", state=State.ABNORMAL) for each in directions if painful]
    values = [each for each in claim.quantities if each.unit == "mm"]
    graded = _graded(claim)
    if state is None and not values:
        return Outcome(findings=tuple(found), question="" if found else "positive or negative?")
    for direction in directions:
        for bend in bends:
            sign = judge.protocol.sign(f"{direction}_stress_{bend}")
            level = judge.level(claim, _as_if(sign.id), sign, state) if state is not None else None
            if graded is not None and level is None:
                level = judge.grade(graded.value, sign)
            if values:
                found.append(measured(sign, values[0].value, level=level))
            else:
                found.append(Finding(sign=sign.id, state=state, level=level))
    return Outcome(findings=tuple(found))


def _as_if(sign: str) -> SignWord:
    """Return the plain name of one stress test, whose levels the describing words are read by."""
    return SignWord(name=sign, to=(sign,))


def _state(claim: Claim, word: SignWord, judge: Judge) -> State | None:
    """Return whether the test was positive; a grade in numbers must not contradict the words beside it."""
    if any(each.unit == "mm" for each in claim.quantities) and not claim.describing:
        return None
    said = judge.state(claim, word) if claim.describing or claim.denials or word.name == "opens" else None
    graded = _graded(claim)
    if graded is None:
        return said if said is not None else judge.state(claim, word)
    state = State.ABNORMAL if graded.value else State.NORMAL
    return state if said in {None, state} else None


def _graded(claim: Claim) -> Quantity | None:
    """Return the number that stands for a grade: "valgus 0", "varus 1 at 30"."""
    plain = [each for each in claim.quantities if not each.unit and each.out_of is None]
    return plain[0] if len(plain) == 1 and plain[0].value in _GRADES else None


def _directions(claim: Claim, word: SignWord) -> list[str]:
    both = word.bow == "both"
    said = [word.bow, *claim.compartments] if word.bow and not both else list(claim.compartments)
    named = list(dict.fromkeys(_DIRECTIONS[each] for each in said if each in _DIRECTIONS))
    return named or (["valgus", "varus"] if both else [])


def _directions_before(before: Claim, claim: Claim) -> list[str]:
    if before.head is None or before.sentence != claim.sentence:
        return []
    if before.head.word.reader == "tenderness":
        return [_AT_LIGAMENT[site] for site in before.head.sites if site in _AT_LIGAMENT]
    return list(before.directions) or _directions(before, before.head.word)


def _bends(claim: Claim) -> list[str] | None:
    """Return "0", "30" or both, 30 where nothing is said; None when there is no such test."""
    said = [*claim.bends_deg]
    if claim.has_result:
        said += [each.value for each in claim.quantities if _is_bend(each, claim)]
    bends = []
    if len(set(said)) > _TWO_BENDS:  # "at both angles", whichever those of the test are
        said = [bend for bend in said if bend <= _BENT_UP_TO_DEG]
    for bend in said:
        if bend > _BENT_UP_TO_DEG:
            return None
        bends.append("0" if bend <= _STRAIGHT_UP_TO_DEG else "30")
    return list(dict.fromkeys(bends)) or ["30"]


def _is_bend(number: Quantity, claim: Claim) -> bool:
    if number.unit == "deg":
        return True
    others = [each for each in claim.quantities if each is not number]
    bend = number.value in {0, 20, 25, 30} and not (claim.carried and claim.bends_deg)
    return not number.unit and bend and bool(claim.describing or others)


def _is_of_the_knee(claim: Claim, before: Claim | None, state: State | None) -> bool:
    """Say whether a knee is stable both ways at both bends: no direction of this knee was told before."""
    other_knee = before is None or not set(before.sides) & set(claim.sides)
    implied = any(said.implies for said, _ in claim.describing)
    return implied and state is State.NORMAL and other_knee and not claim.doubt


def _without_direction(
    claim: Claim, word: SignWord, judge: Judge, bends: list[str], state: State | None
) -> Outcome:
    if state is State.NORMAL and word.name in _NO_DIRECTION and not claim.bends_deg:
        return Outcome(findings=stated(["ligament_laxity_any"], State.NORMAL))
    both = [*(["valgus", "varus"] if state is State.NORMAL else [])]
    choices = [(each, _findings(claim, judge, [each], bends, state).findings) for each in ("valgus", "varus")]
    if both:
        choices.append(("both", _findings(claim, judge, both, bends, state).findings))
    return Outcome(question=VALGUS_OR_VARUS, choices=tuple(choices))


def read_dial(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    """Read the dial test at 30 degrees, at 90 or at both."""
    bends = [*claim.bends_deg, *(each.value for each in claim.quantities if claim.describing)]
    names = list(dict.fromkeys("dial_90" if bend > _BENT_UP_TO_DEG else "dial_30" for bend in bends))
    state = judge.state(claim, word)
    if state is None or not names:
        return None
    return Outcome(findings=stated(names, state))


def read_end_point(claim: Claim, word: SignWord, judge: Judge, before: Claim | None) -> Outcome | None:
    """Read the end point of the Lachman test; that of another ligament test has no place."""
    here = before is not None and before.sentence == claim.sentence
    if here and before is not None and before.head is not None and before.head.word.family != "anterior":
        return Outcome(aside="the protocol has the end point of the Lachman test only")
    state = judge.state(claim, word)
    if state is None:
        return None
    level = judge.level(claim, word, judge.protocol.sign("lachman_end_point"), state)
    plain = "soft" if state is State.ABNORMAL else "firm"
    return Outcome(findings=stated(["lachman_end_point"], state, level or plain))


def read_cruciate(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    """Read "cruciates intact" as the tests that say so; a lax one must be told by its test."""
    state = judge.state(claim, word)
    if state is State.NORMAL:
        return Outcome(findings=stated(word.normal_to, State.NORMAL))
    return Outcome(question="by which test?")
