"""Signed visits worked up as they were signed, each once for as long as the server runs, and audited."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from fabella.evidence.knowledge import load_knowledge
from fabella.hands import Confirmation, OwnHands, audit
from fabella.store.clinic.own_visits import OwnVisit
from fabella.store.remembered import Remembered
from fabella.web.elsewhere import computed, when_computed
from fabella.web.hands.working_up import Signed, work_up
from fabella.workup import Workup

AT_ONCE, AWAITED = 12, 6
"""How many visits are worked up in one go, and for how many a page is kept waiting: some 80 ms each."""

MOST = 3000
"""The latest visits that are judged, and so many workups are kept: a few kB each, some 50 with a look."""

_kept: Remembered[Signed, Workup] = Remembered(MOST)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What has come of it: ``done`` of ``of`` visits are worked up; ``hands`` is None until all are."""

    hands: OwnHands | None
    done: int
    of: int


def judge(visits: Sequence[OwnVisit]) -> Judged:
    """Return own hands from own visits, or how far that is.

    A signed file never changes, so that its workup is made once a program version; it is made with the
    edition of the evidence that it was signed with, so that what was told then is judged. Some are worked up
    at each call, elsewhere where there are other processes, until all are.
    """
    visits = visits[-MOST:]
    signed = [Signed(each.sha256, each.edition, bool(each.found), each.file) for each in visits]
    missing = tuple(dict.fromkeys(each for each in signed if _kept.get(each) is None))
    if missing:
        some = missing[:AT_ONCE]
        made = computed(work_up, some) if len(missing) <= AWAITED else when_computed(work_up, some)
        for each, workup in zip(some, made or (), strict=False):
            _kept.put(each, workup)
    workups = [_kept.get(each) for each in signed]
    there = [each for each in workups if each is not None]
    if len(there) < len(signed):
        return Judged(hands=None, done=len(there), of=len(signed))
    return Judged(
        hands=audit(there, looks_into(visits), knowledge=load_knowledge()),
        done=len(there),
        of=len(there),
    )


def looks_into(visits: Sequence[OwnVisit]) -> list[Confirmation]:
    """Return everything that was found later, and for each visit what was known before it.

    An audit leaves out a knee that had been looked into when it was examined.
    """
    found = [found.confirmation for each in visits for found in each.found if found.confirmation]
    return [*found, *(replace(look, examination=each.examination) for each in visits for look in each.known)]
