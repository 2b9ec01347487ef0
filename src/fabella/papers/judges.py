"""The judges of Angoff's method in a report: the pass mark of each, how they agree, and who moves it."""

from __future__ import annotations

from collections.abc import Iterator
from math import isnan
from typing import Final

from fabella.assess import Analysis, AngoffRound
from fabella.papers.words import known, with_sign
from fabella.report.wording import counted, listed, sentence

CAPTION: Final = "Judges, pass marks in percent"
_MOST_ROUNDS = 3  # side by side; the last ones
_NAMED = 6  # stations or items with other marks; more are counted
_FEW = 10  # stations or items, below which chance alone makes a high correlation; ours


def judge_rows(found: Analysis) -> tuple[tuple[str, ...], ...]:
    """Return a table of the judges, its header first and their mean last; empty where they set no pass mark.

    A line a judge in the order of the rules, never by severity: the own pass mark in each of the last rounds,
    and of the last one how far it lies off the mean, the pass mark without that judge, and r.
    """
    told = _told(found)[-_MOST_ROUNDS:]
    if not told:
        return ()
    last = told[-1][1]
    cuts = [dict(zip(_names(each), each.judge_cuts, strict=True)) for _, each in told]
    of_last = {
        name: (with_sign(off), known(without, digits=1), known(r))
        for name, off, without, r in zip(
            _names(last), last.severity, last.without, last.consistency, strict=True
        )
    }
    numbered = [f"Round {number}" for number, _ in told] if len(told) > 1 else ["Pass mark"]
    means = (known(each.cut, digits=1) for _, each in told)
    return (
        ("Judge", *numbered, "Off the mean", "Without them", "r"),
        *(
            (
                name,
                *(known(cut[name], digits=1) if name in cut else "–" for cut in cuts),
                *of_last.get(name, ("–",) * 3),
            )
            for name in dict.fromkeys(name for _, each in reversed(told) for name in _names(each))
        ),
        ("Mean", *means, "", "", known(last.consistency_of_mean)),
    )


def judge_words(found: Analysis) -> Iterator[str]:
    """Yield what has to be said of the judges' estimates; nothing where they set no pass mark."""
    told, estimates = _told(found), found.results.rules.estimates
    if not told:
        return
    last, what = told[-1][1], "item" if estimates[-1].by_item else "station"
    of_last = f"Off the mean, without them and r are of round {told[-1][0]}. " if len(told) > 1 else ""
    graded = f"{counted(last.compared, what)} with performances graded borderline"
    if isnan(last.consistency_of_mean):
        yield f"{of_last}How estimates go with marks (r) cannot be told over {graded}."
    else:
        yield (
            f"{of_last}r tells how estimates go with what was earned at {graded}: 1 in step, 0 not at all"
            f"{'; over so few it may be chance' if last.compared < _FEW else ''}. The mean of a published "
            "panel had 0.55 (Goodwin 1999 Appl Meas Educ 12:13-28)."
        )
    if agreement := agreement_words(last):
        yield sentence(agreement)
    yield (
        f"Had other {what}s of the kind been chosen as well, the standard error of the pass mark would be "
        f"{known(last.se_items_random)}%."
    )
    if last.marked_otherwise:
        says = marked_otherwise_words(last.marked_otherwise)
        yield f"{says}: what was estimated is not quite what was marked."
    if informed := [str(number) for number, each in enumerate(estimates, 1) if each.seen_impact]:
        noun = "round" if len(informed) == 1 else "rounds"
        yield f"Before {noun} {listed(informed)} the judges had seen what the round before would do."
    rounds = found.results.pass_mark.rounds
    if left := [str(number) for number, each in enumerate(rounds, 1) if each is None]:
        noun = "Round" if len(left) == 1 else "Rounds"
        yield f"{noun} {listed(left)} had other stations or items than the exam, and cannot be told."


def marked_otherwise_words(names: tuple[str, ...]) -> str:
    """Return that stations or items have other marks than when they were estimated; there is at least one."""
    told = [*names[:_NAMED], f"{len(names) - _NAMED} more"] if len(names) > _NAMED else list(names)
    has, was = ("has", "it was") if len(names) == 1 else ("have", "they were")
    return f"{listed(told)} {has} been given other marks since {was} estimated"


def agreement_words(found: AngoffRound) -> str:
    """Return how judges agree; empty where everything got the same estimate.

    Such as ``agreement ICC(2,k) 0.96 (95% interval 0.90 to 0.99; 1 is full)``; below 0 it has no
    bound, and says no more than that there is none.
    """
    if found.icc_mean is None:
        return ""
    if found.icc_mean.estimate < 0:
        return "agreement ICC(2,k) below 0: they do not agree"
    low = known(found.icc_mean.low) if found.icc_mean.low >= 0 else "below 0"
    interval = f"95% interval {low} to {known(found.icc_mean.high)}; 1 is full"
    return f"agreement ICC(2,k) {known(found.icc_mean.estimate)} ({interval})"


def _names(found: AngoffRound) -> list[str]:
    """Return the judges' codes, those that stand twice with their number: ``Ada``, ``Ada (2)``."""
    return [
        f"{name} ({before + 1})" if (before := found.judges[:place].count(name)) else name
        for place, name in enumerate(found.judges)
    ]


def _told(found: Analysis) -> list[tuple[int, AngoffRound]]:
    """Return the rounds that can be told, with their numbers from 1."""
    rounds = found.results.pass_mark.rounds
    return [(number, each) for number, each in enumerate(rounds, 1) if each is not None]
