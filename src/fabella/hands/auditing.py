"""Examinations and what was seen later, put together."""

from __future__ import annotations

from collections.abc import Iterable

from fabella.anatomy import Side
from fabella.evidence.facts import Knowledge
from fabella.hands.confirmation import Confirmation
from fabella.hands.counting import Tally, count
from fabella.hands.hands_alone import known_before
from fabella.hands.result import Cells, OwnHands, Surprise
from fabella.hands.shares import in_own_hands
from fabella.hands.telling import Statement, statements, surprises, told
from fabella.hands.truth import NOTHING_SEEN, truth_of
from fabella.record import Examination
from fabella.workup import Workup


def audit(
    workups: Iterable[Workup], confirmations: Iterable[Confirmation], *, knowledge: Knowledge
) -> OwnHands:
    """Return how good examinations were, by what was seen inside the knees later.

    Parameters
    ----------
    workups
        Of one examiner and by hands alone (`by_hands`), each examination once; one at a time is held.
    confirmations
        Of any of these examinations, in any order; those of others are named in `OwnHands.unmatched`.
    knowledge
        The accuracy that is taken for each sign.

    Notes
    -----
    A sign is counted where its accuracy is published (`Knowledge.accuracy`), in knees complained of and in
    whatever knee was looked into; probabilities only of lesions that were looked for. Who examines a knee
    with its scan in hand finds what the scan showed: such a knee is left out.
    """
    looks: dict[tuple[str, Side], list[Confirmation]] = {}
    for each in confirmations:
        looks.setdefault((each.examination, each.side), []).append(each)
    foreknown: list[str] = []
    tally: Tally = {}
    by_knee: list[tuple[Statement, ...]] = []
    surprised: list[Surprise] = []
    examinations = confirmed = 0
    for workup in workups:
        examinations += 1
        for side in Side:
            own = looks.pop((workup.examination.id, side), ())
            conclusion = workup.conclusion.knee(side) if workup.conclusion else None
            complained_of = bool(conclusion and conclusion.symptomatic)
            if not (own or complained_of):
                continue
            seen_before = any(_is_before(each, workup.examination) for each in own)
            if seen_before or known_before(workup.examination, side):
                foreknown.append(workup.examination.id)
                continue
            truth = truth_of(own) if own else NOTHING_SEEN
            if truth is NOTHING_SEEN and not complained_of:
                continue
            count(tally, workup, side, truth, used=knowledge.accuracy, complained_of=complained_of)
            if truth is NOTHING_SEEN:
                continue
            confirmed += 1
            if conclusion:
                by_knee.append(statements(conclusion, truth))
                surprised += surprises(workup.examination, conclusion, truth)
    return OwnHands(
        examinations=examinations,
        confirmed=confirmed,
        unmatched=tuple(dict.fromkeys(examination for examination, _ in looks)),
        foreknown=tuple(dict.fromkeys(foreknown)),
        signs=tuple(
            sorted(
                (
                    in_own_hands(row, knowledge.indicators[row.sign], Cells(**counts))
                    for row, counts in tally.items()
                ),
                key=lambda sign: (-(sign.cells.present + sign.cells.absent), sign.sign),
            )
        ),
        told=told(by_knee),
        surprises=tuple(sorted(surprised, key=lambda each: -_how_far(each))),
    )


def _is_before(look: Confirmation, examination: Examination) -> bool:
    """Say whether the knee had been looked into when it was examined."""
    return examination.examined_on is not None and look.on < examination.examined_on


def _how_far(surprise: Surprise) -> float:
    return max(surprise.probability, 1 - surprise.probability)
