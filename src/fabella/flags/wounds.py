"""Wounds of an injury: one that may reach into the joint, and one over a broken bone."""

from fabella.flags.explanations import unless
from fabella.flags.imaged import fracture_shown
from fabella.flags.knee import Knee
from fabella.flags.logic import all_of, any_of, hint
from fabella.flags.picture import out_of_shape, tender_bone
from fabella.flags.reading import Reading
from fabella.flags.story import operated_lately, recent_injury


def open_joint(knee: Knee) -> Reading:
    """A wound about the knee is an open joint until proved otherwise."""
    criteria = {
        "recent_injury": recent_injury(knee),
        "open_wound": knee.has("open_wound"),
        "penetrating": knee.said("penetrating_injury"),
    }
    injury, *wounds = criteria.values()
    incision = operated_lately(knee) and not criteria["penetrating"]
    return Reading(
        criteria=criteria,
        met=all_of(injury, any_of(*wounds)),
        relevant=hint(any_of(*wounds)),
        excluded=incision and injury is not True,
    )


def open_fracture(knee: Knee) -> Reading:
    """A wound over a bone that is broken, or looks so: what counts is the hour of the antibiotic."""
    tender, unable, deformed = tender_bone(knee), knee.has("unable_to_weight_bear"), out_of_shape(knee)
    shown = hint(knee.reading(fracture_shown).rings)
    looks = any_of(deformed, all_of(tender, unable))
    criteria = {
        "recent_injury": recent_injury(knee),
        "wound": any_of(knee.has("open_wound"), knee.said("penetrating_injury")),
        "broken": any_of(shown, looks),
    }
    injury, wound, _ = criteria.values()
    pointer = any_of(shown, deformed, tender, unable)
    return Reading(
        criteria=criteria,
        met=all_of(*criteria.values()),
        relevant=all_of(hint(wound), injury, unless(looks is False and not shown, hint(pointer))),
    )
