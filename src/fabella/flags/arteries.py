"""The artery behind the knee that is too wide, or full of clot."""

from fabella.flags.knee import Knee
from fabella.flags.limb import artery_shown_ill, foot_in_danger
from fabella.flags.logic import all_of, any_of, given, hint
from fabella.flags.reading import Reading
from fabella.record import Sex

ANEURYSM_YEARS = 60  # common practice


def popliteal_aneurysm(knee: Knee) -> Reading:
    """A mass behind the knee that widens with the pulse, or has taken the foot's blood.

    One full of clot no longer pulsates (common practice). In an older man any lump raises the question.
    Feet that are both cool tell of the weather rather than of the mass; the pulses answer.
    """
    pulsation, mass = knee.has("popliteal_pulsation"), knee.has("popliteal_mass")
    cool = knee.across.has("cool_foot") is not True and knee.has("cool_foot")
    sex = knee.examination.patient.sex
    older = given(knee.age_years, lambda years: years >= ANEURYSM_YEARS)
    criteria = {
        "expansile_mass": pulsation,
        "poor_flow": all_of(mass, any_of(knee.has("distal_pulses"), cool)),
        "older_man": all_of(None if sex is None else sex is Sex.MALE, older),
    }
    lump = any_of(knee.has("posterior_swelling"), knee.said("lump_noticed"))
    return Reading(
        criteria=criteria,
        met=True if criteria["poor_flow"] else pulsation,
        relevant=hint(any_of(pulsation, mass, all_of(criteria["older_man"], lump))),
        excluded=artery_shown_ill(knee) is True or foot_in_danger(knee),
    )
