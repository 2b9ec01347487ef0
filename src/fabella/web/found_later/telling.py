"""What was found later in words, beside what had been told when the visit was signed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from fabella.anatomy import Side, load_lesions
from fabella.hands import ABSENT, Confirmation
from fabella.report.hands_words import METHODS, found_words
from fabella.report.wording import listed, sentence, written_date
from fabella.store.clinic.concluded import Concluded
from fabella.store.clinic.confirming import Confirmed

Told = Mapping[tuple[Side, str], str]
"""By knee and lesion what had been told: ``92%``."""

_NOT_NAMED = "not named"
_FEW = 3  # absent lesions that a line of a list names


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """One lesion that was looked for, with what had been told of it; empty where nothing was kept."""

    words: str
    told: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """One look into one knee in words.

    Parameters
    ----------
    number
        Of the visit's, to be corrected by.
    title
        How, when and which knee.
    there, absent
        What was there, and what was looked for and was not.
    words
        All of it in one sentence, for a list.
    by, note
        Who looked, and what else was said; empty for nothing.
    shown, at
        Who wrote it here, and when.
    standing
        Whether it holds; else it was corrected or withdrawn.
    reason
        Why it takes the place of an earlier one; empty when it does not.
    gone
        Who corrected or withdrew it, when and why; empty while it holds.
    """

    number: int
    title: str
    there: tuple[Found, ...]
    absent: tuple[Found, ...]
    words: str
    by: str
    note: str
    shown: str
    at: datetime
    standing: bool
    reason: str
    gone: str


def told_then(concluded: Concluded | None) -> dict[tuple[Side, str], str]:
    """Return the chance of every lesion that a conclusion names, by knee; nothing where none is kept."""
    told: dict[tuple[Side, str], str] = {}
    for knee in concluded.knees if concluded else ():
        told |= {(knee.side, each.lesion): each.percent for each in knee.others}
        told |= {(knee.side, each.lesion): each.chance.percent for each in knee.lesions}
    return told


def named_then(concluded: Concluded | None) -> tuple[str, ...]:
    """Return the lesions that a conclusion names as likely, of either knee, the likeliest first."""
    named = [each for knee in (concluded.knees if concluded else ()) for each in knee.lesions]
    return tuple(dict.fromkeys(each.lesion for each in sorted(named, key=lambda each: -each.probability)))


def by_lesion(told: Told) -> dict[str, str]:
    """Return for each lesion what had been told of it: ``told as 92% right, 3% left``."""
    knees: dict[str, list[str]] = {}
    for (side, lesion), percent in told.items():
        knees.setdefault(lesion, []).append(f"{percent} {side.value}")
    return {lesion: f"told as {', '.join(each)}" for lesion, each in knees.items()}


def _told(told: Told, side: Side, lesion: str) -> str:
    return told.get((side, lesion), _NOT_NAMED) if told else ""


def looks(kept: tuple[Confirmed, ...], told: Told) -> tuple[Look, ...]:
    """Return all looks of a visit in words, in the order in which they were written."""
    after = {each.replaces: each for each in kept if each.replaces is not None}
    return tuple(
        _look(each, each.confirmation, told, after.get(each.number)) for each in kept if each.confirmation
    )


def _gone(after: Confirmed | None) -> str:
    if after is None:
        return ""
    deed = "Corrected" if after.confirmation else "Withdrawn"
    return sentence(f"{deed} by {after.shown}, {written_date(after.at.astimezone().date())}: {after.reason}")


def _lacking(names: Sequence[str]) -> str:
    if not names:
        return ""
    if len(names) <= _FEW:
        return f"no {listed(names, last='or')}"
    return f"{len(names)} other lesions looked for and absent"


def _look(each: Confirmed, seen: Confirmation, told: Told, after: Confirmed | None) -> Look:
    lesions = load_lesions()
    there = tuple(
        Found(words=found_words(lesion, stated, lesions), told=_told(told, seen.side, lesion))
        for lesion, stated in seen.found.items()
        if stated != ABSENT
    )
    absent = tuple(
        Found(words=lesions[lesion].name, told=told.get((seen.side, lesion), ""))
        for lesion, stated in seen.found.items()
        if stated == ABSENT
    )
    title = f"{METHODS[seen.method]} on {written_date(seen.on)}, {seen.side.value} knee"
    found = "; ".join([one.words for one in there])
    lacking = _lacking([one.words for one in absent])
    return Look(
        number=each.number,
        title=title[:1].upper() + title[1:],
        there=there,
        absent=absent,
        words=sentence(f"{title}: {'; '.join(filter(None, (found, lacking)))}"),
        by=seen.by or "",
        note=seen.note or "",
        shown=each.shown,
        at=each.at,
        standing=after is None,
        reason=each.reason,
        gone=_gone(after),
    )
