"""A joint that bleeds: of itself in a bleeding disorder, or easily under an anticoagulant."""

from fabella.flags.knee import Knee
from fabella.flags.logic import all_of, any_of, hint
from fabella.flags.picture import swollen
from fabella.flags.reading import Reading
from fabella.flags.story import within_days

SHORT_HISTORY_DAYS = 14  # common practice
BLEED_DAYS = 3  # judgement: a bleed that had its factor is better by then


def bleed_needs_factor(knee: Knee) -> Reading:
    """A fresh bleed in a known bleeding disorder: what counts is the hour of the factor."""
    criteria = {
        "bleeding_disorder": knee.said("bleeding_disorder"),
        "swollen": any_of(swollen(knee), hint(knee.has("held_flexed"))),
        "days": within_days(knee, BLEED_DAYS),
    }
    return Reading(
        criteria=criteria,
        met=all_of(*criteria.values()),
        relevant=all_of(knee.complained_of, hint(criteria["bleeding_disorder"])),
    )


def bleeding_joint(knee: Knee) -> Reading:
    """A swollen knee in a patient who bleeds easily."""
    criteria = {
        "swollen": swollen(knee),
        "short_history": within_days(knee, SHORT_HISTORY_DAYS),
        "anticoagulant": knee.said("anticoagulant"),
        "bleeding_disorder": knee.said("bleeding_disorder"),
    }
    full, short, *tendency = criteria.values()
    bleeds = any_of(*tendency)
    return Reading(
        criteria=criteria,
        met=all_of(full, short, bleeds),
        relevant=all_of(knee.complained_of, hint(bleeds)),
    )
