"""Nerves of the leg: after an injury of the knee, a foot that drops by itself, and the cauda equina."""

from fabella.flags.knee import Knee
from fabella.flags.limb import began_lately, cold_foot_unfelt, dislocation_suspected, leg_in_danger
from fabella.flags.logic import agreed, all_of, any_of, denial, hint, negate
from fabella.flags.picture import nerve_sign, numb_foot, weak_foot
from fabella.flags.reading import Reading
from fabella.flags.story import RECENT_DAYS, injured, not_injured, operated_within, recent_injury


def nerve_injury(knee: Knee) -> Reading:
    """Peroneal and tibial nerves after an injury of the knee."""
    well = denial(knee.has("distal_neurovascular"))
    criteria = {
        "foot_drop": agreed(nerve_sign(knee, "foot_drop"), well),
        "peroneal_sensation": agreed(nerve_sign(knee, "peroneal_sensation"), well),
        "tibial_motor": agreed(nerve_sign(knee, "tibial_nerve_motor"), well),
        "tibial_sensation": agreed(nerve_sign(knee, "tibial_nerve_sensation"), well),
    }
    any_sign = any_of(*criteria.values())
    return Reading(
        criteria=criteria,
        met=any_sign,
        relevant=any_of(dislocation_suspected(knee), all_of(recent_injury(knee), hint(any_sign))),
    )


def foot_drop_without_injury(knee: Knee) -> Reading:
    """A foot that drops by itself: nerve root, fibular neck or cyst; one known for years does not press."""
    drop = knee.has("foot_drop")
    criteria = {
        "no_injury": not_injured(knee),
        "foot_drop": drop,
        "not_of_old": negate(knee.said("old_nerve_loss")),
    }
    return Reading(
        criteria=criteria,
        met=all_of(criteria["no_injury"], drop, criteria["not_of_old"] is not False),
        relevant=hint(drop),
        excluded=injured(knee) is True
        or operated_within(knee, RECENT_DAYS)
        or leg_in_danger(knee)
        or (cold_foot_unfelt(knee) and began_lately(knee) is True)
        or cauda_equina(knee).met is True,
    )


def cauda_equina(knee: Knee) -> Reading:
    """Bladder or saddle symptoms beside leg pain, or both feet weak from the back: an emergency of the spine.

    A foot that is weak below a sore back, or two that are numb, ask about the bladder.
    """
    symptoms = knee.said("bladder_or_saddle_symptoms")
    back = any_of(knee.said("back_pain"), knee.across.said("back_pain"))
    weak, numb = ((each(knee), each(knee.across)) for each in (weak_foot, numb_foot))
    criteria = {"bladder_or_saddle": symptoms, "both_feet_weak": all_of(back, *weak)}
    both = criteria["both_feet_weak"]
    asks = all_of(back, any_of(*weak, all_of(*numb))) if symptoms is None else None
    return Reading(
        criteria=criteria,
        met=True if both else symptoms,
        relevant=hint(any_of(symptoms, both, asks)),
    )
