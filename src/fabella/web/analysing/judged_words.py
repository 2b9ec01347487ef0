"""Rounds of judges' estimates in words: what each comes to by the weights of the exam, and who is severe."""

from __future__ import annotations

from dataclasses import dataclass

from fabella.assess import Estimates, angoff, marked_otherwise, worth_of
from fabella.errors import InputError
from fabella.exam import blueprint_of
from fabella.papers.judges import agreement_words, marked_otherwise_words
from fabella.papers.words import with_sign
from fabella.report.wording import listed
from fabella.web.analysing.annulled import annulled_of
from fabella.web.analysing.estimates_table import ITEMS, STATIONS
from fabella.web.analysing.freezing import rules_of
from fabella.web.analysing.weights import weights_of
from fabella.web.examining.drafting import Draft


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """One judge of a round: own pass mark, how far it lies off the mean, and the pass mark without them."""

    judge: str
    cut: str
    off: str
    without: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """One round: its number, from 1, of what, what it comes to, and its judges.

    ``fits`` is false where it does not name the stations or items that the exam has now.
    """

    number: int
    of: str
    words: str
    judges: tuple[Judged, ...]
    fits: bool


def rounds_of(draft: Draft) -> tuple[Round, ...]:
    """Return every round of estimates that the rules of an exam hold."""
    return tuple(_round(draft, number, each) for number, each in enumerate(rules_of(draft).estimates, 1))


def estimated(estimates: Estimates) -> str:
    """Return what was estimated, stations or items."""
    return ITEMS if estimates.by_item else STATIONS


def _counting(draft: Draft) -> list[int] | None:
    """Return the positions of the stations that are not annulled; None, as for all, where all are."""
    annulled = annulled_of(draft)
    return [place for place, each in enumerate(draft.stations) if each.id not in annulled] or None


def _round(draft: Draft, number: int, estimates: Estimates) -> Round:
    of = estimated(estimates)
    what = f"{len(estimates.judges)} judges, {len(estimates.items)} {of}"
    try:
        blueprint = blueprint_of(draft.stations, weights=weights_of(draft))
        worth = worth_of(blueprint, estimates, held=_counting(draft))
        otherwise = marked_otherwise(blueprint, estimates)
    except InputError:
        words = f"{what}; they are not those of the exam any more, and have to be estimated anew"
        return Round(number=number, of=of, words=words, judges=(), fits=False)
    found = angoff(estimates, worth=worth)
    agreement = agreement_words(found)
    told = [f"{what}: pass mark {found.cut:.1f}%, standard error {found.se:.1f}%", agreement]
    if estimates.seen_impact:
        told.append("they had seen what the round before would do")
    if annulled := [draft.titles[each] for each in annulled_of(draft)]:
        told.append(f"{listed(annulled)}, annulled, count{'s' if len(annulled) == 1 else ''} nothing")
    if otherwise:
        told.append(f"{marked_otherwise_words(otherwise)}, and should be estimated anew")
    return Round(
        number=number,
        of=of,
        words="; ".join(filter(None, told)),
        judges=tuple(
            Judged(judge=judge, cut=f"{cut:.1f}%", off=with_sign(off), without=f"{without:.1f}%")
            for judge, cut, off, without in zip(
                found.judges, found.judge_cuts, found.severity, found.without, strict=True
            )
        ),
        fits=True,
    )
