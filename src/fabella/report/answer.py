"""A workup as plain trees: ``fabella.conclusion/1`` as ``--json`` prints it, and its parts for the pages."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from fabella.anatomy import Side
from fabella.protocol import Protocol
from fabella.record import AtOdds, at_odds
from fabella.report.imaging_words import image_name
from fabella.workup import (
    Alarm,
    Confirms,
    Criterion,
    Grounding,
    KneeConclusion,
    LesionProbability,
    NextStep,
    OrderedBy,
    Precedes,
    Reason,
    Workup,
)

FORMAT = "fabella.conclusion/1"
STEPS_FORMAT = "fabella.next_steps/1"

Tree = dict[str, Any]

_DIGITS = 6  # significant; far beyond what any of these numbers deserves


def conclusion_tree(
    workup: Workup, *, protocol: Protocol, sides: tuple[Side, ...] = tuple(Side), top: int | None = None
) -> Tree:
    """Return everything concluded from one examination.

    Parameters
    ----------
    sides
        The knees to report. What cannot wait is told of both, whichever are asked for.
    top
        How many lesions of each knee, the likeliest first, with all their levels; None = all.
    """
    knees = workup.conclusion.knees if workup.conclusion else ()
    disagree = at_odds(workup.examination.findings)
    return {
        "format": FORMAT,
        **_made_by(workup),
        "cannot_wait": [_alarm(each) for each in workup.alarms],
        "knees": {
            side.value: _knee(knee, disagree, protocol, top)
            for side in sides
            for knee in knees
            if knee.side is side
        },
        **_advice(workup, sides),
        "failures": list(workup.failures),
    }


def steps_tree(workup: Workup, *, sides: tuple[Side, ...] = tuple(Side), top: int | None = None) -> Tree:
    """Return what cannot wait and the next steps, at most ``top`` at the bedside and as many images.

    What rules order that are met comes first and is never cut.
    """
    return {
        "format": STEPS_FORMAT,
        **_made_by(workup),
        "cannot_wait": [_alarm(each) for each in workup.alarms],
        **_advice(workup, sides, top),
        "failures": list(workup.failures),
    }


def of_sides(steps: Iterable[NextStep], sides: tuple[Side, ...], top: int | None = None) -> list[NextStep]:
    """Return the first ``top`` steps that concern one of these sides; None = all."""
    return [each for each in steps if each.side in sides][:top]


def _made_by(workup: Workup) -> Tree:
    examination = workup.examination
    return {
        "examination": {"id": examination.id, "origin": examination.origin.value},
        "edition": workup.edition,
        "version": workup.version,
    }


def _alarm(alarm: Alarm) -> Tree:
    return {
        "rule": alarm.rule,
        "name": alarm.name,
        "side": None if alarm.side is None else alarm.side.value,
        "verdict": alarm.verdict.value,
        "urgency": alarm.urgency.value,
        "met": [_criterion(each) for each in alarm.met],
        "unknown": [_criterion(each) for each in alarm.unknown],
        "unmet": [_criterion(each) for each in alarm.unmet],
        "action": alarm.action,
        "source": alarm.source,
        "doi_or_pmid": alarm.doi_or_pmid,
        "from_memory": alarm.recalled,
    }


def _criterion(criterion: Criterion) -> Tree:
    return {"id": criterion.id, "words": criterion.words, "ask": criterion.ask}


def _knee(knee: KneeConclusion, disagree: tuple[AtOdds, ...], protocol: Protocol, top: int | None) -> Tree:
    kept = {entry.lesion for entry in knee.any_level()[:top]}
    return {
        "symptomatic": knee.symptomatic,
        "lesions": [_lesion(entry, protocol) for entry in knee.lesions if entry.lesion in kept],
        "combinations": [
            {
                "lesions": [{"id": lesion, "level": level} for lesion, level in each.lesions],
                "probability": number(each.probability),
            }
            for each in knee.combinations
        ],
        "nothing_listed": number(knee.nothing_listed),
        "guarding": number(knee.guarding),
        "fit": {
            "p_value": number(knee.fit.p_value),
            "poor": knee.fit.poor,
            "odd": list(knee.fit.odd),
        },
        "look_again": [
            {"signs": list(each.signs), "why": each.why} for each in disagree if each.side is knee.side
        ],
        "findings": list(knee.findings),
        "images": list(knee.images),
        "unused": list(knee.unused),
    }


def _lesion(entry: LesionProbability, protocol: Protocol) -> Tree:
    return {
        "id": entry.lesion,
        "level": entry.level,
        "probability": number(entry.probability),
        "low": number(entry.low),
        "high": number(entry.high),
        "prior": number(entry.prior),
        "for": [reason_tree(each, protocol) for each in entry.reasons_for],
        "against": [reason_tree(each, protocol) for each in entry.reasons_against],
        "grounding": _grounding(entry.grounding),
    }


def reason_tree(reason: Reason, protocol: Protocol) -> Tree:
    """Return a finding or an image as a reason, with its weight, its sources and what they rest on."""
    return {
        "sign": reason.sign,
        "name": _name(reason, protocol),
        "image": reason.image,
        "abnormal": reason.abnormal,
        "weight_bits": number(reason.weight_bits),
        "sources": list(reason.sources),
        "grounding": _grounding(reason.grounding),
        "explained_otherwise": reason.explained_otherwise,
    }


def _name(reason: Reason, protocol: Protocol) -> str:
    if reason.image:
        return image_name(reason.sign)
    return protocol.sign(reason.sign).name if reason.sign in protocol else reason.sign


def _grounding(grounding: Grounding) -> Tree:
    return {kind: number(share) for kind, share in asdict(grounding).items()}


def _advice(workup: Workup, sides: tuple[Side, ...], top: int | None = None) -> Tree:
    advice = workup.advice
    if advice is None:
        unknown = ("enough", "together", "deferred", "unsettled")
        return {"next_steps": [], "withheld": [], **dict.fromkeys(unknown)}
    steps = (
        *of_sides(advice.first, sides),
        *of_sides(advice.bedside, sides, top),
        *of_sides(advice.images, sides, top),
    )
    return {
        "next_steps": [step_tree(each) for each in steps],
        "withheld": [
            {"kind": each.kind, "id": each.id, "name": each.name, "side": each.side.value, "why": each.why}
            for each in advice.withheld
            if each.side in sides
        ],
        "enough": advice.enough,
        "together": number(advice.together) if advice.together else None,
        "deferred": advice.deferred,
        "unsettled": advice.unsettled,
    }


def step_tree(step: NextStep) -> Tree:
    """Return a next step, with what each outcome would do."""
    return {
        "kind": step.kind,
        "id": step.id,
        "name": step.name,
        "side": step.side.value,
        "bits": number(step.bits),
        "minutes": number(step.minutes),
        "bits_per_minute": number(step.bits_per_minute),
        "hurts": step.hurts,
        "outlooks": [
            {
                "outcome": each.outcome,
                "chance": number(each.chance),
                "lesion": each.lesion,
                "now": number(each.now),
                "then": number(each.then),
            }
            for each in step.outlooks
        ],
        "sources": list(step.sources),
        **_purpose(step.purpose),
    }


def _purpose(purpose: OrderedBy | Confirms | Precedes | None) -> Tree:
    confirms = purpose if isinstance(purpose, Confirms) else Confirms(())
    return {
        "ordered_by": purpose.rule if isinstance(purpose, OrderedBy) else None,
        "confirms": list(confirms.lesions),
        "how": confirms.how or None,
        "spared_by": confirms.spared_by or None,
        "before": purpose.image if isinstance(purpose, Precedes) else None,
    }


def number(value: float) -> float:
    """Return a number with as many digits as any of these deserves, and a few more."""
    return float(f"{value:.{_DIGITS}g}")
