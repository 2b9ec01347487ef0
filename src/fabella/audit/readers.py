"""How signs are read that need more than their scale: laxity, patella, menisci, masses, vessels."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Final

from fabella.audit import limb_readers as limb
from fabella.audit import masses
from fabella.audit import motion_readers as moves
from fabella.audit.comfort import reads_motion_pain, reads_resisted
from fabella.audit.motion import bound, first_number, with_unit
from fabella.audit.phrase import NEGATED, Draft, Drafts, Phrase, one
from fabella.audit.values import ABNORMAL, NORMAL, Polarity, Reading, grade, polarity, severity
from fabella.record import Reason, State

_END_POINT = re.compile(r"\b(?:(?:with|and|but|a|no) )*(?:\w+ )?(?:end ?-?points?|end feel)\b")
_SOFT_END = re.compile(
    r"\b(?:soft|empty|absent|mushy|spongy|poor|lax|no|indistinct|vague|lost|without)\b[\w ]* ?end"
)
_PAIN_ONLY = re.compile(
    r"(?:medial |lateral |local |mild |only |slight |severe |very |quite |moderate |rather )*"
    r"(?:pain\w*|tender\w*|discomfort)(?: only| medially| laterally)?"
)
_STRESS_PAIN = {
    "valgus_stress_0": "valgus_stress_pain",
    "valgus_stress_30": "valgus_stress_pain",
    "varus_stress_0": "varus_stress_pain",
    "varus_stress_30": "varus_stress_pain",
}
_ALIKE: Final = re.compile(
    r"\b(?:symmetric\w*|equal\w*|alike|bilateral\w*|(?:on|in) both (?:sides|knees)"
    r"|same (?:as|on|in) (?:the |both )?(?:other|opposite|sides|knees))\b"
)
_BANDS_MM: Final = (3.0, 5.0, 10.0)  # IKDC 2000: grades B, C and D begin at 3, 6 and beyond 10 mm
_NORMAL_QUADRANTS: Final = 2
_REFILL_S: Final = 2.0  # common practice
_FULL_CONSCIOUSNESS: Final = 15


def reads_laxity(phrase: Phrase, sign: str) -> Drafts:
    """Read grades, millimetres, end points and pain of a ligament test.

    Slight laxity that is the same on the other side is that patient's normal (common practice).
    """
    text = phrase.unconditional
    slight = grade(text) == 1 or (grade(text) is None and severity(text) == 1)
    if (
        slight
        and _ALIKE.search(phrase.everything)
        and not re.search(r"\b(?:not|un|a)\W?(?:symmetric|equal)", phrase.everything)
    ):
        return one(sign, NORMAL)
    end = _end_point(text) or (_end_point(phrase.note) if sign == "lachman" else None)
    bare = " ".join(_END_POINT.sub(" ", text).strip(" ,;").split())
    own_end = one("lachman_end_point", end) if sign == "lachman" else ()
    if not bare or bare in {"firm", "soft", "hard", "solid", "good"}:
        return own_end or one(sign, end and replace(end, level=None))
    if pain := _pain_of_stress(bare, phrase.note, sign):
        return pain
    return (*one(sign, _millimetres(phrase, sign, bare) or phrase.words(sign, bare)), *own_end)


def _pain_of_stress(text: str, note: str, sign: str) -> Drafts:
    """Return what pain without laxity says: pain on stress, or a test that pain spoilt."""
    noted = text in {"positive", "present", "pain"} and _PAIN_ONLY.fullmatch(note)
    painful = _PAIN_ONLY.fullmatch(text) or noted
    firm = re.match(r"(?:pain\w*|tender\w*)\b", text) and not painful and polarity(text) is Polarity.GOOD
    said = f"{text}; {note}"
    stable = polarity(text) in {Polarity.GOOD, Polarity.ABSENT} and re.search(r"\bpain(?:s|ful)?\b", said)
    on_stress = _STRESS_PAIN.get(sign)
    if on_stress and painful:
        return (Draft(on_stress, ABNORMAL),)
    if on_stress and (firm or stable) and not re.search(r"\b(?:no|without|not) (?:\w+ )?pain", said):
        return Draft(sign, NORMAL), Draft(on_stress, ABNORMAL)
    if _PAIN_ONLY.fullmatch(text) and not on_stress:
        return (Draft(sign, Reading(state=State.UNTESTABLE, reason=Reason.PAIN)),)
    return ()


def _end_point(text: str) -> Reading | None:
    if _END_POINT.search(text) is None:
        return None
    return Reading(state=State.ABNORMAL, level="soft") if _SOFT_END.search(text) else NORMAL


def _millimetres(phrase: Phrase, sign: str, text: str) -> Reading | None:
    """Return millimetres as a value, a bound ("> 10 mm") as the grade it stands for, degrees as abnormal."""
    opening = with_unit(text, "mm|millimet\\w+")
    if opening is None and (cm := with_unit(text, "cm")) is not None:
        opening = cm * 10
    if opening is None:
        angle = with_unit(text, "deg|degrees")
        return None if angle is None else ABNORMAL if angle else NORMAL
    limit = bound(text)
    if limit is None:
        return phrase.valued(sign, opening)
    way, at = limit
    if way == "below":
        rank = sum(at > band for band in _BANDS_MM)
    else:
        rank = max(1, sum(at >= band for band in _BANDS_MM))
    return NORMAL if rank == 0 else Reading(state=State.ABNORMAL, level=f"{rank}+")


def reads_compartment(phrase: Phrase, sign: str) -> Drafts:
    """Read a sign of both compartments: a medial or lateral result goes to the part it names."""
    phrase = replace(phrase, value=_by_compartment(phrase.value), note=_by_compartment(phrase.note))
    reading = phrase.words(sign)
    if reading is None and phrase.says(r"\b(?:medial|lateral)"):
        reading = ABNORMAL
    if reading is None:
        return ()
    parts = {
        side: part
        for part in phrase.protocol.sign(sign).summary_of
        for side in ("medial", "lateral")
        if side in part
    }
    said = phrase.value if phrase.says(r"\b(?:medial|lateral)") else phrase.note
    named = [part for side, part in parts.items() if re.search(rf"\b{side}(?:ly)?\b", said)]
    if not named and re.search(r"\bboth\b", phrase.everything):
        named = list(parts.values())
    if reading.state is not State.ABNORMAL and said is phrase.note:
        named = []
    return tuple(Draft(part, replace(reading, level=None)) for part in named) or one(sign, reading)


def _by_compartment(text: str) -> str:
    return re.sub(r"\bouter\b", "lateral", re.sub(r"\binner\b", "medial", text))


def reads_aspirate(phrase: Phrase, sign: str) -> Drafts:
    """Read blood drawn from the joint; fat in it may stand in the note alone."""
    fat = re.search(r"\b(?:fat|fatty|lipohaem\w+)\b", phrase.everything)
    reading = phrase.words(sign)
    if reading is None or reading.state is not State.ABNORMAL or fat is None:
        return one(sign, reading)
    denied = NEGATED.search(phrase.everything[: fat.start()])
    return one(sign, reading if denied else replace(reading, level="blood_with_fat"))


def reads_glide(phrase: Phrase) -> Drafts:
    """Read patellar mobility: quadrants, grades, more or less than normal."""
    quadrants = re.search(r"(\d)(?: ?-\d)? ?quadrant", phrase.value) or re.search(
        r"quadrants? (\d)", phrase.value
    )
    more = phrase.says(
        r"\b(?:increas\w*|hyper\w*|excess\w*|lax\w*|loose|positive|unstable|lateral\w*|sublux\w*|dislocat\w*)\b"
    )
    less = phrase.says(r"\b(?:decreas\w*|reduc\w*|stiff|tight|limit\w*|restrict\w*|hypomobile|fixed)\b")
    if quadrants:
        count = int(quadrants[1])
        more, less = count > _NORMAL_QUADRANTS, count < _NORMAL_QUADRANTS
    elif grade(phrase.value):
        more = True
    if not (more or less or quadrants) and polarity(phrase.value) is Polarity.SOFT:
        return ()  # painful is neither much nor little
    if more or less:
        return (Draft("patellar_glide_increased" if more else "patellar_glide_reduced", ABNORMAL),)
    reading = phrase.words("patellar_glide_increased")
    if quadrants is None and reading is None:
        return ()
    if reading is not None and reading.state is State.ABNORMAL:
        return one("patellar_glide_increased", reading)
    return Draft("patellar_glide_increased", NORMAL), Draft("patellar_glide_reduced", NORMAL)


def reads_apprehension(phrase: Phrase) -> Drafts:
    """Read apprehension: the protocol watches for alarm rather than pain, so that pain alone is none."""
    if _PAIN_ONLY.fullmatch(phrase.value) and not re.search(r"\b(?:apprehens|alarm|fear)", phrase.note):
        return one("patellar_apprehension", NORMAL)
    return one("patellar_apprehension", phrase.words("patellar_apprehension"))


def reads_straight_leg_raise(phrase: Phrase) -> Drafts:
    """Read the straight leg raise: able or not is the extensor, positive or negative the nerve root."""
    spinal = r"\b(?:radic\w*|sciatic\w*|nerve|root|back pain|lasegue|radiat\w*)\b"
    extensor = r"\b(?:able|unable|lag\w*|extensor|lift\w*)\b"
    either = re.match(r"(?:positive|negative)\b|[-+]$", phrase.value) and not re.search(
        extensor, phrase.everything
    )
    if either or re.search(spinal, phrase.everything):
        return one("nerve_tension", replace(phrase, good=False).words("nerve_tension"))
    if re.search(r"\d ?deg", phrase.value) and phrase.says(r"\blag"):
        lag = one("extensor_lag", phrase.number("extensor_lag"))
        return (Draft("straight_leg_raise", Reading(state=State.ABNORMAL, level="lag")), *lag)
    return one("straight_leg_raise", phrase.words("straight_leg_raise"))


def reads_refill(phrase: Phrase) -> Drafts:
    """Read "2 s", "< 2 seconds", "brisk", "delayed"."""
    limit, number = bound(phrase.value), first_number(phrase.value)
    if limit is not None:
        way, at = limit
        normal = way == "below" and at <= _REFILL_S + 1
        return one("capillary_refill_s", NORMAL if normal else ABNORMAL)
    if number is not None:
        return one("capillary_refill_s", phrase.number("capillary_refill_s"))
    return one("capillary_refill_s", phrase.words("capillary_refill_s"))


def reads_consciousness(phrase: Phrase) -> Drafts:
    """Read a coma score or words about being awake."""
    item, number = "intoxicated_or_reduced_consciousness", first_number(phrase.value)
    if number is not None:
        return one(item, NORMAL if number >= _FULL_CONSCIOUSNESS else ABNORMAL)
    return one(item, phrase.words(item))


READ: dict[str, Callable[[Phrase, str], Drafts]] = {
    "apprehension": lambda phrase, _: reads_apprehension(phrase),
    "active_range": lambda phrase, _: moves.reads_active_range(phrase),
    "alignment": lambda phrase, _: limb.reads_alignment(phrase),
    "aspirate": reads_aspirate,
    "bow": limb.reads_bow,
    "compartment": reads_compartment,
    "consciousness": lambda phrase, _: reads_consciousness(phrase),
    "deficit": moves.reads_deficit,
    "dial": limb.reads_dial,
    "difference": limb.reads_difference,
    "extension": lambda phrase, _: moves.reads_extension(phrase),
    "flexion": moves.reads_flexion,
    "fluctuation": lambda phrase, _: masses.reads_fluctuation(phrase),
    "glide": lambda phrase, _: reads_glide(phrase),
    "hip_external": lambda phrase, _: limb.reads_hip(phrase, "hip_external_rotation"),
    "hip_flexion": lambda phrase, _: limb.reads_hip_flexion(phrase),
    "hip_internal": lambda phrase, _: limb.reads_hip(phrase, "hip_internal_rotation"),
    "hyperextension": lambda phrase, _: moves.reads_hyperextension(phrase),
    "laxity": reads_laxity,
    "leg_length": lambda phrase, _: limb.reads_leg_length(phrase),
    "mass": masses.reads_mass,
    "motion_pain": lambda phrase, _: reads_motion_pain(phrase),
    "position": lambda phrase, _: moves.reads_position(phrase),
    "range": lambda phrase, _: moves.reads_range(phrase),
    "refill": lambda phrase, _: reads_refill(phrase),
    "resisted": reads_resisted,
    "straight_leg_raise": lambda phrase, _: reads_straight_leg_raise(phrase),
    "temperature": lambda phrase, _: limb.reads_temperature(phrase),
}
"""The reader of each kind of value, by its name in the data."""
