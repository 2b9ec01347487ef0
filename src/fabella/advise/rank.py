"""The next steps, ranked by what they would tell for their time and pain."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fabella.advise.by_rule import by_rule, cleared
from fabella.advise.expect import Floats, Outlooker, Prospect
from fabella.advise.forbidden import UNLOADED, contraindications
from fabella.advise.images import PLAN_CHANGES_AT, WORTH_A_TRY, Images, images_of
from fabella.advise.result import Advice, NextStep, Outlook, Withheld
from fabella.advise.untimely import untimely
from fabella.anatomy import Side
from fabella.flags import OA_SOURCE, Alarm, oa_without_imaging
from fabella.grade import levels_of
from fabella.infer import KneeEvidence, Model, Posterior
from fabella.infer.reasons import EQUAL_DECIMALS
from fabella.protocol import Kind, Protocol, Sign
from fabella.record import Examination, State

STEPS = 8
MOST_TOGETHER, TRIALS = 24, 200
"""Steps whose joint effect is tried out, and in how many continuations: a chance of 8 % is known to 2 %."""
LEAST_BITS = 0.02
LEAST_MOVE = 0.1
"""Change of the probability of a lesion below which no plan changes, whatever line it crosses (judgement)."""
SHORTEST_MINUTES = 5 / 60


def advise(
    model: Model,
    evidence: Mapping[Side, KneeEvidence],
    posteriors: Mapping[Side, Posterior],
    *,
    examination: Examination,
    alarms: tuple[Alarm, ...],
    protocol: Protocol,
) -> Advice:
    """Rank what has not been done yet on the knees complained of, else on those with an abnormal finding.

    A manoeuvre's worth is the mutual information (bits) between its outcome and the whole state of the knee,
    given everything found, for each minute it takes, its pain counting as that many minutes again. What is
    contraindicated, or withheld by a rule that is met, is withheld with its reason, however little it would
    tell; what is untimely is not named. It is enough when no permitted step has a fair chance of carrying any
    lesion across `PLAN_CHANGES_AT` by `LEAST_MOVE` or more, nor have the most telling steps of the routine
    examination that are left, done together. What of it is worth doing then, or beside an alarm, is another
    question: `worth_doing`.
    """
    asked = {side: own for side, own in evidence.items() if own.setting.symptomatic} or {
        side: own for side, own in evidence.items() if any(each.abnormal for each in own.observations)
    }
    ahead = {side: Outlooker(model, own, posteriors[side]) for side, own in asked.items()}
    active = {side: contraindications(own.chances, examination, alarms, side) for side, own in ahead.items()}
    no_load = UNLOADED.intersection(frozenset().union(*active.values()))
    unloaded = next((each.name for each in protocol.contraindications if each.id in no_load), "")
    bedside: list[_Candidate] = []
    images: list[Images] = []
    withheld: list[tuple[float, Withheld]] = []
    together = 0.0
    for side, own in asked.items():
        outlooker = ahead[side]
        done = _done(examination, own, side) | _pointless(protocol, own)
        spared = oa_without_imaging(examination, side, protocol=protocol)
        taken = images_of(
            model,
            outlooker,
            side,
            rules=cleared(by_rule(alarms, side), examination),
            done=done | {each.image.value for each in examination.images_of(side)},
            read=frozenset(each.image for each in own.images),
            unloaded=unloaded,
            spared={"osteoarthritis": OA_SOURCE} if spared else {},
        )
        images.append(taken)
        left = list(_candidates(model, protocol, done | taken.recorded_as | untimely(examination, protocol)))
        prospects = outlooker.prospects({sign.id: len(_outcomes(model, sign)) - 1 for sign in left})
        avoided = [each for each in protocol.contraindications if each.id in active[side]]
        telling: list[tuple[Sign, Prospect]] = []
        for sign in left:
            prospect = prospects[sign.id]
            if reasons := tuple(each.name for each in avoided if each in sign.avoid_when):
                kept_back = Withheld(id=sign.id, name=sign.deed, side=side, reasons=reasons)
                withheld.append((prospect.bits, kept_back))
            elif prospect.bits >= LEAST_BITS:
                telling.append((sign, prospect))
        steps, chance = _joined(model, outlooker, list(_weighed(outlooker, side, telling)))
        bedside += steps
        together = max(together, chance)
    bedside.sort(key=_worth)
    shown = sorted((step for each in images for step in each.telling), key=lambda step: -step.bits_per_minute)
    confirming = [step for each in images for step in each.confirming]
    return Advice(
        first=tuple(step for each in images for step in each.ordered),
        bedside=tuple(_step(model, each) for i, each in enumerate(bedside) if i < STEPS or each.proposed),
        images=(*confirming, *shown[: max(STEPS - len(confirming), 0)]),
        withheld=(*(step for each in images for step in each.withheld), *_most_telling(withheld)),
        enough=not any(each.proposed for each in bedside),
        together=together,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Candidate:
    """A manoeuvre or question that may be worth doing: as it decides, or joins others that do together.

    ``now`` (lesions,) and ``then`` (outcomes, lesions) are the probabilities before and after it.
    """

    sign: Sign
    side: Side
    prospect: Prospect
    now: Floats
    then: Floats
    decides: bool
    joins: bool = False

    @property
    def proposed(self) -> bool:
        return self.decides or self.joins

    @property
    def minutes(self) -> float:
        return max(self.sign.seconds / 60, SHORTEST_MINUTES)

    @property
    def bits_per_minute(self) -> float:
        return self.prospect.bits / (self.minutes * (1 + self.sign.hurts))


def _weighed(
    outlooker: Outlooker, side: Side, telling: Sequence[tuple[Sign, Prospect]]
) -> Iterator[_Candidate]:
    """Yield steps that tell something, each with whether it decides by itself."""
    if not telling:
        return
    prospects = [prospect for _, prospect in telling]
    after = outlooker.lesions_then(prospects)
    crossing = _crossed(outlooker.now, np.concatenate(after))
    shares = np.concatenate([each.chance for each in prospects])[:, None] * crossing
    chances = np.add.reduceat(shares, np.cumsum([0, *map(len, after[:-1])]))
    decides = (chances.max(axis=1) >= WORTH_A_TRY).tolist()
    for (sign, prospect), then, own in zip(telling, after, decides, strict=True):
        yield _Candidate(sign=sign, side=side, prospect=prospect, now=outlooker.now, then=then, decides=own)


def _most_telling(withheld: Iterable[tuple[float, Withheld]]) -> Iterator[Withheld]:
    """Yield what is withheld by the bits it would tell, and signs of one deed and reason once."""
    deeds = set()
    for _, each in sorted(withheld, key=lambda entry: -round(entry[0], EQUAL_DECIMALS)):
        deed = (each.name, each.side, each.reasons)
        if deed not in deeds:
            deeds.add(deed)
            yield each


def _done(examination: Examination, evidence: KneeEvidence, side: Side) -> frozenset[str]:
    """Return the signs that were tried, asked or stand for something found."""
    tried = {
        finding.sign
        for finding in examination.findings
        if finding.side in (side, None) and finding.state is not State.NOT_EXAMINED
    }
    observed = {observation.sign for observation in evidence.observations}
    return frozenset((*tried, *examination.history, *observed, *evidence.unused, *evidence.setting.silent))


def _pointless(protocol: Protocol, evidence: KneeEvidence) -> frozenset[str]:
    """Return what asks nothing of this knee: without a complaint, every question about one."""
    asked = () if evidence.setting.symptomatic else protocol.history()
    return frozenset(sign.id for sign in asked if not sign.is_person)


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


def _worth(candidate: _Candidate) -> float:
    """Return the key by which the most telling for its time and pain comes first."""
    return -candidate.bits_per_minute


def _joined(model: Model, outlooker: Outlooker, steps: list[_Candidate]) -> tuple[list[_Candidate], float]:
    """Return steps of which none decides, the most telling of them joined, and the chance that they do then.

    The chance is that the routine ones, done together, carry any lesion well across `PLAN_CHANGES_AT`; 0, and
    nothing joined, where it is not worth a try or a single step decides.
    """
    rest = sorted((each for each in steps if each.sign.routine), key=_worth)[:MOST_TOGETHER]
    if not rest or any(each.decides for each in steps):
        return steps, 0.0
    signs = {each.sign.id: len(_outcomes(model, each.sign)) - 1 for each in rest}
    then = outlooker.after_trials(signs, TRIALS, np.random.default_rng(0))
    chance = float(_crossed(outlooker.now, then).any(axis=1).mean())
    if chance < WORTH_A_TRY:
        return steps, 0.0
    joining = {each.sign.id for each in rest[:STEPS]}
    return [replace(each, joins=each.sign.id in joining) for each in steps], chance


def _crossed(now: Floats, then: Floats) -> NDArray[np.bool_]:
    """Say of each outcome and lesion whether it carries the lesion well across `PLAN_CHANGES_AT`."""
    across = (now >= PLAN_CHANGES_AT) != (then >= PLAN_CHANGES_AT)
    return np.asarray(across & (np.abs(then - now) >= LEAST_MOVE))


def _step(model: Model, candidate: _Candidate) -> NextStep:
    sign, prospect, now = candidate.sign, candidate.prospect, candidate.now
    most = np.argmax(np.abs(candidate.then - now) + _crossed(now, candidate.then), axis=1).tolist()
    outlooks = [
        Outlook(
            outcome=level,
            chance=float(chance),
            lesion=model.states.lesions[moved],
            now=float(now[moved]),
            then=float(then[moved]),
        )
        for level, chance, then, moved in zip(
            _outcomes(model, sign), prospect.chance, candidate.then, most, strict=True
        )
    ]
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
        decides=candidate.decides,
        joins=candidate.joins,
        sources=(model.signs(None)[sign.id].source,),
    )
