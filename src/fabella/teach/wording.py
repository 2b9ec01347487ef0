"""The debrief in words, for page and terminal alike; sentences stand in ``debrief.toml``."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fabella.anatomy import Side, load_lesions
from fabella.flags import load_rules
from fabella.packaged import packaged_table
from fabella.protocol import Protocol, Sign, load_protocol
from fabella.report.step_words import doing
from fabella.report.wording import lowered, signed
from fabella.teach.conduct import Check
from fabella.teach.misreading import Misread
from fabella.teach.next_time import Lesson, Topic
from fabella.teach.rarity import Rarity
from fabella.teach.repetition import Item, ItemKind
from fabella.teach.run import Door

CAUTION = (
    "Practising on real people needs their consent and supervision; "
    "painful tests are shown here, not encouraged."
)

_SETTINGS = {
    "primary_care": "the practice",
    "emergency": "the emergency department",
    "sports_clinic": "the sports clinic",
    "specialist_clinic": "the knee clinic",
}
_CHILD_YEARS = 16


def _words() -> Mapping[str, Any]:
    return packaged_table("teach/data/debrief.toml")


def door_words(door: Door) -> str:
    """Return what stands on the door: ``A 24-year-old man comes to the knee clinic with his right knee.``."""
    female = door.sex.value == "female"
    child = door.age_years < _CHILD_YEARS
    who = ("girl" if female else "boy") if child else ("woman" if female else "man")
    article = "An" if str(int(door.age_years)).startswith(("8", "11", "18")) else "A"
    where, whose = _SETTINGS[door.setting.value], "her" if female else "his"
    return f"{article} {door.age_years:g}-year-old {who} comes to {where} with {whose} {door.side} knee."


def clock_words(seconds: float) -> str:
    """Return seconds as minutes and seconds: ``3:07``."""
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"


def sign_words(sign_id: str, side: Side | None = None) -> str:
    """Return the name of a sign and its side: ``Lachman test, right``."""
    name = load_protocol().sign(sign_id).name
    return name if side is None else f"{name}, {side}"


def conduct_words(check: Check) -> str:
    """Return one point of conduct as a sentence; empty where it could not come up."""
    if check.kept is None:
        return ""
    return str(_words()["conduct"][check.id][0 if check.kept else 1])


def share_words(check: Check) -> str:
    """Return how often a point of conduct that is counted was kept as a sentence; empty for the others."""
    if check.share is None or check.kept is None:
        return ""
    if check.share in (0.0, 1.0):
        return "Each time." if check.share else "You never did."
    return f"You did in {check.share:.0%} of the chances."


def habit_words(habit: str, *, kept: bool) -> str:
    """Return a habit as a sentence: that it was kept, or what to do."""
    words = _words()
    return str((words["habit"] | words["conduct"])[habit][0 if kept else 1])


def item_words(item: Item, *, protocol: Protocol) -> str:
    """Return what comes again: the name of a sign, or what to do to keep a habit."""
    if item.kind is ItemKind.KEEP:
        return habit_words(item.about, kept=False)
    return protocol.sign(item.about).name


def bits_words(bits: float) -> str:
    """Return what a finding was worth with its sign: ``+1.6``, ``−0.2``."""
    return f"{bits:+.1f}".replace("-", "−")


def lesion_words(lesion: str, level: str | None) -> str:
    """Return a lesion with its degree where it has degrees: ``medial meniscus tear (displaced, locking)``."""
    known = load_lesions()[lesion]
    if level is None or len(known.levels) == 1:
        return known.name
    degree = known.level(level).words.replace(" (", ", ").replace(")", "")
    return f"{known.name} ({degree})"


def rarity_words(rarest: Rarity) -> str:
    """Return how rare a lesion is at somebody's age as a sentence."""
    named = lesion_words(rarest.lesion, rarest.level)
    return (
        f"{named[0].upper()}{named[1:]} is very rare at {rarest.age_years:g} years: the model expects it in "
        f"{_one_of(rarest.chance)} knees that come like this one, at {rarest.usual_age_years:g} years in "
        f"{_one_of(rarest.usual_chance)}."
    )


def _one_of(chance: float) -> str:
    """Return a chance to two digits: ``1 of 1,600``, ``1 of 90``."""
    return f"1 of {float(f'{1 / chance:.2g}'):,.0f}"


def lesson_words(lesson: Lesson, *, protocol: Protocol) -> str:
    """Return the one thing to practise next."""
    about = lesson.about
    match lesson.topic:
        case Topic.CONSENT | Topic.COURTESY | Topic.ORDER:
            about = lowered(str(_words()["conduct"][about][1]))
        case Topic.MISSED_ALARM:
            about = lowered(load_rules()[about].name)
        case Topic.TOO_SURE | Topic.TOO_UNSURE:
            about = load_lesions()[about].name
        case Topic.LEFT_OUT | Topic.UNCHECKED:
            about = doing(protocol.sign(about))
        case _ if about in protocol:
            about = lowered(protocol.sign(about).name)
    return str(_words()["lesson"][lesson.topic.value]).format(about=about)


def slip_words(slip: Misread, *, protocol: Protocol) -> str:
    """Return one slip: ``Lachman test, right: showed 2+ (clear), recorded as normal``."""
    sign = protocol.sign(slip.sign)
    text = str(_words()["slip"][slip.slip.value])
    told = text.format(shown=result_words(sign, slip.shown), recorded=result_words(sign, slip.recorded))
    told = told.replace("showed yes", "was there").replace("recorded as yes", "recorded as there")
    return f"{sign_words(slip.sign, slip.side)}: {told}"


def result_words(sign: Sign, result: str | float | None) -> str:
    """Return what a sign showed or was recorded as: the words of a level, a reading with its unit."""
    if result is None:
        return "not testable"
    if isinstance(result, str):
        return next((each.words for each in sign.scale.levels if each.id == result), result)
    unit = sign.scale.measure.unit.value if sign.scale.measure is not None else ""
    return signed(sign.id, result, unit).replace("\u00a0", " ")
