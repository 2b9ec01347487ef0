"""The next steps, ranked by what they would tell for their time and pain."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from fabella.advise.expect import Outlooker, Prospect, binary_information
from fabella.advise.forbidden import contraindications
from fabella.advise.result import Advice, NextStep, Outlook, Withheld
from fabella.anatomy import Side
from fabella.flags import Alarm
from fabella.grade import levels_of
from fabella.infer import KneeEvidence, Model, Posterior
from fabella.protocol import Kind, Protocol, Sign
from fabella.record import Examination, State

STEPS = 8
LEAST_BITS = 0.01
SHORTEST_MINUTES = 5 / 60
PLAN_CHANGES_AT = 0.5
"""Probability at which a lesion becomes, or ceases to be, what one acts on (judgement: common practice)."""
WORTH_A_TRY = 0.08
"""Chance of changing the plan below which a bedside step is not worth it (judgement)."""


def advise(
    model: Model,
    evidence: Mapping[Side, KneeEvidence],
    posteriors: Mapping[Side, Posterior],
    *,
    examination: Examination,
    alarms: tuple[Alarm, ...],
    protocol: Protocol,
) -> Advice:
    """Rank what has not been done yet on the knees complained of.

    A manoeuvre's worth is the mutual information (bits) between its outcome and the whole state of the knee,
    given everything found, for each minute it takes, its pain counting as that many minutes again. What is
    contraindicated is withheld with its reason. It is enough when no permitted step has a fair chance of
    carrying any lesion across `PLAN_CHANGES_AT`.
    """
    bedside: list[_Candidate] = []
    images: list[NextStep] = []
    withheld: list[Withheld] = []
    enough = True
    for side, own in evidence.items():
        if not own.setting.symptomatic:
            continue
        outlooker = Outlooker(model, own, posteriors[side])
        active = contraindications(model, posteriors[side], examination, alarms, side)
        done = _done(examination, own, side)
        for sign in _candidates(model, protocol, done):
            prospect = outlooker.prospect(sign.id, len(_outcomes(model, sign)) - 1)
            if prospect.bits < LEAST_BITS:
                continue
            reasons = [each for each in sign.avoid_when if each.id in active]
            if reasons:
                why = "; ".join(each.name for each in reasons)
                withheld.append(Withheld(id=sign.id, name=sign.name, side=side, why=why))
                continue
            enough = enough and not _changes_plan(outlooker, prospect)
            bedside.append(_Candidate(sign=sign, side=side, prospect=prospect, outlooker=outlooker))
        images.extend(_images(model, outlooker, side))
    bedside.sort(key=lambda each: -each.bits_per_minute)
    images.sort(key=lambda step: -step.bits_per_minute)
    return Advice(
        bedside=tuple(_step(model, each) for each in bedside[:STEPS]),
        images=tuple(step for step in images if step.bits >= LEAST_BITS)[:STEPS],
        withheld=tuple(withheld),
        enough=enough,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Candidate:
    """A manoeuvre or question that may be worth doing."""

    sign: Sign
    side: Side
    prospect: Prospect
    outlooker: Outlooker

    @property
    def minutes(self) -> float:
        return max(self.sign.seconds / 60, SHORTEST_MINUTES)

    @property
    def bits_per_minute(self) -> float:
        return self.prospect.bits / (self.minutes * (1 + self.sign.hurts))


def _done(examination: Examination, evidence: KneeEvidence, side: Side) -> frozenset[str]:
    """Return the signs that were tried, asked or stand for something found."""
    tried = {
        finding.sign
        for finding in examination.findings
        if finding.side in (side, None) and finding.state is not State.NOT_EXAMINED
    }
    return frozenset(
        tried | set(examination.history) | {o.sign for o in evidence.observations} | set(evidence.unused)
    )


def _candidates(model: Model, protocol: Protocol, done: frozenset[str]) -> Iterator[Sign]:
    for name in model.knowledge.indicators:
        if name in done or name not in protocol:
            continue
        sign = protocol.sign(name)
        if sign.kind is not Kind.COURTESY and not sign.summary_of:
            yield sign


def _outcomes(model: Model, sign: Sign) -> tuple[str, ...]:
    """Return what a sign can show: its levels, or whether or not the aspect of its own name."""
    levels = tuple(levels_of(sign))
    aspects = model.knowledge.aspects.get(sign.id)
    return (levels[0], aspects[sign.id][0]) if aspects else levels


def _changes_plan(outlooker: Outlooker, prospect: Prospect) -> bool:
    crossed = (outlooker.now >= PLAN_CHANGES_AT) != (outlooker.lesions_then(prospect) >= PLAN_CHANGES_AT)
    return bool((prospect.chance @ crossed).max() >= WORTH_A_TRY)


def _step(model: Model, candidate: _Candidate) -> NextStep:
    sign, prospect, now = candidate.sign, candidate.prospect, candidate.outlooker.now
    lesions_then = candidate.outlooker.lesions_then(prospect)
    outlooks = []
    for level, chance, then in zip(_outcomes(model, sign), prospect.chance, lesions_then, strict=True):
        moved = int(np.argmax(np.abs(then - now)))
        outlooks.append(
            Outlook(
                outcome=level,
                chance=float(chance),
                lesion=model.states.lesions[moved],
                now=float(now[moved]),
                then=float(then[moved]),
            )
        )
    return NextStep(
        kind="question" if sign.is_history else "manoeuvre",
        id=sign.id,
        name=sign.name,
        side=candidate.side,
        bits=prospect.bits,
        minutes=candidate.minutes,
        bits_per_minute=candidate.bits_per_minute,
        hurts=sign.hurts,
        outlooks=tuple(outlooks),
        sources=(model.signs(None)[sign.id].source,),
    )


def _images(model: Model, outlooker: Outlooker, side: Side) -> Iterator[NextStep]:
    """Yield the images; an image's bits add up over the lesions it can show, each taken by itself."""
    now = dict(zip(model.states.lesions, outlooker.now, strict=True))
    for _, rows in groupby(model.knowledge.images, key=lambda row: row.image):
        shown = tuple(rows)
        told = [
            (row, *binary_information(float(now[row.lesion]), row.sensitivity, row.specificity))
            for row in shown
        ]
        bits = sum(information for _, information, _ in told)
        best, _, positive = max(told, key=lambda entry: entry[1])
        before = float(now[best.lesion])
        then_yes = before * best.sensitivity / max(positive, 1e-12)
        then_no = before * (1 - best.sensitivity) / max(1 - positive, 1e-12)
        yield NextStep(
            kind="image",
            id=shown[0].image,
            name=shown[0].name,
            side=side,
            bits=bits,
            minutes=shown[0].minutes,
            bits_per_minute=bits / shown[0].minutes,
            hurts=0,
            outlooks=(
                Outlook(outcome="shown", chance=positive, lesion=best.lesion, now=before, then=then_yes),
                Outlook(
                    outcome="not shown", chance=1 - positive, lesion=best.lesion, now=before, then=then_no
                ),
            ),
            sources=tuple(
                dict.fromkeys(row.source for row, information, _ in told if information > LEAST_BITS / 2)
            ),
        )
