"""What earlier visits came to, worked out as far as following a patient asks, and held against one of now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.follow import lightened, tells_lasting
from fabella.record import Examination
from fabella.report.undone_words import UndoneWords, no_longer_told
from fabella.web.concluding import workup_in_place
from fabella.web.elsewhere import all_computed, computed, in_turn
from fabella.workup import Workup, run_workup


def followed(visits: Sequence[Examination]) -> tuple[Workup, ...]:
    """Return visits with their conclusions, those at which neither knee was examined as well.

    Nothing of it is kept on disk: today's program and evidence conclude, and a process remembers what it has
    computed until it ends.
    """
    return _of_each(visits, all_computed(_followed, tuple(map(_unsigned, visits))))


def anticipate_followed(visits: Sequence[Examination]) -> None:
    """Begin what `weigh_both` will ask for in a moment."""
    in_turn(_followed, tuple(map(_unsigned, visits)))


def weigh_both(examination: Examination, earlier: Sequence[Examination]) -> tuple[UndoneWords, ...] | None:
    """Return what earlier visits told as likely and this one does not as yet, though it lasts.

    None while earlier visits are being worked out: nobody who examines waits for them.
    """
    found = in_turn(_followed, tuple(map(_unsigned, earlier)))
    if found is None:
        return None
    before = _of_each(earlier, found)
    if not any(map(tells_lasting, before)):
        return ()
    return no_longer_told(computed(_followed_now, examination), before)


def _unsigned(visit: Examination) -> Examination:
    """Return a visit by whomever it was signed: that changes nothing of what it comes to."""
    return replace(visit, examiner=None)


def _of_each(visits: Sequence[Examination], found: Sequence[Workup]) -> tuple[Workup, ...]:
    return tuple(replace(workup, examination=visit) for visit, workup in zip(visits, found, strict=True))


def _followed(examination: Examination) -> Workup:
    return lightened(run_workup(examination))


def _followed_now(examination: Examination) -> Workup:
    return lightened(workup_in_place(examination))
