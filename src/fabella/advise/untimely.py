"""What is too early to ask of a fresh injury, and too late after an operation for it."""

from __future__ import annotations

from functools import cache

from fabella.protocol import Protocol, TellsOf
from fabella.record import NO_INJURY, Acuity, Context, Examination

FRESH_DAYS = 7
"""Days after an injury for which nobody can tell how the knee behaves from day to day (judgement)."""

TAKES_WEEKS = frozenset(
    {
        *("intermittent_swelling", "activity_pain", "night_pain", "morning_stiffness_min"),
        *("pain_on_stairs", "pain_on_squatting", "pain_on_kneeling", "theatre_sign"),
        *("training_increase", "kneeling_work"),
        *("quadriceps_wasting", "hamstring_wasting", "calf_wasting", "thigh_girth"),
    }
)
"""Questions and signs that tell of weeks (judgement): who fell today has not yet tried the stairs."""


@cache
def of_the_injury(protocol: Protocol) -> frozenset[str]:
    """Return the questions about how it came about (judgement): an operation since has seen to that."""
    told = {sign.id for sign in protocol.history() if sign.tells_of is TellsOf.INJURY}
    return frozenset(told | {"previous_injury"})


def untimely(examination: Examination, protocol: Protocol) -> frozenset[str]:
    """Return the signs that it is too early, or too late, to look for.

    Those of `TAKES_WEEKS` after a fresh injury, and those of `of_the_injury` when every knee complained of
    was operated on since the trouble began. What was recorded nevertheless counts as always.
    """
    since = [examination.operated_since_onset(side) is True for side in examination.context.complained_of]
    late = of_the_injury(protocol) if since and all(since) else frozenset[str]()
    return _too_early(examination.context) | late


def _too_early(context: Context) -> frozenset[str]:
    hurt = context.mechanism is not None and context.mechanism not in NO_INJURY
    days = context.onset_days
    fresh = context.acuity is Acuity.ACUTE if days is None else days <= FRESH_DAYS
    return TAKES_WEEKS if hurt and fresh else frozenset()
