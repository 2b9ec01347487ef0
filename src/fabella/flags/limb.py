"""The limb at risk: dislocation, arteries, nerves, compartments and open joints."""

from fabella.flags.explanations import unless
from fabella.flags.knee import Knee
from fabella.flags.laxity import two_ligament_groups
from fabella.flags.logic import Truth, agreed, all_of, any_of, at_least, denial, given, hint, negate
from fabella.flags.picture import gross_hyperextension
from fabella.flags.reading import Reading
from fabella.flags.story import (
    FRESH_DAYS,
    RECENT_DAYS,
    injured,
    injured_within,
    not_injured,
    operated_lately,
    operated_within,
    recent_injury,
    within_days,
)
from fabella.record import Sex

INDEX_LIMIT = 0.90  # 0.90 itself is normal (Mills 2004)
REFILL_LIMIT_S = 2.0  # common practice
SHORT_HISTORY_DAYS = 14  # common practice
ANEURYSM_YEARS = 60  # common practice
PRESSURE_DAYS = 3  # judgement: a compartment that has not swelled by then seldom will
BOTH_CRUCIATES = frozenset({"acl_tear", "pcl_tear"})


def deformity_after_injury(knee: Knee) -> Reading:
    """A knee out of shape after an injury is broken or dislocated."""
    criteria = {"recent_injury": recent_injury(knee), "deformity": knee.has("deformity")}
    return Reading(criteria=criteria, met=all_of(*criteria.values()), relevant=hint(criteria["deformity"]))


def knee_dislocation(knee: Knee) -> Reading:
    """Boyce 2015: it may have gone back before anyone saw it.

    One lax ligament asks about the others; once they are known to hold, only a sign that was found speaks.
    """
    criteria = {
        "recent_injury": injured_within(knee, FRESH_DAYS),
        "reported": knee.said("dislocation_reported"),
        "two_ligament_groups": two_ligament_groups(knee),
        "gross_hyperextension": gross_hyperextension(knee),
        "dimple": knee.has("dimple_sign"),
        "shown": "knee_dislocation" in knee.shown or knee.shown >= BOTH_CRUCIATES,
    }
    injury, *signs = criteria.values()
    one_lax = any_of(
        *(knee.has(sign) for sign in ("lachman", "anterior_drawer", "posterior_drawer", "posterior_sag"))
    )
    return Reading(
        criteria=criteria,
        met=all_of(injury, any_of(*signs)),
        relevant=all_of(
            injury,
            any_of(hint(any_of(*signs)), unless(criteria["two_ligament_groups"] is False, hint(one_lax))),
        ),
    )


def dislocation_suspected(knee: Knee) -> Truth:
    """Say whether the knee must be treated as one that was dislocated."""
    return any_of(knee_dislocation(knee).met, deformity_after_injury(knee).met)


def vascular_injury(knee: Knee) -> Reading:
    """Mills 2004 and Boyce 2015; hard signs by common practice."""
    overall = knee.has("distal_neurovascular")
    criteria = {
        "pulses": agreed(knee.has("distal_pulses"), denial(overall)),
        "cool_foot": knee.has("cool_foot"),
        "index_below_0_90": given(knee.measure("ankle_brachial_index"), lambda index: index < INDEX_LIMIT),
        "slow_refill": given(knee.measure("capillary_refill_s"), lambda s: s > REFILL_LIMIT_S),
        "hard_signs": any_of(
            *map(knee.has, ("expanding_haematoma", "pulsatile_bleeding", "bruit_or_thrill"))
        ),
        "circulation_abnormal": overall,
    }
    poor = any_of(*criteria.values())
    return Reading(
        criteria=criteria,
        met=poor,
        relevant=any_of(
            dislocation_suspected(knee),
            all_of(any_of(recent_injury(knee), operated_within(knee, FRESH_DAYS)), hint(poor)),
        ),
    )


def ischaemic_foot(knee: Knee) -> Reading:
    """A foot lately without pulses, or beside one with good pulses, is an emergency without any injury.

    Who loses a leg's blood supply in a day often has poor pulses in the other leg as well, and a clot can
    take both; after years it is pain at rest that says that the leg is in danger. A pulse that is weak in a
    cool foot may be the examiner's own: whether there is one is open.
    """
    faint = all_of(knee.has("distal_pulses"), knee.has("cool_foot"))
    absent = any_of(knee.is_at_least("distal_pulses", "absent"), None if faint else False)
    refill = given(knee.measure("capillary_refill_s"), lambda s: s > REFILL_LIMIT_S)
    numb = any_of(knee.has("tibial_nerve_sensation"), knee.has("peroneal_sensation"))
    criteria = {
        "pulses_absent": absent,
        "other_foot_has_pulses": negate(knee.across.has("distal_pulses")),
        "lately": all_of(knee.complained_of, within_days(knee, SHORT_HISTORY_DAYS)),
        "rest_pain": any_of(knee.said("rest_pain"), knee.said("night_pain")),
        "poor_flow": any_of(knee.has("cool_foot"), refill, numb),
    }
    _, other, lately, hurts, poor = criteria.values()
    return Reading(
        criteria=criteria,
        met=all_of(absent, any_of(other, lately, hurts), poor),
        relevant=hint(any_of(absent, faint)),
        excluded=recent_injury(knee) is True,
    )


def nerve_injury(knee: Knee) -> Reading:
    """Peroneal and tibial nerves after an injury of the knee."""
    well = denial(knee.has("distal_neurovascular"))
    criteria = {
        "foot_drop": agreed(knee.has("foot_drop"), well),
        "peroneal_sensation": agreed(knee.has("peroneal_sensation"), well),
        "tibial_motor": agreed(knee.has("tibial_nerve_motor"), well),
        "tibial_sensation": agreed(knee.has("tibial_nerve_sensation"), well),
    }
    any_sign = any_of(*criteria.values())
    return Reading(
        criteria=criteria,
        met=any_sign,
        relevant=any_of(dislocation_suspected(knee), all_of(recent_injury(knee), hint(any_sign))),
    )


def foot_drop_without_injury(knee: Knee) -> Reading:
    """A foot that drops by itself: nerve root, fibular neck or cyst."""
    drop = knee.has("foot_drop")
    criteria = {"no_injury": not_injured(knee), "foot_drop": drop}
    return Reading(
        criteria=criteria,
        met=all_of(*criteria.values()),
        relevant=hint(drop),
        excluded=injured(knee) is True
        or operated_within(knee, RECENT_DAYS)
        or leg_in_danger(knee)
        or cauda_equina(knee).met is True,
    )


def compartment_syndrome(knee: Knee) -> Reading:
    """BOA standard 2014: pain first; pulses never reassure.

    It comes without injury too, from a bleed, a ruptured cyst or a long lie (common practice).
    """
    criteria = {
        "pain_out_of_proportion": knee.said("pain_out_of_proportion"),
        "pain_on_passive_stretch": knee.has("passive_toe_stretch_pain"),
        "tense_compartment": knee.has("compartment_tense"),
    }
    any_sign = any_of(*criteria.values())
    operated = all_of(
        knee.complained_of, knee.said("major_surgery_12_weeks"), within_days(knee, SHORT_HISTORY_DAYS)
    )
    lately = operated_within(knee, SHORT_HISTORY_DAYS)
    nerves = any_of(*map(knee.has, ("foot_drop", "peroneal_sensation", "tibial_nerve_sensation")))
    together = any_of(at_least(2, *criteria.values()), all_of(criteria["tense_compartment"], nerves))
    at_risk = any_of(recent_injury(knee), operated, hint(lately), hint(together))
    threatens = within_days(knee, PRESSURE_DAYS) is not False and dislocation_suspected(knee)
    return Reading(
        criteria=criteria,
        met=any_sign,
        relevant=any_of(threatens, all_of(at_risk, hint(any_sign))),
    )


def leg_in_danger(knee: Knee) -> bool:
    """Say whether lost blood or pressure in the leg explains that it is weak and hurts at rest."""
    readings = [knee.reading(rule) for rule in (ischaemic_foot, compartment_syndrome, vascular_injury)]
    return any(each.met and each.relevant and not each.excluded for each in readings)


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


def popliteal_aneurysm(knee: Knee) -> Reading:
    """A mass behind the knee that widens with the pulse, or has taken the foot's blood.

    One full of clot no longer pulsates (common practice). In an older man any lump raises the question.
    """
    pulsation, mass = knee.has("popliteal_pulsation"), knee.has("popliteal_mass")
    sex = knee.examination.patient.sex
    older = given(knee.age_years, lambda years: years >= ANEURYSM_YEARS)
    criteria = {
        "expansile_mass": pulsation,
        "poor_flow": all_of(mass, any_of(knee.has("distal_pulses"), knee.has("cool_foot"))),
        "older_man": all_of(None if sex is None else sex is Sex.MALE, older),
    }
    lump = any_of(knee.has("posterior_swelling"), knee.said("lump_noticed"))
    return Reading(
        criteria=criteria,
        met=True if criteria["poor_flow"] else pulsation,
        relevant=hint(any_of(pulsation, mass, all_of(criteria["older_man"], lump))),
        excluded="popliteal_artery_disease" in knee.shown,
    )


def cauda_equina(knee: Knee) -> Reading:
    """Bladder or saddle symptoms beside leg pain are an emergency of the spine."""
    symptoms = knee.said("bladder_or_saddle_symptoms")
    return Reading(criteria={"bladder_or_saddle": symptoms}, met=symptoms, relevant=hint(symptoms))
