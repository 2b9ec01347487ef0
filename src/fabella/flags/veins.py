"""Deep vein thrombosis: by points, by what raises the suspicion, and in pregnancy."""

from fabella.flags.explanations import unless
from fabella.flags.knee import Knee
from fabella.flags.logic import Truth, all_of, any_of, at_least, hint, negate
from fabella.flags.reading import Reading
from fabella.flags.story import FRESH_DAYS, injured_within, within_days
from fabella.flags.wells import LIKELY_POINTS_2003, VeinFacts, calf_larger, items, points_2003

_UNSCORED = ("pregnancy", "clot_risk")
"""Risks that give no point, and count once told."""


def dvt_2003(knee: Knee) -> Reading:
    """Likely at 2 points; below, only a D-dimer excludes it, so the rule stays open."""
    facts = vein_facts(knee)
    criteria = {**items(facts), "alternative": facts.alternative_as_likely, "d_dimer": None}
    suspected = _suspected(knee, facts)
    concerned = suspected or knee.complained_of is not False  # the person's risks say nothing of a silent leg
    points = points_2003(facts)
    likely = concerned and points.sure >= LIKELY_POINTS_2003
    return Reading(
        criteria=criteria,
        met=True if likely else None,
        relevant=suspected if likely else unless(_explained(knee, facts), suspected),
        excluded=knee.said("pregnancy") is True,
        total={"sure": points.sure, "possible": points.possible},
    )


def dvt_suspected(knee: Knee) -> Reading:
    """Two signs in one leg without a fresh injury, one beside a risk, or the whole of it lately swollen.

    A leg that swells and pits, and not the other, has two. The suspicion itself asks for a D-dimer today.
    """
    facts = vein_facts(knee)
    beyond = knee.across.has("pitting_oedema")
    criteria = {
        "calf_pain": knee.said("calf_pain"),
        "deep_vein_tenderness": facts.deep_vein_tenderness,
        "swelling": any_of(facts.whole_leg_swollen, _thicker(knee, facts)),
        "pitting_oedema": False if beyond else _new(knee, "pitting_oedema"),
        "superficial_veins": facts.superficial_veins,
        "risk": any_of(_scored_risk(facts), knee.said("clot_risk")),
    }
    *signs, risk = criteria.values()
    alone = knee.across.has("whole_leg_swollen") is not True
    lately = all_of(alone, knee.complained_of, within_days(knee, FRESH_DAYS))
    two = any_of(at_least(2, *signs), all_of(facts.whole_leg_swollen, lately))
    beside_a_risk = unless(_explained(knee, facts), all_of(any_of(*signs), risk))
    return Reading(
        criteria=criteria,
        met=any_of(two, beside_a_risk),
        relevant=all_of(
            unless(_strained(knee, facts) if two else _explained(knee, facts), _suspected(knee, facts)),
            injured_within(knee, FRESH_DAYS) is not True,
        ),
        excluded=knee.said("pregnancy") is True,
    )


def dvt_in_pregnancy(knee: Knee) -> Reading:
    """RCOG Green-top 37b: the veins are scanned whenever a clot is suspected; score and D-dimer fail."""
    facts = vein_facts(knee)
    suspected = _suspected(knee, facts)
    likely = points_2003(facts).sure >= LIKELY_POINTS_2003  # no cause at hand explains so much away
    sign = suspected if likely else unless(_explained(knee, facts), suspected)
    criteria = {"pregnant": knee.said("pregnancy"), "leg_sign": sign}
    return Reading(
        criteria=criteria,
        met=all_of(*criteria.values()),
        relevant=all_of(hint(criteria["pregnant"]), sign),
    )


def embolism(knee: Knee) -> Reading:
    """Breathlessness or chest pain beside a suspected thrombosis, of the one leg or the other."""
    breathless = knee.said("breathless_or_chest_pain")
    suspected, beyond = (_suspected(each, vein_facts(each)) for each in (knee, knee.across))
    criteria = {"suspected_dvt": suspected, "breathless_or_chest_pain": breathless}
    return Reading(
        criteria=criteria,
        met=all_of(*criteria.values()),
        relevant=unless(beyond is True and suspected is not True, hint(breathless)),
    )


def vein_facts(knee: Knee) -> VeinFacts:
    """Gather the facts; whether another diagnosis is as likely is the doctor's to say, and never recorded.

    A swelling that is all old and in no way worse is not that of a new clot, nor does it exclude one.
    """
    here, there = knee.measure("calf_girth"), knee.across.measure("calf_girth")
    old = knee.said("old_leg_swelling")
    return VeinFacts(
        active_cancer=knee.said("active_cancer"),
        paralysis_or_plaster=knee.said("leg_paralysed_or_in_plaster"),
        bed_rest_3_days=knee.said("bed_rest_3_days"),
        immobilised=knee.said("immobilised_recently"),
        surgery_12_weeks=knee.said("major_surgery_12_weeks"),
        deep_vein_tenderness=knee.has("tenderness_calf"),
        whole_leg_swollen=_new(knee, "whole_leg_swollen"),
        calf_difference_cm=None if old or here is None or there is None else here - there,
        pitting_this_side_only=all_of(
            _new(knee, "pitting_oedema"), negate(knee.across.has("pitting_oedema"))
        ),
        superficial_veins=knee.has("superficial_veins"),
        previous_dvt=knee.said("previous_dvt"),
    )


def _suspected(knee: Knee, facts: VeinFacts) -> Truth:
    """Say whether anything in this leg raises the suspicion."""
    return any_of(
        facts.deep_vein_tenderness,
        facts.whole_leg_swollen,
        _thicker(knee, facts),
        _new(knee, "pitting_oedema"),
        facts.superficial_veins,
        knee.said("calf_pain"),
    )


def _explained(knee: Knee, facts: VeinFacts) -> Truth:
    """Say whether one sign alone has another cause at hand (judgement).

    Veins over a mass; pain of the calf that comes with exertion, or beside a weak or too wide pulse; oedema
    of both shins alike; a calf sore from a fresh injury when every risk of thrombosis was asked about and
    denied, but never in pregnancy. One swollen leg is never explained away.
    """
    swollen = _swollen(knee, facts)
    mass = any_of(knee.has("palpable_mass"), knee.has("popliteal_mass"))
    sore, aching, veins = facts.deep_vein_tenderness, knee.said("calf_pain"), facts.superficial_veins
    over_a_mass = all_of(mass, veins, not sore, not aching)
    artery = any_of(knee.has("popliteal_pulsation"), knee.has("distal_pulses"))
    on_exertion = all_of(aching, any_of(knee.said("activity_pain"), artery), not sore, not veins)
    both = all_of(
        knee.has("pitting_oedema"), knee.across.has("pitting_oedema"), not sore, not aching, not veins
    )
    return all_of(not swollen, any_of(over_a_mass, on_exertion, both, _strained(knee, facts)))


def _strained(knee: Knee, facts: VeinFacts) -> Truth:
    """Say whether a calf is sore from a fresh injury or a pop felt lately, and every risk was denied."""
    popped = all_of(
        any_of(knee.said("pop_heard"), knee.said("could_not_continue")), within_days(knee, FRESH_DAYS)
    )
    sore = any_of(facts.deep_vein_tenderness, knee.said("calf_pain"))
    swollen = _swollen(knee, facts)
    hurt = any_of(injured_within(knee, FRESH_DAYS), popped)
    no_risk = negate(any_of(*(knee.said(each) is True for each in _UNSCORED), _scored_risk(facts)))
    return all_of(hurt, sore, not swollen, not facts.superficial_veins, no_risk)


def _scored_risk(facts: VeinFacts) -> Truth:
    """Say whether the patient clots easily by an item of the score."""
    each = items(facts)
    scored = (each[risk] for risk in ("active_cancer", "immobilised", "bed_rest_or_surgery", "previous_dvt"))
    return True if facts.immobilised else any_of(*scored)


def _swollen(knee: Knee, facts: VeinFacts) -> Truth:
    return any_of(facts.whole_leg_swollen, _thicker(knee, facts), facts.pitting_this_side_only)


def _thicker(knee: Knee, facts: VeinFacts) -> Truth:
    """Say whether the calf is thicker, by the score's 3 cm, or by eye where no tape was used (judgement)."""
    larger = calf_larger(facts)
    by_eye = hint(all_of(_new(knee, "calf_girth"), knee.has("calf_wasting") is not True))
    return by_eye if larger is None else larger


def _new(knee: Knee, sign: str) -> Truth:
    """Return a swelling that becomes unknown where all of it is old and in no way worse."""
    return unless(knee.said("old_leg_swelling"), knee.has(sign))
