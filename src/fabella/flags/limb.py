"""The limb at risk: dislocation, arteries and compartments."""

from fabella.flags.explanations import unless
from fabella.flags.knee import Knee
from fabella.flags.laxity import two_ligament_groups
from fabella.flags.logic import Truth, agreed, all_of, any_of, at_least, denial, given, hint, negate
from fabella.flags.picture import gross_hyperextension, nerve_sign, numb_foot, out_of_shape, weak_foot
from fabella.flags.reading import Reading
from fabella.flags.story import (
    FRESH_DAYS,
    injured_within,
    operated_within,
    recent_injury,
    within_days,
)
from fabella.record import Mechanism

INDEX_LIMIT = 0.90  # 0.90 itself is normal (Mills 2004)
REFILL_LIMIT_S = 2.0  # common practice
SHORT_HISTORY_DAYS = 14  # common practice
PRESSURE_DAYS = 3  # judgement: a compartment that has not swelled by then seldom will
_CUT_OR_CRUSHED = frozenset({Mechanism.HIGH_ENERGY, Mechanism.PENETRATING})
_PAIN_OF_THE_KNEE = ("pain_anterior", "pain_medial", "pain_lateral")
SWELL_INSIDE = frozenset({"tibial_plateau_fracture", "tibial_tubercle_avulsion"})
"""Fractures that bleed into the compartments of the lower leg."""
BOTH_CRUCIATES = frozenset({"acl_tear", "pcl_tear"})


def deformity_after_injury(knee: Knee) -> Reading:
    """A knee out of shape after an injury is broken or dislocated."""
    criteria = {"recent_injury": recent_injury(knee), "deformity": out_of_shape(knee)}
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
    """Mills 2004 and Boyce 2015; hard signs by common practice.

    Pulses that are as weak in the other foot, which was not hurt, may have been so before: of a knee that is
    not suspected to have been dislocated they only ask for the rest.
    """
    overall = knee.has("distal_neurovascular")
    pulses = agreed(knee.has("distal_pulses"), denial(overall))
    criteria = {
        "pulses": unless(_weak_alike(knee), pulses),
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
            all_of(
                any_of(recent_injury(knee), operated_within(knee, FRESH_DAYS)), hint(any_of(poor, pulses))
            ),
        ),
    )


def _weak_alike(knee: Knee) -> bool:
    """Say whether the other foot, of a leg not hurt, has pulses as weak; after no great force or wound."""
    there = knee.across
    absent = knee.is_at_least("distal_pulses", "absent") is not False
    alike = there.is_at_least("distal_pulses", "absent" if absent else "weak") is True
    grave = knee.context.mechanism in _CUT_OR_CRUSHED or knee.said("penetrating_injury") is True
    spared = there.complained_of is False and not grave
    return alike and spared and dislocation_suspected(knee) is not True


def ischaemic_foot(knee: Knee) -> Reading:
    """A foot lately without pulses, or beside one with good pulses, is an emergency without any injury.

    Who loses a leg's blood supply in a day often has poor pulses in the other leg as well, and a clot can
    take both; after years it is pain at rest that says that the leg is in danger. A pulse that is weak in a
    cool foot may be the examiner's own: whether there is one is open, unless a mass behind the knee explains
    it as an artery full of clot. Feet that were both cool for long say nothing of it. A calf that lately
    hurts, and not on exertion only, asks the same of a weak pulse above a foot nobody felt. Where a clot may
    come from, in atrial fibrillation or an aneurysm, a weak pulse in the one cool foot is lost until proved
    otherwise. A foot that hurts at night asks for its pulses.
    """
    lately = began_lately(knee)
    alike = knee.across.has("cool_foot") is True and lately is False
    hurts_lately = all_of(knee.said("calf_pain"), not knee.said("activity_pain"), lately)
    short = True if hurts_lately and knee.has("cool_foot") is None else knee.has("cool_foot")
    faint = not alike and all_of(knee.has("distal_pulses"), short)
    source = any_of(*map(knee.said, ("atrial_fibrillation", "known_aneurysm")))
    cold_both = all_of(knee.across.has("cool_foot"), knee.across.has("distal_pulses"))
    sent = all_of(faint, source, lately, cold_both is not True)
    none = True if sent else None if faint else False
    absent = any_of(knee.is_at_least("distal_pulses", "absent"), none)
    lump = any_of(knee.has("popliteal_mass"), knee.has("popliteal_pulsation"), artery_shown_ill(knee))
    clotted = all_of(lump, any_of(absent is True, faint))
    refill = given(knee.measure("capillary_refill_s"), lambda s: s > REFILL_LIMIT_S)
    criteria = {
        "pulses_absent": absent,
        "other_foot_has_pulses": negate(knee.across.has("distal_pulses")),
        "lately": lately,
        "rest_pain": _foot_hurts_at_rest(knee),
        "below_a_mass": clotted,
        "clot_source": source,
        "poor_flow": any_of(knee.has("cool_foot"), refill, numb_foot(knee)),
    }
    other, hurts, poor = (criteria[each] for each in ("other_foot_has_pulses", "rest_pain", "poor_flow"))
    unfelt = knee.said("foot_pain_at_night") and not _pulses_felt(knee)
    return Reading(
        criteria=criteria,
        met=all_of(any_of(absent, clotted), any_of(other, lately, hurts, clotted is True), poor),
        relevant=hint(any_of(absent, faint, cold_foot_unfelt(knee), unfelt)),
        excluded=recent_injury(knee) is True or knee.reading(vascular_injury).rings,
    )


def cold_foot_unfelt(knee: Knee) -> bool:
    """Say whether one foot is cool, or is lately cool and numb or weak, and nobody felt for its pulses."""
    lost = all_of(any_of(weak_foot(knee), numb_foot(knee)), began_lately(knee))
    alone = negate(knee.across.has("cool_foot"))
    return not _pulses_felt(knee) and all_of(knee.has("cool_foot"), any_of(alone, lost)) is True


def _pulses_felt(knee: Knee) -> bool:
    return knee.has("distal_pulses") is not None or knee.has("distal_neurovascular") is False


def began_lately(knee: Knee) -> Truth:
    """Say whether this leg is complained of, and for two weeks or less."""
    return all_of(knee.complained_of, within_days(knee, SHORT_HISTORY_DAYS))


def compartment_syndrome(knee: Knee) -> Reading:
    """BOA standard 2014: pain first; pulses never reassure.

    It comes without injury too, from a bleed, a ruptured cyst or a long lie (common practice). Not from a
    leg that has for weeks been tense on exertion only, and that nothing bleeds or bursts into: that is open
    until pain at rest was asked about.
    """
    signs = {
        "pain_out_of_proportion": knee.said("pain_out_of_proportion"),
        "pain_on_passive_stretch": knee.has("passive_toe_stretch_pain"),
        "tense_compartment": knee.has("compartment_tense"),
    }
    any_sign, out_of_proportion = any_of(*signs.values()), signs["pain_out_of_proportion"]
    at_rest = True if knee.said("night_pain") else knee.said("rest_pain")
    operated = all_of(
        knee.complained_of, knee.said("major_surgery_12_weeks"), within_days(knee, SHORT_HISTORY_DAYS)
    )
    lately = operated_within(knee, SHORT_HISTORY_DAYS)
    nerves = any_of(nerve_sign(knee, "foot_drop"), numb_foot(knee))
    together = any_of(at_least(2, *signs.values()), all_of(signs["tense_compartment"], nerves))
    # Worse than a leg that is tense after running.
    worse = any_of(at_rest, nerves, out_of_proportion, hint(_may_bleed_or_burst(knee)))
    lasting = all_of(not lately, negate(within_days(knee, SHORT_HISTORY_DAYS)), not worse)
    at_risk = any_of(recent_injury(knee), operated, hint(lately), unless(lasting, hint(together)))
    fresh = within_days(knee, PRESSURE_DAYS) is not False
    threatens = fresh and any_of(dislocation_suspected(knee), hint(not knee.shown.isdisjoint(SWELL_INSIDE)))
    exertional = all_of(lasting, knee.said("activity_pain"), at_rest is False)
    return Reading(
        criteria={**signs, "at_rest": at_rest},
        met=any_sign,
        relevant=any_of(threatens, all_of(at_risk, hint(any_sign))),
        excluded=exertional is True and not threatens and recent_injury(knee) is not True,
    )


def _may_bleed_or_burst(knee: Knee) -> Truth:
    """Say whether blood that does not clot, a cyst or a swollen leg may have made a calf tense."""
    blood = any_of(knee.said("anticoagulant"), knee.said("bleeding_disorder"))
    return any_of(blood, knee.has("posterior_swelling"), knee.has("whole_leg_swollen"))


def leg_in_danger(knee: Knee) -> bool:
    """Say whether lost blood or pressure in the leg explains that it is weak and hurts at rest."""
    return foot_in_danger(knee) or knee.reading(compartment_syndrome).rings


def foot_in_danger(knee: Knee) -> bool:
    """Say whether a rule about lost blood of the foot is met: slower words about its artery rest then."""
    return any(knee.reading(rule).rings for rule in (ischaemic_foot, vascular_injury))


def _foot_hurts_at_rest(knee: Knee) -> Truth:
    """Say whether it is the foot that hurts at rest; of a knee that hurts itself that has to be asked."""
    foot = knee.said("foot_pain_at_night")
    told = any_of(knee.said("rest_pain"), knee.said("night_pain"))
    return unless(any_of(*map(knee.said, _PAIN_OF_THE_KNEE)), told) if foot is None else foot


def artery_shown_ill(knee: Knee) -> Truth:
    """Say whether an image shows the artery behind the knee widened or pinched; none shows it sound."""
    return True if "popliteal_artery_disease" in knee.shown else None
