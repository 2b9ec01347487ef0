"""Examinations and what was seen later, put together."""

from __future__ import annotations

from collections.abc import Iterable

from fabella.anatomy import Side
from fabella.evidence.knowledge import Knowledge
from fabella.hands.confirmation import Confirmation
from fabella.hands.counting import Tally, cells, count
from fabella.hands.result import OwnHands, Surprise
from fabella.hands.shares import in_own_hands
from fabella.hands.telling import Statement, statements, surprises, told
from fabella.hands.truth import NOTHING_SEEN, truths
from fabella.workup import Workup


def audit(
    workups: Iterable[Workup], confirmations: Iterable[Confirmation], *, knowledge: Knowledge
) -> OwnHands:
    """Return how good examinations were, by what was seen inside the knees later.

    Parameters
    ----------
    workups
        Of one examiner, each examination once; one at a time is held.
    confirmations
        Of any of these examinations, in any order; those of others are named in `OwnHands.unmatched`.
    knowledge
        The accuracy that is taken for each sign.

    Notes
    -----
    A sign is counted where its accuracy is published (`Knowledge.accuracy`), in knees complained of and in
    whatever knee was looked into; probabilities only of lesions that were looked for.
    """
    known = truths(confirmations)
    tally: Tally = {}
    by_knee: list[tuple[Statement, ...]] = []
    surprised: list[Surprise] = []
    met, examinations = set(), 0
    for workup in workups:
        examinations += 1
        for side in Side:
            knee = (workup.examination.id, side)
            truth = known.get(knee, NOTHING_SEEN)
            conclusion = workup.conclusion.knee(side) if workup.conclusion else None
            complained_of = bool(conclusion and conclusion.symptomatic)
            if truth is NOTHING_SEEN and not complained_of:
                continue
            count(tally, workup, side, truth, used=knowledge.accuracy, complained_of=complained_of)
            if truth is NOTHING_SEEN:
                continue
            met.add(knee)
            if conclusion:
                by_knee.append(statements(conclusion, truth))
                surprised += surprises(workup.examination, conclusion, truth)
    return OwnHands(
        examinations=examinations,
        confirmed=len(met),
        unmatched=tuple(sorted({examination for examination, _ in known.keys() - met})),
        signs=tuple(
            sorted(
                (
                    in_own_hands(row, knowledge.indicators[row.sign], cells(counts))
                    for row, counts in tally.items()
                ),
                key=lambda sign: (-(sign.cells.present + sign.cells.absent), sign.sign),
            )
        ),
        told=told(by_knee),
        surprises=tuple(sorted(surprised, key=lambda each: -_how_far(each))),
    )


def _how_far(surprise: Surprise) -> float:
    return max(surprise.probability, 1 - surprise.probability)
