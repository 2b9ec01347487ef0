"""What is too early to ask of a fresh injury, and too late after an operation for it."""

from __future__ import annotations

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


OF_THE_INJURY = frozenset(
    {
        *("fall_or_blunt_trauma", "dislocation_reported", "patella_seen_displaced", "pop_heard"),
        *("could_not_continue", "unable_to_weight_bear_at_injury", "penetrating_injury"),
        *("swelling_onset_hours", "previous_injury"),
    }
)
"""Questions about how it came about (judgement): an operation since has seen to that."""


def untimely(examination: Examination) -> frozenset[str]:
    """Return the signs that it is too early, or too late, to look for.

    Those of `TAKES_WEEKS` after a fresh injury, and those of `OF_THE_INJURY` when every knee complained of
    was operated on since the trouble began. What was recorded nevertheless counts as always.
    """
    context = examination.context
    return _too_early(context) | (OF_THE_INJURY if _operated_since(examination) else frozenset())


def _operated_since(examination: Examination) -> bool:
    onset, knees = examination.context.onset_days, examination.context.complaint
    since = [examination.days_since_operation(side) for side in knees or ()]
    return bool(since) and onset is not None and all(days is not None and days <= onset for days in since)


def _too_early(context: Context) -> frozenset[str]:
    hurt = context.mechanism is not None and context.mechanism not in NO_INJURY
    days = context.onset_days
    fresh = context.acuity is Acuity.ACUTE if days is None else days <= FRESH_DAYS
    return TAKES_WEEKS if hurt and fresh else frozenset()
