"""Ligaments that are best repaired early: of two groups, and of the outer side."""

from fabella.flags.explanations import unless
from fabella.flags.knee import Knee
from fabella.flags.laxity import (
    lateral_complete,
    lateral_side_shown,
    lateral_straight,
    lateral_wide,
    two_groups_shown,
    two_ligament_groups,
)
from fabella.flags.logic import all_of, any_of, hint
from fabella.flags.reading import Reading
from fabella.flags.story import recent_injury


def multiligament_injury(knee: Knee) -> Reading:
    """Two ligament groups, once the days of vascular danger are over."""
    criteria = {
        "recent_injury": recent_injury(knee),
        "two_ligament_groups": two_ligament_groups(knee),
        "shown": two_groups_shown(knee),
    }
    injury, *torn = criteria.values()
    return Reading(criteria=criteria, met=all_of(injury, any_of(*torn)), relevant=hint(any_of(*torn)))


def lateral_side_torn(knee: Knee) -> Reading:
    """The outer side completely torn: what is repaired is repaired early."""
    corner = ("dial_30", "external_rotation_recurvatum", "posterolateral_drawer")
    criteria = {
        "recent_injury": recent_injury(knee),
        "complete": lateral_complete(knee),
        "opens_straight": lateral_straight(knee),
        "corner": all_of(lateral_wide(knee), any_of(*map(knee.has, corner))),
        "shown": lateral_side_shown(knee),
    }
    injury, *signs = criteria.values()
    met = all_of(injury, any_of(*signs))
    level = knee.has("dial_30") is False  # the corner holds; what was not tried need not be
    wide = any_of(lateral_wide(knee), knee.has("varus_stress_30"), knee.has("varus_stress_0"))
    graded = lateral_wide(knee) is False
    return Reading(
        criteria=criteria,
        met=met,
        relevant=any_of(hint(met), unless(level or graded, all_of(hint(injury), hint(wide)))),
    )
