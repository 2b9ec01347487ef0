"""What an earlier visit told as likely and this one does not, though it lasts: both, and from what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from fabella.anatomy import Lesions, Side, load_lesions
from fabella.follow import Told, Undone, told_no_longer
from fabella.protocol import Protocol, load_protocol
from fabella.record import Examination
from fabella.report.gather import readings_of
from fabella.report.reason_words import leading, reason_words, speaking_against, speaking_for
from fabella.report.wording import sentence, written_date
from fabella.stats.written import percentage
from fabella.workup import Workup

LABEL = "Earlier visit"
"""How the letter begins what it says of it, below the conclusion about the knee."""

_MOST_THEN, _MOST_NOW = 3, 2
_LASTS = (
    "It does not go away unnoticed, and no operation or image on record in between explains the difference"
)
_NOT_UNDONE = f"{_LASTS}: one examination does not undo the other"
_OR_IMAGE = f"{_NOT_UNDONE}. Weigh both, or image the knee."
_STATE_IMAGE = f"{_NOT_UNDONE}. Weigh both; the image of then counts now only where it is stated again."


@dataclass(frozen=True, slots=True, kw_only=True)
class UndoneWords:
    """A lesion that was told as likely at an earlier visit and is not now, in words.

    Parameters
    ----------
    side, lesion, day
        Which lesion of which knee, and the day of the visit that told it.
    words
        How likely it was told then and now, from what, and that both are to be weighed.
    """

    side: Side
    lesion: str
    day: date
    words: str


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
    day, then = _told(found.then, found.side, visits, protocol, most=_MOST_THEN, against=False)
    _, now = _told(found.now, found.side, visits, protocol, most=_MOST_NOW, against=True)
    head = sentence(f"{lesions[found.lesion].name}, {found.side} knee: {then}, {now}")
    if _imaged(found.now):
        end = f"{_NOT_UNDONE}. Weigh both."
    else:
        end = _STATE_IMAGE if _imaged(found.then) else _OR_IMAGE
    return UndoneWords(side=found.side, lesion=found.lesion, day=day, words=f"{head} {end}")


def _told(
    told: Told,
    side: Side,
    visits: Sequence[Workup | Examination],
    protocol: Protocol,
    *,
    most: int,
    against: bool,
) -> tuple[date, str]:
    """Return the day of a visit, and what it told: ``95% on 1 October 2026 (for it: Lachman 2+)``."""
    visit = visits[told.visit]
    if not isinstance(visit, Workup):
        raise TypeError("a visit that told a lesion is a workup")
    day = visit.examination.examined_on or date.min
    reasons = speaking_against(told.reasons_against, protocol) if against else speaking_for(told.reasons_for)
    named = leading(reason_words(reasons, side, readings_of(visit), protocol), most)
    why = f"{'against' if against else 'for'} it: {'; '.join(each.words for each in named)}"
    return day, f"{percentage(told.probability)} on {written_date(day)}{f' ({why})' if named else ''}"


def _imaged(told: Told) -> bool:
    """Say whether an image is among the findings for or against a lesion."""
    return any(each.image for each in (*told.reasons_for, *told.reasons_against))
