"""What is too early to ask of a fresh injury: habits of the pain, and what takes weeks to come."""

from __future__ import annotations

from fabella.record import NO_INJURY, Acuity, Context

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


def untimely(context: Context) -> frozenset[str]:
    """Return the signs that it is too early to look for: those of `TAKES_WEEKS` after a fresh injury.

    What was recorded nevertheless counts as always.
    """
    hurt = context.mechanism is not None and context.mechanism not in NO_INJURY
    days = context.onset_days
    fresh = context.acuity is Acuity.ACUTE if days is None else days <= FRESH_DAYS
    return TAKES_WEEKS if hurt and fresh else frozenset()
