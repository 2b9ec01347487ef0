"""The artery behind the knee that is too wide or full of clot, and arteries known to be narrow."""

from fabella.flags.knee import Knee
from fabella.flags.limb import INDEX_LIMIT, artery_shown_ill, foot_in_danger
from fabella.flags.logic import all_of, any_of, given, hint
from fabella.flags.reading import Reading
from fabella.record import Sex

ANEURYSM_YEARS = 60  # common practice


def popliteal_aneurysm(knee: Knee) -> Reading:
    """A mass behind the knee that widens with the pulse, or has taken the foot's blood.

    One full of clot no longer pulsates (common practice), so that beside a known aneurysm, here or elsewhere,
    a mass is one until it was scanned. In an older man, or with an aneurysm, any lump raises the question.
    Feet that are both cool tell of the weather rather than of the mass; the pulses answer.
    """
    pulsation, mass = knee.has("popliteal_pulsation"), knee.has("popliteal_mass")
    cool = knee.across.has("cool_foot") is not True and knee.has("cool_foot")
    sex = knee.examination.patient.sex
    older = given(knee.age_years, lambda years: years >= ANEURYSM_YEARS)
    criteria = {
        "expansile_mass": pulsation,
        "poor_flow": all_of(mass, any_of(knee.has("distal_pulses"), cool)),
        "known_aneurysm": all_of(mass, knee.said("known_aneurysm")),
        "older_man": all_of(None if sex is None else sex is Sex.MALE, older),
    }
    prone = any_of(criteria["older_man"], knee.said("known_aneurysm"))
    lump = any_of(knee.has("posterior_swelling"), knee.said("lump_noticed"))
    return Reading(
        criteria=criteria,
        met=True if any_of(criteria["poor_flow"], criteria["known_aneurysm"]) else pulsation,
        relevant=hint(any_of(pulsation, mass, all_of(prone, lump))),
        excluded=artery_shown_ill(knee) is True or foot_in_danger(knee),
    )


def poor_arteries(knee: Knee) -> Reading:
    """Arteries known to be narrow, in a leg that may be operated on, bandaged or given a tourniquet."""
    criteria = {
        "known": knee.said("known_arterial_disease"),
        "pulses": knee.has("distal_pulses"),
        "index_below_0_90": given(knee.measure("ankle_brachial_index"), lambda index: index < INDEX_LIMIT),
    }
    known, pulses, index = criteria.values()
    return Reading(
        criteria=criteria,
        met=all_of(known, any_of(pulses, index)),
        relevant=None if pulses is False and not index else all_of(knee.complained_of, hint(known)),
        excluded=foot_in_danger(knee),
    )
