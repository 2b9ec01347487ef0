"""How the values of movement, position and build are read."""

from __future__ import annotations

import re

from fabella.audit.comfort import hurting, hurting_range
from fabella.audit.motion import (
    bound,
    celsius,
    deficit_deg,
    extension_deg,
    first_number,
    flexion_deg,
    held_bent,
    range_deg,
)
from fabella.audit.phrase import Draft, Drafts, Phrase, one, value_of
from fabella.audit.values import ABNORMAL, NORMAL, Polarity, Reading, polarity, without_times
from fabella.record import State

_BLOCK = r"\b(?:lock\w*|mechanical|springy|rigid|bounc\w*|elastic)\b"
_ANY_PAIN = re.compile(
    r"\b(?:pain\w*|exquisite\w*) (?:\w+ )?(?:any|slightest|slight|minimal|all|throughout)\b"
    r"|\bpain\w* throughout"
)
_LITTLE = re.compile(
    r"^[<>]? ?\d+ ?(?:deg\w*)?(?: (?:arc|of motion|of movement))?$"
    r"|^(?:very |only |almost )?(?:minimal|little|negligible|none|no (?:\w+ )?(?:motion|movement))\b"
    r"|^(?:unable|impossible)\b(?! to (?:assess|evaluate|examine|test))"
)
_RESISTED = re.compile(r"^resist(?:ed|s)\b")  # by the patient
_SMALL_ARC_DEG = 30.0  # judgement: a single number below it is an arc, not the bend reached
_LEAST_GIRTH_CM = 15.0  # no adult or school child's limb is thinner: a smaller number is a difference
_HIP_FLEXION_DEG = 100.0  # judgement: below it a hip is short at any age that has knee pain
_AGAINST = re.compile(
    r"(?<![\d.])(\d+(?:\.\d+)?) ?cm(?: \w+){0,3}?[,;]?"
    r" (?:against|versus|vs\.?|compared (?:to|with)|other(?: \w+)?) (?:\w+ ){0,3}?(\d+(?:\.\d+)?) ?cm\b"
    r"|(?<![\d.])(\d+(?:\.\d+)?) ?cm[,;] (\d+(?:\.\d+)?) ?cm (?:on|in|for|of) the"
    r" (?:other|opposite|sound|healthy)\b"
)
_DIAL_DEG = 10.0  # Slichter 2018 J Exp Orthop: the side difference from which the dial test counts


def reads_range(phrase: Phrase) -> Drafts:
    """Read "30-110 deg", "full", "restricted"; numbers become extension and flexion."""
    text = without_times(phrase.value)
    stated = _ends(text, phrase)
    if not stated and (single := flexion_deg(text)) is not None and single >= _SMALL_ARC_DEG:
        stated = one("passive_flexion", _valued(phrase, "passive_flexion", single))
    if not stated and polarity(text) is Polarity.SOFT:
        stated = one("flexion_pain", ABNORMAL)  # painful is not limited
    if not stated:
        little = _LITTLE.search(text) or (polarity(text) is Polarity.PRESENT and _LITTLE.search(phrase.note))
        words = "markedly limited" if little else _RESISTED.sub("limited", text)
        stated = one("range_of_motion_limited", phrase.words("range_of_motion_limited", words))
    if stated and _ANY_PAIN.search(phrase.everything):
        return (*stated, Draft("motion_pain_any", ABNORMAL))
    return (*stated, *hurting_range(phrase)) if stated else ()


def reads_active_range(phrase: Phrase) -> Drafts:
    """Read an active range: its upper end is active flexion; the lower may be lag or contracture."""
    text = without_times(phrase.value)
    if (bends := flexion_deg(text)) is not None and bends >= _SMALL_ARC_DEG:
        return one("active_flexion", _valued(phrase, "active_flexion", bends))
    words = "markedly limited" if _LITTLE.search(text) else text
    return one("range_of_motion_limited", phrase.words("range_of_motion_limited", words))


def reads_flexion(phrase: Phrase, sign: str) -> Drafts:
    """Read "110 deg", "full", "restricted by swelling"."""
    text = without_times(phrase.value)
    if polarity(text) is Polarity.SOFT:
        return one("flexion_pain", ABNORMAL)  # painful is not limited
    bends = flexion_deg(text)
    if bends is None:
        words = "limited" if re.search(r"\d", text) else text
        drafts = one(sign, phrase.words(sign, words))
    else:
        straightens = range_deg(text) if bends != first_number(text) else None
        other = None if straightens is None else straightens.extension_deg
        drafts = (*_extends(phrase, other), *one(sign, _valued(phrase, sign, bends)))
    return (*drafts, *hurting(phrase, "flexion_pain")) if drafts else ()


def reads_extension(phrase: Phrase) -> Drafts:
    """Read "0 deg", "-8 deg", "lacks 5 deg", "full", "10 deg of hyperextension"."""
    text = without_times(phrase.value)
    if polarity(text) is Polarity.SOFT:
        return one("forced_extension_pain", ABNORMAL)  # painful is not limited
    if whole := _ends(text, phrase):
        return whole
    beyond = re.search(r"\b(?:hyperexten\w*|recurvat\w*)\b", text) and not re.search(r"\d|\bno\b", text)
    said = "recurvatum" if beyond else "passive_extension"
    drafts = _extends(phrase, extension_deg(text, phrase.note)) or one(said, phrase.words(said, text))
    return (*drafts, *hurting(phrase, "forced_extension_pain")) if drafts else ()


def reads_deficit(phrase: Phrase, sign: str) -> Drafts:
    """Read how much is missing to straight: degrees are fixed flexion, a block only where words say so."""
    text = without_times(phrase.value)
    degrees = deficit_deg(text)
    if degrees is None:
        return one(sign, phrase.words(sign, text))
    drafts = one("fixed_flexion", _valued(phrase, "fixed_flexion", degrees))
    blocked = sign == "block_to_extension" and re.search(_BLOCK, phrase.everything)
    if drafts and blocked:
        level = (phrase.words(sign, phrase.everything) or ABNORMAL).level
        return (*drafts, Draft(sign, Reading(state=State.ABNORMAL, level=level)))
    return drafts


def reads_hyperextension(phrase: Phrase) -> Drafts:
    """Read "25 deg", "positive", "absent"."""
    text = without_times(phrase.value)
    number = first_number(text)
    if number is not None and not phrase.says(r"\d ?(?:cm|mm|%)"):
        return _extends(phrase, abs(number))
    return one("recurvatum", ABNORMAL if number else phrase.words("recurvatum", text))


def reads_position(phrase: Phrase) -> Drafts:
    """Read the position in which the knee is held."""
    bent = held_bent(without_times(phrase.value))
    if bent is not None:
        return one("held_flexed", ABNORMAL if bent else NORMAL)
    return one("held_flexed", phrase.words("held_flexed"))


def reads_alignment(phrase: Phrase) -> Drafts:
    """Read "neutral", "varus", "5 deg valgus"; degrees become the angle, valgus positive."""
    way = re.search(r"\b(var(?:us|um)|valg(?:us|um)|bow\w*|knock\w*)\b", phrase.value)
    if way and phrase.says(r"\b(?:physiologic\w*|normal|neutral|no)\b"):
        return Draft("varus_alignment", NORMAL), Draft("valgus_alignment", NORMAL)
    if way is None:
        reading = phrase.words("varus_alignment")
        plainly = reading is not None and reading.state is State.NORMAL
        return (Draft("varus_alignment", NORMAL), Draft("valgus_alignment", NORMAL)) if plainly else ()
    valgus = way[1].startswith(("val", "kn"))
    degrees = first_number(phrase.value)
    if degrees is not None:
        return one(
            "tibiofemoral_angle", _valued(phrase, "tibiofemoral_angle", abs(degrees) * (1 if valgus else -1))
        )
    sign = "valgus_alignment" if valgus else "varus_alignment"
    return one(sign, phrase.words(sign))


def reads_leg_length(phrase: Phrase) -> Drafts:
    """Read "2 cm shorter", "equal", "positive"; this leg longer is positive."""
    reading = phrase.number("leg_length_difference")
    if reading is None or reading.value is None:
        told = phrase.says(r"\b(?:longer|shorter|short)\b") and not phrase.says(r"\b(?:no|not|neither)\b")
        return one("leg_length_difference", ABNORMAL if told else phrase.words("leg_length_difference"))
    if phrase.mentions(r"\bshort"):
        return one("leg_length_difference", Reading(value=-abs(reading.value) + 0.0))
    if phrase.mentions(r"\blong") or reading.value <= 0:
        return one("leg_length_difference", reading)
    return one("leg_length_difference", ABNORMAL)


def reads_difference(phrase: Phrase, sign: str) -> Drafts:
    """Read a girth, one against the other, or a difference: less than any limb measures is a difference."""
    girth = "thigh_girth" if sign == "quadriceps_wasting" else sign
    if pair := _AGAINST.search(phrase.everything):
        both_cm = [float(cm) for cm in pair.groups() if cm]
        here, there = (_valued(phrase, girth, cm) for cm in both_cm)
        if here and there and min(both_cm) >= _LEAST_GIRTH_CM:
            return Draft(girth, here), Draft(girth, there, across=True)
    reading = phrase.number(sign if sign != "quadriceps_wasting" else "thigh_girth")
    if reading is not None and (reading.value or 0) >= _LEAST_GIRTH_CM:
        return one("thigh_girth" if sign == "quadriceps_wasting" else sign, reading)
    if re.search(r"\d", phrase.value) and not re.search(r"^0(?:\.0)?(?: ?cm)?$", phrase.value):
        return one("quadriceps_wasting" if sign == "thigh_girth" else sign, ABNORMAL)
    return one(sign, NORMAL if re.search(r"^0", phrase.value) else phrase.words(sign))


def reads_dial(phrase: Phrase, sign: str) -> Drafts:
    """Read "positive", "15 deg more than the other side", "45 deg"."""
    text = phrase.unconditional
    limit, number = bound(text), first_number(text)
    compared = re.search(
        r"\b(?:more|greater|increase\w*|difference|compared|than|asymmetr\w*)\b", phrase.everything
    )
    if number is not None and re.search(r"\d ?deg", text) and (compared or limit):
        return one(sign, NORMAL if abs(number) < _DIAL_DEG else ABNORMAL)
    if number is not None and re.search(r"\d ?deg", text):
        return one(sign, phrase.number(sign))
    return one(sign, phrase.words(sign, text))


def reads_hip(phrase: Phrase, measured_sign: str) -> Drafts:
    """Read degrees of hip rotation, or words about it."""
    number = first_number(without_times(phrase.value))
    lost = phrase.says(r"\b(?:loss|lack\w*|less|lost|deficit|reduced by|decreased by)\b|%")
    if number is None or lost:
        return one("hip_rotation_reduced", ABNORMAL if lost else phrase.words("hip_rotation_reduced"))
    reading = _valued(phrase, measured_sign, number)
    return one(measured_sign, reading) or one("hip_rotation_reduced", ABNORMAL if number < 0 else None)


def reads_hip_flexion(phrase: Phrase) -> Drafts:
    """Read degrees of hip flexion, or words about it."""
    number = first_number(without_times(phrase.value))
    if number is None:
        return one("hip_flexion_reduced", phrase.words("hip_flexion_reduced"))
    short = phrase.says(r"\b(?:loss|lack\w*|less|lost|deficit|by)\b") or number < _HIP_FLEXION_DEG
    return one("hip_flexion_reduced", ABNORMAL if short else NORMAL)


def reads_temperature(phrase: Phrase) -> Drafts:
    """Read a body temperature, fever in words, or, on a knee, its warmth."""
    text = without_times(phrase.value)
    degrees = celsius(text)
    if degrees is not None:
        return one("body_temperature", _valued(phrase, "body_temperature", degrees))
    if phrase.sided and not re.search(r"febrile|fever|apyrex", phrase.everything):
        return one("warmth", phrase.words("warmth"))
    if re.search(r"\bafebrile|apyrex", phrase.everything):
        return one("fever", NORMAL)
    return one(
        "fever",
        ABNORMAL if phrase.says(r"\b(?:febrile|fever|pyrexi\w*|high|hot)\b") else phrase.words("fever"),
    )


def _ends(text: str, phrase: Phrase) -> Drafts:
    """Return both ends of a range, from one pair of numbers or from "extension 0, flexion 130"."""
    if both := range_deg(text):
        flexion = one("passive_flexion", _valued(phrase, "passive_flexion", both.flexion_deg))
        return (*_extends(phrase, both.extension_deg), *flexion) if flexion else ()
    flexed = re.search(r"\bflex\w*[^\d,;]{0,15}(\d+)|\b(\d+)(?: ?deg\w*)? (?:of )?flexion", text)
    extended = re.search(r"(?:\bfull )?\bexten\w*", text)
    if flexed is None or extended is None:
        return ()
    rest = re.split(r"[,;]| and | to ", text)
    said = next((part for part in rest if "exten" in part), "")
    extension = _extends(phrase, extension_deg(said, "")) or one(
        "passive_extension", phrase.words("passive_extension", said)
    )
    return (
        *extension,
        *one("passive_flexion", _valued(phrase, "passive_flexion", float(flexed[1] or flexed[2]))),
    )


def _extends(phrase: Phrase, degrees: float | None) -> Drafts:
    return one("passive_extension", _valued(phrase, "passive_extension", degrees))


def _valued(phrase: Phrase, sign: str, number: float | None) -> Reading | None:
    return value_of(phrase.protocol.sign(sign), number)
