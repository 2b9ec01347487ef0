"""A knee that stays swollen for weeks or months, and nobody knows why."""

from fabella.flags.explanations import mechanical, sore_joint
from fabella.flags.joints import inflammatory_arthritis, prolonged_stiffness
from fabella.flags.knee import Knee
from fabella.flags.logic import Truth, all_of, any_of, hint, negate
from fabella.flags.picture import hot, swollen
from fabella.flags.reading import Reading
from fabella.flags.story import child, heals, injured, persistent
from fabella.record import Mechanism

DELAY_DAYS = 90  # "3 months or longer" (NICE CG79)
CHILD_YEARS, CHILD_DAYS = 16, 42  # "under 16", "at least 6 weeks" (ILAR definition of juvenile arthritis)
WORN_YEARS = 45  # judgement: from here on a warm, grating knee is first of all a worn one

_NAMED = (
    "known_inflammatory_arthritis",
    "previous_gout",
    "bleeding_disorder",
    "previous_injury",
    "previous_patellar_dislocation",
)
_LOOSE = ("lachman", "posterior_drawer", "patellar_apprehension", "lateral_snap", "loose_body_felt")


def lasting_synovitis(knee: Knee) -> Reading:
    """NICE CG79: persistent synovitis of unknown cause is referred, urgently after 3 months; ILAR in a child.

    A child's knee need not be warm.
    """
    small = child(knee, under_years=CHILD_YEARS)
    criteria = {
        "swollen": swollen(knee),
        "warm": any_of(hot(knee), small),
        "lasting": persistent(knee, CHILD_DAYS if small else DELAY_DAYS),
    }
    return Reading(
        criteria=criteria,
        met=all_of(*criteria.values()),
        relevant=all_of(knee.complained_of, hint(criteria["swollen"]), hint(criteria["warm"])),
        excluded=_explained(knee, small) is True
        or any(knee.reading(rule).rings for rule in (inflammatory_arthritis, prolonged_stiffness)),
    )


def _explained(knee: Knee, small: Truth) -> Truth:
    """Say whether the swelling has a name: by history, by what is torn, loose or worn (judgement)."""
    overused = knee.context.mechanism is Mechanism.OVERUSE
    return any_of(
        injured(knee),
        knee.replaced,
        heals(knee),
        *map(knee.said, _NAMED),
        sore_joint(knee),
        any_of(*map(knee.has, _LOOSE)),
        all_of(small, any_of(mechanical(knee), knee.has("block_to_extension"), overused)),
        all_of(negate(child(knee, under_years=WORN_YEARS)), knee.has("crepitus")),
    )
