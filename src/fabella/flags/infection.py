"""Infection of the joint: fresh or slow, and of a replaced knee."""

from fabella.flags.bleeding import bleed_needs_factor
from fabella.flags.explanations import (
    bled_after_injury,
    broken_without_injury,
    bursa_beside_dry_joint,
    flare_of_known_arthritis,
    ill_of_many_joints,
    unless,
)
from fabella.flags.knee import Knee
from fabella.flags.logic import Truth, all_of, any_of, hint, negate
from fabella.flags.picture import (
    feverish,
    hot,
    red_or_hot,
    restricted,
    swollen,
    tender_somewhere,
)
from fabella.flags.reading import Reading
from fabella.flags.story import (
    FRESH_DAYS,
    child,
    injured,
    injured_within,
    operated_lately,
    operated_within,
    within_days,
)

SHORT_HISTORY_DAYS = 14  # "typically 2 weeks or less" (Coakley 2006)
ADULT_YEARS = 16
MOVED_DAYS = 84  # judgement: a manipulation under anaesthesia leaves no wound, and warmth for weeks
SMALL_YEARS = 4  # in whom Kingella kingae infects joints, mostly without a fever (Ramadani 2023)
WARM_DAYS = 180  # common practice: a new knee joint stays warmer than the other for months


def septic_joint_adult(knee: Knee) -> Reading:
    """Coakley 2006: short history of a hot, swollen, tender joint with restricted movement."""
    criteria = {
        "short_history": within_days(knee, SHORT_HISTORY_DAYS),
        "hot": hot(knee),
        "swollen": swollen(knee),
        "tender": any_of(tender_somewhere(knee), hint(knee.has("motion_pain_any")), hint(knee.complained_of)),
        "restricted": any_of(restricted(knee), hint(knee.has("unable_to_weight_bear"))),
        "fever_or_unwell": feverish(knee),
        "at_risk": _at_risk(knee),
        "turbid_aspirate": _turbid(knee),
    }
    short, warm, full, tender, stiff, ill, risk, pus = criteria.values()
    more, bursa, flare = more_than_injury(knee), bursa_beside_dry_joint(knee), flare_of_known_arthritis(knee)
    elsewhere = any_of(all_of(negate(warm), negate(short)), ill_of_many_joints(knee))
    concerned = hint(all_of(ill, knee.complained_of))  # who is feverish and complains of it, examined or not

    def septic(stiff: Truth) -> Truth:
        classic = all_of(short, warm, full, tender, stiff)
        ill_enough = unless(elsewhere, all_of(ill, any_of(full, unless(bursa, all_of(warm, stiff)))))
        risky = unless(flare, all_of(short, full, risk, any_of(warm, stiff), more))
        return any_of(classic, ill_enough, risky)

    moves = restricted(knee) is False and not stiff  # full movement answers, also when nobody saw it walk
    calm = warm is False and knee.said("fever") is False and not ill and not risk
    quiet = bursa is True or calm or septic(False if moves else stiff) is False
    return Reading(
        criteria=criteria,
        met=any_of(pus, septic(stiff)),
        relevant=all_of(
            any_of(short, hint(ill), hint(pus), _undated(short, warm, full, stiff)),
            unless(quiet, any_of(hint(any_of(full, warm)), concerned)) or hint(pus),
            more,
        ),
        excluded=any_of(child(knee, under_years=ADULT_YEARS), knee.replaced, operated_lately(knee)) is True,
    )


def septic_joint_child(knee: Knee) -> Reading:
    """Common practice; the count derived for the hip (Kocher 1999) is not applied to the knee."""
    criteria = {
        "short_history": within_days(knee, SHORT_HISTORY_DAYS),
        "fever_or_unwell": feverish(knee),
        "leg_not_used": knee.has("unable_to_weight_bear"),
        "small_and_limps": all_of(child(knee, under_years=SMALL_YEARS), knee.has("antalgic_gait")),
        "hot": hot(knee),
        "swollen": swollen(knee),
        "restricted": restricted(knee),
        "turbid_aspirate": _turbid(knee),
    }
    short, ill, unused, limps, warm, full, stiff, pus = criteria.values()
    more, bursa = more_than_injury(knee), bursa_beside_dry_joint(knee)
    local = any_of(full, unless(bursa, any_of(warm, stiff)))
    classic = all_of(short, warm, full, stiff)
    mild = all_of(short, full, limps, more)
    bedside = any_of(all_of(ill, any_of(local, unused)), all_of(unused, local, more), classic, mild)
    quiet = bedside is False or (bursa is True and unused is False)
    return Reading(
        criteria=criteria,
        met=any_of(pus, bedside),
        relevant=all_of(
            child(knee, under_years=ADULT_YEARS),
            any_of(knee.complained_of, hint(local)),
            any_of(short, hint(ill), hint(unused), hint(pus), _undated(short, warm, full, stiff)),
            unless(quiet, hint(any_of(ill, unused, local))) or hint(pus),
            more,
        ),
        excluded=operated_lately(knee),
    )


def prosthetic_joint_infection(knee: Knee) -> Reading:
    """Coakley 2006: any suspicion is referred."""
    wound = any_of(knee.has("open_wound"), knee.has("sinus"))
    warm = unless(_warm_by_record(knee), knee.has("warmth"))
    criteria = {
        "prosthesis": knee.replaced,
        "fever_or_unwell": feverish(knee),
        "red_or_hot": any_of(red_or_hot(knee), warm),
        "wound": wound,
        "turbid_aspirate": _turbid(knee),
    }
    replaced, *signs, pus = criteria.values()
    quiet = any_of(*signs) is False  # nobody puts a needle into a quiet replacement to see
    return Reading(
        criteria=criteria,
        met=all_of(replaced, any_of(*signs, pus)),
        relevant=unless(quiet and not pus, hint(replaced)),
    )


def hot_knee_that_lasts(knee: Knee) -> Reading:
    """Beyond the two weeks of Coakley 2006: slow infection, crystals, synovitis, tumour (common practice).

    Of a knee that nobody knows to have been injured, and nobody dated, this much is certain: it is either
    septic until disproved, or one that has lasted.
    """
    criteria = {
        "lasting": negate(within_days(knee, SHORT_HISTORY_DAYS)),
        "red_or_hot": red_or_hot(knee),
        "swollen": swollen(knee),
        "restricted": True if knee.has("unable_to_weight_bear") else restricted(knee),
        "sinus": knee.has("sinus"),
    }
    lasting, inflamed, full, stiff, sinus = criteria.values()
    undated = lasting is None and injured(knee) is not True
    picture = all_of(inflamed, full, stiff)
    return Reading(
        criteria=criteria,
        met=any_of(sinus, all_of(True if undated else lasting, picture)),
        relevant=any_of(
            hint(sinus),
            all_of(hint(lasting), hint(inflamed), hint(full)),
            all_of(undated, knee.complained_of, hint(picture)),
        ),
        excluded=knee.replaced is True or operated_lately(knee),
    )


def _warm_by_record(knee: Knee) -> bool:
    """Say whether warmth is usual in a replaced knee: replaced of late, or moved by force and not opened."""
    done = knee.examination.procedure_of(knee.side)
    moved = done is not None and done.name.is_closed and operated_within(knee, MOVED_DAYS)
    return moved or knee.replaced_within(WARM_DAYS)


def _at_risk(knee: Knee) -> Truth:
    """Say whether the patient or the joint catches infection easily."""
    risks = (
        "recent_injection_or_aspiration",
        "skin_infection",
        "penetrating_injury",
        "immunosuppressed",
        "diabetes",
    )
    inflamed = any_of(hot(knee), restricted(knee))  # many take steroids; a joint that is quiet is not asked
    steroids = all_of(knee.said("steroid_or_quinolone"), inflamed)
    broken = any_of(knee.has("open_wound"), knee.has("graze"))
    more = (*map(knee.said, ("injects_drugs", "sickle_cell")), steroids, broken)
    return any_of(*map(knee.said, risks), *map(hint, more))


def _undated(short: Truth, warm: Truth, full: Truth, stiff: Truth) -> Truth:
    """Say whether a joint is warm, and full or stiff, while nobody has told since when; not of a dry one."""
    inflamed = all_of(warm, any_of(full, stiff), full is not False)
    return hint(inflamed) if short is None else None


def _turbid(knee: Knee) -> Truth:
    """Say whether the aspirate is turbid; blood beyond it on the scale is not turbid."""
    return all_of(
        knee.is_at_least("haemarthrosis_aspirate", "turbid"),
        negate(knee.is_at_least("haemarthrosis_aspirate", "blood")),
    )


def more_than_injury(knee: Knee) -> Truth:
    """Say whether the picture is more than a fresh injury, a break or a bleed explains (judgement).

    A joint that filled with blood is asked no further, in a bleeding disorder but for fever: only what is
    known speaks against it.
    """
    suspicious = any_of(
        feverish(knee),
        red_or_hot(knee),
        _turbid(knee),
        *map(knee.said, ("penetrating_injury", "recent_injection_or_aspiration", "immunosuppressed")),
    )
    if knee.reading(bleed_needs_factor).met:
        return any_of(feverish(knee), suspicious is True)
    if bled_after_injury(knee):
        return suspicious is True
    explained = any_of(injured_within(knee, FRESH_DAYS), broken_without_injury(knee))
    return any_of(explained is not True, suspicious)
