"""What an earlier visit told as likely and this one does not, though it lasts: both, and from what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from fabella.anatomy import Lesions, Side, load_lesions
from fabella.follow import Told, Undone, told_no_longer
from fabella.protocol import Protocol, load_protocol
from fabella.record import Examination, State
from fabella.report.gather import readings_of
from fabella.report.reason_words import (
    ReasonWords,
    leading,
    reason_words,
    speaking_against,
    speaking_for,
)
from fabella.report.wording import listed, lowered, sentence, written_date
from fabella.stats.written import percentage
from fabella.workup import Reason, Workup

LABEL = "Earlier visit"
"""How the letter begins what it says of it, below the conclusion about the knee."""

_MOST_THEN, _MOST_NOW = 3, 2
_LASTS = (
    "It does not go away unnoticed, and no operation or image on record in between explains the difference"
)
_NOT_UNDONE = f"{_LASTS}: one examination does not undo the other."
_BOTH = "Weigh both."
_OR_IMAGE = "Weigh both, or image the knee."
_STATE_IMAGE = "Weigh both; the image of then counts now only where it is stated again."


@dataclass(frozen=True, slots=True, kw_only=True)
class UndoneWords:
    """A lesion that was told as likely at an earlier visit and is not now, in words.

    Parameters
    ----------
    side, lesion, day
        Which lesion of which knee, and the day of the visit that told it.
    words
        How likely it was told then and now, from what, and that both are to be weighed.
    name, numbers
        Lesion and knee, and how likely it was told then and is while the examination goes on.
    to_do
        That both are to be weighed, or the knee imaged.
    open
        What told it then most and has not been looked at now, each by its name; empty for none.
    """

    side: Side
    lesion: str
    day: date
    words: str
    name: str
    numbers: str
    to_do: str
    open: str


def no_longer_told(workup: Workup, earlier: Sequence[Workup | Examination]) -> tuple[UndoneWords, ...]:
    """Return what earlier visits told as likely and this one does not; of those that are workups.

    Raises `InputError` for an earlier visit of another patient or without a day.
    """
    before = [each for each in earlier if isinstance(each, Workup)]
    visits = (*sorted(before, key=lambda each: each.examination.examined_on or date.min), workup)
    found = told_no_longer(visits) if before else ()
    return undone_words(found, visits, protocol=load_protocol(), lesions=load_lesions())


def undone_words(
    found: Sequence[Undone], visits: Sequence[Workup | Examination], *, protocol: Protocol, lesions: Lesions
) -> tuple[UndoneWords, ...]:
    """Return them in words; ``visits`` are those that were followed, in the same order."""
    return tuple(_words(each, visits, protocol, lesions) for each in found)


def _words(
    found: Undone, visits: Sequence[Workup | Examination], protocol: Protocol, lesions: Lesions
) -> UndoneWords:
    side, then, now = found.side, _workup(found.then, visits), _workup(found.now, visits)
    told_for = _named(speaking_for(found.then.reasons_for), side, then, protocol, most=_MOST_THEN)
    against = speaking_against(found.now.reasons_against, protocol)
    told_against = _named(against, side, now, protocol, most=_MOST_NOW)
    name = f"{lesions[found.lesion].name}, {side} knee"
    day, likely = _day(then), f"{percentage(found.then.probability)} on {written_date(_day(then))}"
    unlikely = percentage(found.now.probability)
    head = sentence(
        f"{name}: {likely}{_because('for', told_for)}, "
        f"{unlikely} on {written_date(_day(now))}{_because('against', told_against)}"
    )
    to_do = _BOTH if _imaged(found.now) else _STATE_IMAGE if _imaged(found.then) else _OR_IMAGE
    is_last = found.now.visit == len(visits) - 1  # else this knee has not been examined since
    last = visits[-1].examination if isinstance(visits[-1], Workup) else visits[-1]
    open_yet = [each.sign for each in told_for if not _is_seen(last, each.sign, side)]
    return UndoneWords(
        side=side,
        lesion=found.lesion,
        day=day,
        words=f"{head} {_NOT_UNDONE} {to_do}",
        name=sentence(name).removesuffix("."),
        numbers=f"{likely}, {unlikely} {'so far' if is_last else f'on {written_date(_day(now))}'}",
        to_do=to_do,
        open=listed([lowered(protocol.sign(each).name) for each in open_yet if each in protocol]),
    )


def _workup(told: Told, visits: Sequence[Workup | Examination]) -> Workup:
    """Return the visit that told something."""
    visit = visits[told.visit]
    if not isinstance(visit, Workup):
        raise TypeError("a visit that told a lesion is a workup")
    return visit


def _day(visit: Workup) -> date:
    return visit.examination.examined_on or date.min


def _named(
    reasons: Sequence[Reason], side: Side, visit: Workup, protocol: Protocol, *, most: int
) -> tuple[ReasonWords, ...]:
    return leading(reason_words(reasons, side, readings_of(visit), protocol), most)


def _because(which: str, named: Sequence[ReasonWords]) -> str:
    return f" ({which} it: {'; '.join(each.words for each in named)})" if named else ""


def _is_seen(examination: Examination, sign: str, side: Side) -> bool:
    """Say whether a visit tells anything of a sign of a knee, or of the person."""
    found = examination.finding(sign, side) or examination.finding(sign, None)
    return sign in examination.history or (
        found is not None and (found.value is not None or found.state is not State.NOT_EXAMINED)
    )


def _imaged(told: Told) -> bool:
    """Say whether an image is among the findings for or against a lesion."""
    return any(each.image for each in (*told.reasons_for, *told.reasons_against))
