"""Possible fracture: the published rules for radiographs, and whom they do not cover."""

from fabella.flags.explanations import (
    acutely_inflamed,
    local_cause,
    tender_bone_unexplained,
    unless,
)
from fabella.flags.imaged import break_shown, spared_after_films, stress_fracture_shown
from fabella.flags.knee import Knee
from fabella.flags.logic import Truth, agreed, all_of, any_of, at_least, denial, given, hint, negate
from fabella.flags.picture import (
    effusion,
    large_effusion,
    out_of_shape,
    tender_besides_patella,
    tender_bone,
    tender_somewhere,
)
from fabella.flags.reading import Reading
from fabella.flags.story import (
    FRESH_DAYS,
    RECENT_DAYS,
    child,
    injured,
    injured_within,
    not_injured,
    recent_injury,
    within_days,
)
from fabella.record import ImageKind, Mechanism

OTTAWA_AGE_YEARS = 55  # 55 itself counts; some summaries misprint "over 55"
OTTAWA_FLEXION_DEG = 90.0  # 90 itself does not count
OTTAWA_DAYS = 7
OTTAWA_CHILD_YEARS = 5  # 5 itself is too young
PITTSBURGH_AGES_YEARS = (12, 50)  # neither 12 nor 50 counts
PITTSBURGH_DAYS = 6
FALLS_AND_BLOWS = frozenset(
    {Mechanism.DIRECT_BLOW, Mechanism.FALL_ON_KNEE, Mechanism.MINOR_FALL, Mechanism.HIGH_ENERGY}
)
RADIOGRAPH_AGE_YEARS = 5
WEAK_BONE_YEARS = 65  # judgement: from here on bone gives way under ordinary load


def ottawa_knee(knee: Knee) -> Reading:
    """Stiell 1995, 1996; over 5 years of age: Vijayasankar 2009."""
    criteria = {
        "age_55": given(knee.age_years, lambda years: years >= OTTAWA_AGE_YEARS),
        "isolated_patellar_tenderness": all_of(
            knee.has("tenderness_patella"), negate(tender_besides_patella(knee))
        ),
        "fibular_head": knee.has("tenderness_fibular_head"),
        "flexion_below_90": _cannot_bend_to(knee, OTTAWA_FLEXION_DEG),
        "four_steps": all_of(knee.said("unable_to_weight_bear_at_injury"), knee.has("unable_to_weight_bear")),
    }
    too_young = given(knee.age_years, lambda years: years <= OTTAWA_CHILD_YEARS)
    too_late = given(knee.context.onset_days, lambda days: days > OTTAWA_DAYS)
    return Reading(
        criteria=criteria,
        met=any_of(*criteria.values()),
        relevant=injured_within(knee, OTTAWA_DAYS),
        excluded=any_of(too_young, too_late, _unreliable(knee), knee.said("pregnancy")) is True,
    )


def pittsburgh_knee(knee: Knee) -> Reading:
    """Seaberg 1994, 1998."""
    young, old = PITTSBURGH_AGES_YEARS
    criteria = {
        "fall_or_blow": agreed(
            knee.said("fall_or_blunt_trauma"), hint(knee.context.mechanism in FALLS_AND_BLOWS)
        ),
        "age_below_12_or_above_50": given(knee.age_years, lambda years: years < young or years > old),
        "four_steps_now": knee.has("unable_to_weight_bear"),
    }
    fall, *rest = criteria.values()
    otherwise = knee.context.mechanism is not None and not fall  # a twist of which no fall was told
    too_late = given(knee.context.onset_days, lambda days: days > PITTSBURGH_DAYS)
    earlier = any_of(knee.said("previous_injury"), knee.said("previous_surgery"), knee.said("pregnancy"))
    return Reading(
        criteria=criteria,
        met=all_of(fall, any_of(*rest)),
        relevant=unless(otherwise, injured_within(knee, PITTSBURGH_DAYS)),
        excluded=any_of(too_late, earlier) is True,
    )


def fracture_rule_not_usable(knee: Knee) -> Reading:
    """Known exclusions of the fracture rules, in which a negative rule would prove nothing."""
    not_used = any_of(knee.has("unable_to_weight_bear"), tender_bone(knee))
    criteria = {
        "recent_injury": injured_within(knee, OTTAWA_DAYS),
        "reduced_consciousness": knee.said("intoxicated_or_reduced_consciousness"),
        "reduced_sensation": any_of(knee.has("peroneal_sensation"), knee.has("tibial_nerve_sensation")),
        "pregnant": knee.said("pregnancy"),
        "young_child_not_walking": all_of(child(knee, under_years=OTTAWA_CHILD_YEARS + 1), not_used),
    }
    fresh, *exclusions = criteria.values()
    met = all_of(fresh, any_of(*exclusions))
    return Reading(criteria=criteria, met=met, relevant=hint(any_of(*exclusions)))


def tender_bone_not_weight_bearing(knee: Knee) -> Reading:
    """A fresh injury that leaves bone tender or the joint full, and the leg unable to carry.

    A leg that still cannot carry weeks after one, over tender bone, may hide a fracture that was missed.
    """
    fresh = injured_within(knee, OTTAWA_DAYS)
    still = all_of(recent_injury(knee), knee.has("unable_to_weight_bear"))
    criteria = {
        "recent_injury": any_of(fresh, still),
        "tender_bone": tender_bone(knee),
        "large_effusion": large_effusion(knee),
        "cannot_bear_weight": _cannot_bear_weight(knee),
    }
    _, tender, full, unable = criteria.values()
    cleared = knee.reading(ottawa_knee).met is False
    full_now = all_of(full, knee.has("unable_to_weight_bear"), not cleared)
    return Reading(
        criteria=criteria,
        met=any_of(all_of(fresh, any_of(all_of(tender, unable), full_now)), all_of(still, tender)),
        relevant=any_of(all_of(fresh, hint(any_of(tender, full, unable))), hint(still)),
        excluded=break_shown(knee),
        spares=spared_after_films(knee, still=knee.has("unable_to_weight_bear")),
    )


def fracture_without_force(knee: Knee) -> Reading:
    """Tender bone in a leg that gives up or deforms without an injury."""
    criteria = {
        "no_injury": not_injured(knee),
        "tender_bone": tender_bone(knee),
        "cannot_bear_weight": knee.has("unable_to_weight_bear"),
        "deformity": out_of_shape(knee),
    }
    no_injury, tender, unable, deformed = criteria.values()
    return Reading(
        criteria=criteria,
        met=all_of(no_injury, tender, any_of(unable, deformed)),
        relevant=all_of(
            knee.complained_of,
            hint(any_of(unless(acutely_inflamed(knee) and not tender, unable), all_of(tender, deformed))),
        ),
        excluded=injured(knee) is True,
    )


def stress_fracture(knee: Knee) -> Reading:
    """Tender bone in a leg that was loaded more, that hurts when it lands, or whose bone is weak."""
    criteria = {
        "bone_tender": tender_bone_unexplained(knee),
        "training": knee.said("training_increase"),
        "hop_pain": knee.has("hop_pain"),
        "weak_bone": _gives_way_lately(knee),
    }
    tender, *loaded = criteria.values()
    met = all_of(tender, any_of(*loaded))
    asks = unless(local_cause(knee), hint(at_least(2, *criteria.values())))
    return Reading(
        criteria=criteria,
        met=met,
        relevant=all_of(knee.complained_of, any_of(hint(met), asks)),
        excluded=injured_within(knee, FRESH_DAYS) is True or bool(stress_fracture_shown(knee).met),
        spares=frozenset() if knee.has_read(ImageKind.RADIOGRAPH) else frozenset({"mri"}),
    )


def _gives_way_lately(knee: Knee) -> Truth:
    """Say whether a leg of weak bone has carried badly for some weeks only, as a worn one has for years.

    A joint that lately is hot and swollen limps for that, and its bone is tender beside it.
    """
    old = given(knee.age_years, lambda years: years >= WEAK_BONE_YEARS)
    weak = any_of(old, knee.said("steroid_or_quinolone"))
    limps = all_of(knee.is_at_least("antalgic_gait", "marked"), within_days(knee, RECENT_DAYS))
    return unless(acutely_inflamed(knee), all_of(weak, limps))


def acute_knee_radiograph(knee: Knee) -> Reading:
    """Appropriateness criteria for acute trauma to the knee, revised 2019."""
    criteria = {
        "recent_injury": injured_within(knee, 14),
        "focal_tenderness": tender_somewhere(knee),
        "effusion": effusion(knee),
        "cannot_bear_weight": _cannot_bear_weight(knee),
    }
    injury, *signs = criteria.values()
    met = all_of(injury, any_of(*signs))
    _, full, unable = signs
    cleared = full is False and unable is False and knee.reading(ottawa_knee).met is False
    return Reading(
        criteria=criteria,
        met=met,
        relevant=any_of(hint(met), unless(cleared, injury)),
        excluded=given(knee.age_years, lambda years: years < RADIOGRAPH_AGE_YEARS) is True,
    )


def _cannot_bend_to(knee: Knee, deg: float) -> Truth:
    """Say whether the knee stops before an angle; one that moves freely answers without a reading."""
    measured = (_stops_before(knee, sign, deg) for sign in ("active_flexion", "passive_flexion"))
    return agreed(*measured, denial(knee.has("range_of_motion_limited")))


def _stops_before(knee: Knee, sign: str, deg: float) -> Truth:
    bends = knee.measure(sign)
    return denial(knee.has(sign)) if bends is None else bends < deg


def _cannot_bear_weight(knee: Knee) -> Truth:
    """Say whether the leg carries now; until somebody has watched, what happened at the injury stands in."""
    now = knee.has("unable_to_weight_bear")
    return hint(knee.said("unable_to_weight_bear_at_injury")) if now is None else now


def _unreliable(knee: Knee) -> Truth:
    return any_of(
        knee.said("intoxicated_or_reduced_consciousness"),
        knee.has("peroneal_sensation"),
        knee.has("tibial_nerve_sensation"),
    )
