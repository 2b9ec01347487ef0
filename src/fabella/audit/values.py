"""From the words of a value to what they say of a sign: state, level, and why it could not be tested."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from fabella.audit.words import load, pattern
from fabella.protocol import Kind, Sign
from fabella.record import Reason, State

_ROMAN = {"i": 1, "ii": 2, "iii": 3, "iv": 4}
_GRADE = re.compile(
    r"\b(?:grade|gr|stage|degree|type)\s*(?P<word>[0-4]|iv|i{1,3})\b|(?<![\d./])(?P<plus>[0-4])\s*\+"
    r"|(?<![\d./])(?P<letter>[1-3])[ab]\b"
    r"|\b(?P<ordinal>[1-3])(?:st|nd|rd) degree|(?<![\w+])(?P<pluses>\+{1,4})(?![\w+])"
    r"|(?<![\w+])\+(?P<ahead>[1-4])(?![\w.])(?! ?(?:deg|°|[cm]m\b))"
    r"|^(?P<alone>[0-4]|iv|i{1,3})(?:/[34])?$"
)
_TIME = re.compile(
    r"\b(?:(?:at|after|by|for|in|within|over|from) )?(?:about |approximately )?"
    r"(?:\d+(?:\.\d+)?|one|two|three|four|six) ?"
    r"(?:weeks?|days?|months?|years?|hours?|hrs?|wks?|mo)\b(?: (?:later|after(?: injury)?|ago|post\w*))?"
)
_NOT_THE_KNEE = re.compile(
    r"[,;]?(?: (?:but|and))? \b(?:not|none|no pain|nothing) (?:in|at|over|on) the knee\b"
)
_ELSEWHERE = ("hip_", "groin_", "back_", "ankle_")
_TENDER_SIGNS = ("tenderness", "joint_line", "bony_tenderness")
_THREE_AT_MOST = 3


class Polarity(StrEnum):
    """What the words amount to before it is known whether the sign names health or harm."""

    GOOD = "good"
    BAD = "bad"
    SOFT = "soft"
    PRESENT = "present"
    ABSENT = "absent"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What a value says: a state, perhaps with a level, a number in the sign's unit, or a reason."""

    state: State | None = None
    level: str | None = None
    value: float | None = None
    reason: Reason | None = None


NOT_EXAMINED = Reading(state=State.NOT_EXAMINED)
NORMAL = Reading(state=State.NORMAL)
ABNORMAL = Reading(state=State.ABNORMAL)


@dataclass(frozen=True, slots=True, eq=False)
class Phrases:
    """The phrases of ``case_values.toml``, as patterns."""

    not_done: re.Pattern[str]
    untestable: re.Pattern[str]
    undecided: re.Pattern[str]
    provoking: re.Pattern[str]
    hindered: re.Pattern[str]
    alone: re.Pattern[str]
    limits: re.Pattern[str]
    limited_signs: frozenset[str]
    reasons: tuple[tuple[Reason, re.Pattern[str]], ...]
    words: Mapping[Polarity, re.Pattern[str]]
    denied: re.Pattern[str]
    noiseless: re.Pattern[str]
    failed: re.Pattern[str]
    unfound: re.Pattern[str]
    leading: re.Pattern[str]
    severity: tuple[tuple[int, re.Pattern[str]], ...]
    scales: Mapping[str, tuple[str, ...]]
    levels: Mapping[str, tuple[tuple[str, re.Pattern[str]], ...]]


@cache
def phrases() -> Phrases:
    """Read ``case_values.toml``."""
    raw = load("case_values.toml")
    no = "(no|not|without|nil|non|never|denies|denied|neither|nor|free of|absence of)"
    worse = [each for kind in ("bad", "soft") for each in raw[kind]["words"]]
    return Phrases(
        not_done=pattern(raw["not_done"]["words"]),
        untestable=pattern(raw["untestable"]["words"]),
        undecided=pattern(raw["untestable"]["undecided"]),
        provoking=pattern(raw["untestable"]["provoking"]),
        hindered=pattern(raw["untestable"]["hindered"]),
        alone=pattern(raw["untestable"]["alone"]),
        limits=pattern(raw["untestable"]["limits"]),
        limited_signs=frozenset(raw["untestable"]["limited_signs"]),
        reasons=tuple((Reason(row["is"]), pattern(row["words"])) for row in raw["reason"]),
        words={kind: pattern(raw[kind]["words"] + raw[kind].get("signs", [])) for kind in Polarity},
        denied=pattern([f"{no} ~ {each}" for each in worse] + [f"non-{bad}" for bad in raw["bad"]["words"]]),
        noiseless=pattern(f"{no} ~ {each}" for each in raw["soft"]["noises"]),
        failed=pattern(
            f"(no|not|never|lack of|lacks|without|absent|nearly|almost) ~ {each}"
            for each in raw["good"]["words"]
        ),
        unfound=pattern(
            f"(no|not|never|nor) ~ {each}" for each in raw["present"]["words"] if "~" not in each
        ),
        leading=re.compile(rf"^(?:{pattern(raw['absent']['leading']).pattern})"),
        severity=tuple((int(degree), pattern(words)) for degree, words in raw["severity"].items()),
        scales={scale: tuple(levels) for scale, levels in raw["scales"].items()},
        levels={
            sign: tuple((level, pattern(words)) for level, words in levels.items())
            for sign, levels in raw["levels"].items()
        },
    )


def without_times(text: str) -> str:
    """Return a text without phrases of time, so that their numbers are not read."""
    return " ".join(_TIME.sub(" ", text).split())


def untested(value: str, note: str, sign: Sign, *, fresh: bool) -> Reading | None:
    """Return that a sign was not examined or could not be tested, with the reason, or None when it was.

    A stress test of a ``fresh`` injury that could not be assessed, without a word why, was left for pain
    (common practice); one that was negative against guarding, as the note says, is none.
    """
    said = phrases()
    why = next((reason for reason, words in said.reasons if words.search(f"{value}; {note}")), None)
    hidden = sign.stress_test and said.hindered.search(note) and polarity(value) in {"good", "absent"}
    if said.not_done.search(value):
        return NOT_EXAMINED if why is None else Reading(state=State.UNTESTABLE, reason=why)
    if said.undecided.search(value) or hidden:
        return Reading(state=State.UNTESTABLE, reason=(hidden and why) or Reason.OTHER)
    prevented = value if not said.words[Polarity.BAD].match(value) else f"{value}; {note}"
    provoked = sign.kind is Kind.TEST and (said.provoking.search(value) or _not_possible(value, sign))
    if not provoked and not said.untestable.search(prevented):
        return None
    if sign.id in said.limited_signs and said.limits.search(prevented):
        return None
    otherwise = Reason.PAIN if sign.stress_test and fresh else Reason.OTHER
    return Reading(state=State.UNTESTABLE, reason=why or otherwise)


def _not_possible(value: str, sign: Sign) -> bool:
    """Say whether "unable" is all that is said of a test on whose scale that is no result."""
    said = phrases()
    own = any(words.search(value) for _, words in said.levels.get(sign.id, ()))
    first = re.split(r"[,;]", value)[0].strip()
    return not own and sign.id not in said.limited_signs and said.alone.fullmatch(first) is not None


def polarity(text: str) -> Polarity | None:
    """Return what the words of a value amount to, or None when none of them is known."""
    said = phrases()
    if said.words[Polarity.SOFT].search(loud := said.noiseless.sub(" ", text)):
        text = loud
    text = said.denied.sub(" good ", text)
    text = said.failed.sub(" abnormal ", text)
    text = said.leading.sub("absent", said.unfound.sub(" absent ", text).strip())
    order = (Polarity.BAD, Polarity.GOOD, Polarity.ABSENT, Polarity.SOFT, Polarity.PRESENT)
    found = next((kind for kind in order if said.words[kind].search(text)), None)
    return Polarity.PRESENT if found is None and severity(text) else found


def severity(text: str) -> int | None:
    """Return how much the words say, 1 (slight) to 3 (severe), or None."""
    return next((degree for degree, words in phrases().severity if words.search(text)), None)


def grade(text: str) -> int | None:
    """Return the first grade that a text states, 0 to 4, or None; of a range the lower one is sure."""
    found = _GRADE.search(text)
    if found is None:
        return None
    if found["pluses"]:
        return len(found["pluses"])
    ways = ("word", "plus", "letter", "ordinal", "ahead", "alone")
    stated = next(found[way] for way in ways if found[way])
    return _ROMAN[stated] if stated in _ROMAN else int(stated)


def read_words(
    text: str, sign: Sign, *, good: bool = False, level: str | None = None, note: str = ""
) -> Reading | None:
    """Return what a value says of a sign, or None when its words are not known.

    Parameters
    ----------
    text, note
        `plain` texts; the note only tells how much.
    good
        Whether the name speaks of health, so that "positive" is normal.
    level
        The level that a plain "positive" stands for.
    """
    text = without_times(text)
    if sign.id.startswith(_ELSEWHERE):  # what is denied of the knee says nothing of the hip
        text = _NOT_THE_KNEE.sub("", text)
    if sign.id.startswith(_TENDER_SIGNS) and re.search(r"\bnon ?-?tender|\bnot (?:\w+ )?tender", text):
        return NORMAL
    stated = phrases().denied.sub(" good ", text)
    denied = not good and phrases().words[Polarity.ABSENT].fullmatch(text)
    for own, words in () if denied else phrases().levels.get(sign.id, ()):
        if words.search(stated):
            return _at(sign, own)
    degree = grade(text)
    if degree == 0:
        return NORMAL
    kind = Polarity.BAD if degree else polarity(text)
    if kind is None:
        return None
    if _is_normal(kind, good=good):
        return NORMAL
    if good and kind is Polarity.ABSENT and sign.scale.levels and level is None:
        return _at(sign, sign.scale.levels[-1].id)
    how_much = degree or severity(text) or _severity_of_note(note)
    return Reading(state=State.ABNORMAL, level=level or _degree(text, sign, how_much))


def _is_normal(kind: Polarity, *, good: bool) -> bool:
    return kind is Polarity.GOOD or kind is (Polarity.PRESENT if good else Polarity.ABSENT)


def _at(sign: Sign, level: str) -> Reading:
    return Reading(state=State.ABNORMAL, level=level) if sign.level(level).rank else NORMAL


def _degree(text: str, sign: Sign, how_much: int | None) -> str | None:
    """Return the level for a degree, on scales that are a matter of more or less."""
    scale = " ".join(level.id for level in sign.scale.levels)
    if "trace" in scale.split() and re.search(r"\btrace\b", text):
        return "trace"
    degrees = phrases().scales.get(scale)
    if degrees is None or how_much is None:
        return None
    return degrees[min(how_much, _THREE_AT_MOST) - 1] or None


def _severity_of_note(note: str) -> int | None:
    """Return how much a note says where one of its parts says nothing else: "mild, above the patella"."""
    for part in re.split(r"[,;]", note):
        words = part.split()
        if 0 < len(words) <= len(("very", "mild")) and (severity(part) or grade(part.strip())):
            return severity(part) or grade(part.strip()) or None
    return None
