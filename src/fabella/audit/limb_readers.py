"""How the values of the limb and the body are read: line, length, girth, rotation, the hip, temperature."""

from __future__ import annotations

import re

from fabella.audit.motion import bound, celsius, first_number
from fabella.audit.phrase import Draft, Drafts, Phrase, one
from fabella.audit.values import ABNORMAL, NORMAL, Reading, without_times
from fabella.record import State

_LEAST_GIRTH_CM = 15.0  # no adult or school child's limb is thinner: a smaller number is a difference
_HIP_FLEXION_DEG = 100.0  # judgement: below it a hip is short at any age that has knee pain
_AGAINST = re.compile(
    r"(?<![\d.])(\d+(?:\.\d+)?) ?cm(?: \w+){0,3}?[,;]?"
    r" (?:against|versus|vs\.?|compared (?:to|with)|other(?: \w+)?) (?:\w+ ){0,3}?(\d+(?:\.\d+)?) ?cm\b"
    r"|(?<![\d.])(\d+(?:\.\d+)?) ?cm[,;] (\d+(?:\.\d+)?) ?cm (?:on|in|for|of) the"
    r" (?:other|opposite|sound|healthy)\b"
)
_GIVES_WAY = re.compile(
    r"\b(?:(?:not|partly|partially|fully|passively|manually|easily) )*"
    r"(?:fixed|rigid|(?:un|in)?correct(?:able|ible|s)|(?:ir)?reducible|flexible)\b"
)
"""Whether a bow that is there can be straightened by hand."""
_DIAL_DEG = 10.0  # Slichter 2018 J Exp Orthop: the side difference from which the dial test counts


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
            "tibiofemoral_angle", phrase.valued("tibiofemoral_angle", abs(degrees) * (1 if valgus else -1))
        )
    sign = "valgus_alignment" if valgus else "varus_alignment"
    return one(sign, phrase.words(sign))


def reads_bow(phrase: Phrase, sign: str) -> Drafts:
    """Read how far a bow or knock knee that is named goes: "15 deg", "fixed", "mild, correctable"."""
    degrees = re.search(r"^(\d+(?:\.\d+)?)$|(?<![\d.])(\d+(?:\.\d+)?) ?deg", phrase.value)
    if degrees is not None:
        angle_deg = float(degrees[1] or degrees[2]) * (1 if sign == "valgus_alignment" else -1)
        angle = phrase.valued("tibiofemoral_angle", angle_deg)
        return one("tibiofemoral_angle", angle) if angle_deg else one(sign, NORMAL)
    told = " ".join(_GIVES_WAY.sub(" ", phrase.value).replace(",", " ").split())
    if told == phrase.value:
        return one(sign, phrase.words(sign))
    return one(sign, phrase.words(sign, told) if told else ABNORMAL)


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
        here, there = (phrase.valued(girth, cm) for cm in both_cm)
        if here and there and min(both_cm) >= _LEAST_GIRTH_CM:
            return Draft(girth, here), Draft(girth, there, across=True)
    reading = phrase.number(girth)
    if reading is not None and (reading.value or 0) >= _LEAST_GIRTH_CM:
        return one(girth, reading)
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
    reading = phrase.valued(measured_sign, number)
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
        return one("body_temperature", phrase.valued("body_temperature", degrees))
    if phrase.sided and not re.search(r"febrile|fever|apyrex", phrase.everything):
        return one("warmth", phrase.words("warmth"))
    if re.search(r"\bafebrile|apyrex", phrase.everything):
        return one("fever", NORMAL)
    return one(
        "fever",
        ABNORMAL if phrase.says(r"\b(?:febrile|fever|pyrexi\w*|high|hot)\b") else phrase.words("fever"),
    )
