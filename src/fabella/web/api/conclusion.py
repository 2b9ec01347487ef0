"""The live conclusion as JSON: the letter's words, and the numbers, reasons and sources behind them."""

from __future__ import annotations

from dataclasses import asdict

from fabella.protocol import Protocol
from fabella.report.answer import Tree, number, reason_tree, step_tree
from fabella.report.conclusion_words import KneeWords, LesionWords
from fabella.report.reason_words import speaking_against
from fabella.store.clinic.concluded import Concluded
from fabella.workup import KneeConclusion, LesionProbability, Workup


def live_tree(concluded: Concluded, workup: Workup, protocol: Protocol) -> Tree:
    """Return everything concluded, cannot-wait first."""
    advice = workup.advice
    return {
        "edition": workup.edition,
        "program": workup.version,
        "cannot_wait": [asdict(each) for each in concluded.urgent],
        "not_excluded": [asdict(each) for each in concluded.unsettled],
        "not_excluded_more": concluded.unsettled_more,
        "knees": [_knee(words, workup, protocol) for words in concluded.knees],
        "nothing_said": concluded.nothing_said,
        "grounding": concluded.grounding,
        "next": [step_tree(each) for each in (*advice.first, *advice.bedside, *advice.images)]
        if advice
        else [],
        "enough": advice.enough if advice else None,
        "deferred": advice.deferred if advice else None,
        "unsettled": advice.unsettled if advice else None,
        "withheld": list(concluded.plan.withheld),
        "failures": list(concluded.failures),
    }


def _knee(words: KneeWords, workup: Workup, protocol: Protocol) -> Tree:
    conclusion = workup.conclusion
    knee = None if conclusion is None else conclusion.knee(words.side)
    return {
        "side": words.side.value,
        "verdict": words.verdict,
        "lesions": [_lesion(each, _entry(knee, each.lesion), protocol) for each in words.lesions],
        "fits_too": words.fits_too,
        "poor_fit": words.poor_fit,
        "look_again": words.look_again,
    }


def _entry(knee: KneeConclusion | None, lesion: str) -> LesionProbability | None:
    return next((each for each in knee.any_level() if each.lesion == lesion), None) if knee else None


def _lesion(words: LesionWords, entry: LesionProbability | None, protocol: Protocol) -> Tree:
    return {
        "id": words.lesion,
        "name": words.name,
        "word": words.chance.word,
        "percent": words.chance.percent,
        "interval": words.chance.interval,
        "probability": number(words.probability),
        "low": number(words.low),
        "high": number(words.high),
        "levels": words.levels,
        "for": [reason_tree(each, protocol) for each in (entry.reasons_for if entry else ())],
        "against": [
            reason_tree(each, protocol)
            for each in (speaking_against(entry.reasons_against, protocol) if entry else ())
        ],
    }
