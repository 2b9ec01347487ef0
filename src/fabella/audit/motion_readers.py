"""How the values of the knee's movement and position are read."""

from __future__ import annotations

import re

from fabella.audit.comfort import hurting, hurting_range
from fabella.audit.motion import (
    deficit_deg,
    extension_deg,
    first_number,
    flexion_deg,
    held_bent,
    range_deg,
)
from fabella.audit.phrase import Draft, Drafts, Phrase, one
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


def reads_range(phrase: Phrase) -> Drafts:
    """Read "30-110 deg", "full", "restricted"; numbers become extension and flexion."""
    text = without_times(phrase.value)
    stated = _ends(text, phrase)
    if not stated and (single := flexion_deg(text)) is not None and single >= _SMALL_ARC_DEG:
        stated = one("passive_flexion", phrase.valued("passive_flexion", single))
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
        return one("active_flexion", phrase.valued("active_flexion", bends))
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
        drafts = (*_extends(phrase, other), *one(sign, phrase.valued(sign, bends)))
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
    drafts = one("fixed_flexion", phrase.valued("fixed_flexion", degrees))
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


def _ends(text: str, phrase: Phrase) -> Drafts:
    """Return both ends of a range, from one pair of numbers or from "extension 0, flexion 130"."""
    if both := range_deg(text):
        flexion = one("passive_flexion", phrase.valued("passive_flexion", both.flexion_deg))
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
        *one("passive_flexion", phrase.valued("passive_flexion", float(flexed[1] or flexed[2]))),
    )


def _extends(phrase: Phrase, degrees: float | None) -> Drafts:
    return one("passive_extension", phrase.valued("passive_extension", degrees))
