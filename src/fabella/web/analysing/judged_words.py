"""Rounds of judges' estimates in words: what each comes to by the weights of the exam, and who is severe."""

from __future__ import annotations

from dataclasses import dataclass, replace

from fabella.assess import Estimates, angoff
from fabella.web.analysing.estimates_table import ITEMS, STATIONS, lines_of
from fabella.web.analysing.freezing import rules_of
from fabella.web.analysing.weights import shares_of
from fabella.web.examining.drafting import Draft


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """One round: its number, from 1, of what, what it comes to, and each judge with their own pass mark.

    ``fits`` is false where it does not name the stations or items that the exam has now.
    """

    number: int
    of: str
    words: str
    judges: tuple[tuple[str, str], ...]
    fits: bool


def rounds_of(draft: Draft) -> tuple[Round, ...]:
    """Return every round of estimates that the rules of an exam hold."""
    return tuple(_round(draft, number, each) for number, each in enumerate(rules_of(draft).estimates, 1))


def estimated(estimates: Estimates) -> str:
    """Return what was estimated, stations or items."""
    return ITEMS if all("/" in each for each in estimates.items) else STATIONS


def _round(draft: Draft, number: int, estimates: Estimates) -> Round:
    of = estimated(estimates)
    worth = _worth(draft, of)
    what = f"{len(estimates.judges)} judges, {len(estimates.items)} {of}"
    if set(worth) != set(estimates.items):
        words = f"{what}; they are not those of the exam any more, and have to be estimated anew"
        return Round(number=number, of=of, words=words, judges=(), fits=False)
    found = angoff(replace(estimates, max_mark=tuple(worth[each] for each in estimates.items)))
    agreement = f"; agreement ICC(2,k) {_agreed(found.icc_mean.estimate)}" if found.icc_mean else ""
    impact = "; they had seen what the round before would do" if estimates.seen_impact else ""
    return Round(
        number=number,
        of=of,
        words=f"{what}: pass mark {found.cut:.1f}%, standard error {found.se:.1f}%{agreement}{impact}",
        judges=tuple(
            (judge, f"{cut:.1f}%") for judge, cut in zip(estimates.judges, found.judge_cuts, strict=True)
        ),
        fits=True,
    )


def _agreed(icc: float) -> str:
    """Return an agreement; below 0 it has no bound, and says no more than that there is none."""
    return f"{icc:.2f}" if icc >= 0 else "below 0: they do not agree"


def _worth(draft: Draft, of: str) -> dict[str, float]:
    """Return what each line counts of the exam [%]."""
    share = shares_of(draft)
    if of == STATIONS:
        return share
    most = {each.id: each.most for each in draft.stations}
    return {
        line.code: share[station] * line.worth / most[station]
        for line in lines_of(draft.stations, ITEMS)
        for station in (line.code.partition("/")[0],)
    }
