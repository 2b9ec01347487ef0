"""Young people: growth plates, weeks of pain with a limp or illness, bruises, calf pain on exertion."""

from fabella.flags.explanations import unless
from fabella.flags.imaged import break_shown, fracture_shown
from fabella.flags.knee import Knee
from fabella.flags.limb import leg_in_danger
from fabella.flags.logic import Truth, all_of, any_of, hint
from fabella.flags.picture import feverish, hip_rotation_short, out_of_shape, red_or_hot, tender_bone
from fabella.flags.reading import Reading
from fabella.flags.story import FRESH_DAYS, child, injured_within, not_injured, persistent
from fabella.record import Mechanism

YOUNG_YEARS = 25  # "young person" in NICE NG12: up to 24 (from memory)
CHILD_YEARS = 16  # "child" in NICE NG12: up to 15 (from memory)
INFANT_YEARS = 1  # judgement: before it few walk
SMALL_YEARS = 3  # judgement: too small to tell what happened
WEEKS_DAYS = 14  # judgement: a limp of two weeks is no bruise
ARTERY_YEARS = 40  # judgement: hardened arteries are rare below it

_APOPHYSES = ("tenderness_tibial_tubercle", "tubercle_prominent", "tenderness_inferior_pole")


def illness_young(knee: Knee) -> Reading:
    """NICE NG12: unexplained or persistent bone pain, here with what points to blood or bone."""
    small = child(knee, under_years=CHILD_YEARS)
    limping = any_of(knee.has("antalgic_gait"), knee.has("unable_to_weight_bear"))
    elsewhere = any_of(knee.said("other_joints_painful"), knee.has("other_joints_swollen"))
    criteria = {
        "weeks": _for_weeks(knee),
        "limp": all_of(small, limping, _explained(knee) is not True),
        "ill": any_of(
            feverish(knee),
            knee.said("weight_loss"),
            *map(knee.has, ("pallor", "bruises_elsewhere", "lymph_nodes_enlarged")),
        ),
        "several_sites": all_of(small, elsewhere),
    }
    lasting, *signs = criteria.values()
    return Reading(
        criteria=criteria,
        met=all_of(lasting, any_of(*signs)),
        relevant=all_of(
            child(knee, under_years=YOUNG_YEARS),
            knee.complained_of,
            injured_within(knee, FRESH_DAYS) is not True,
            hint(any_of(*signs)),
        ),
        excluded=knee.said("known_inflammatory_arthritis") is True,
    )


def _for_weeks(knee: Knee) -> Truth:
    """Say whether it has hurt for weeks; nobody loses weight in days, where no one told since when."""
    weeks = persistent(knee, WEEKS_DAYS)
    return hint(knee.said("weight_loss")) if weeks is None else weeks


def bruised_child(knee: Knee) -> Reading:
    """Bruises of a child that no knock explains: blood (NICE NG12), or harm done to it (common practice)."""
    criteria = {"bruises": knee.has("bruises_elsewhere")}
    (bruises,) = criteria.values()
    return Reading(
        criteria=criteria,
        met=bruises,
        relevant=all_of(child(knee, under_years=CHILD_YEARS), hint(bruises)),
    )


def small_child_fracture(knee: Knee) -> Reading:
    """A bone of a child that does not walk yet, or one that nothing told explains: harm done, or weak bone.

    Before the first birthday the bedside is enough where nothing is hot and nobody feverish; later an image
    decides, for a small child that walks breaks its shin unseen, and is not harmed (judgement).
    """
    tender, unused = tender_bone(knee), knee.has("unable_to_weight_bear")
    picture = any_of(all_of(tender, unused), all_of(out_of_shape(knee), any_of(tender, unused)))
    infant = child(knee, under_years=INFANT_YEARS)
    septic = any_of(feverish(knee), red_or_hot(knee))
    criteria = {
        "not_walking_yet": infant,
        "no_story": not_injured(knee),
        "broken": any_of(hint(knee.reading(fracture_shown).rings), all_of(infant, unless(septic, picture))),
    }
    _, untold, broken = criteria.values()
    return Reading(
        criteria=criteria,
        met=all_of(broken, any_of(infant, untold)),
        relevant=all_of(child(knee, under_years=SMALL_YEARS), hint(broken)),
    )


def growth_plate(knee: Knee) -> Reading:
    """Veenema 1999: a young knee that opens to the side over tender bone is broken through the growth plate.

    Until a film shows otherwise; the plate gives before the ligament.
    """
    sideways = ("valgus_stress_0", "valgus_stress_30", "varus_stress_0", "varus_stress_30")
    criteria = {
        "recent_injury": injured_within(knee, FRESH_DAYS),
        "opens": any_of(*map(knee.has, sideways)),
        "bone_tender": tender_bone(knee),
    }
    injury, opens, _ = criteria.values()
    return Reading(
        criteria=criteria,
        met=all_of(*criteria.values()),
        relevant=all_of(child(knee, under_years=CHILD_YEARS), injury, hint(opens)),
        excluded=break_shown(knee),
    )


def popliteal_entrapment(knee: Knee) -> Reading:
    """Calf pain on exertion in a young person: the artery may be caught behind the knee."""
    exertional = _calf_pain_on_exertion(knee)
    criteria = {
        "exertional_calf_pain": exertional,
        "pulse_lost": knee.has("pulse_lost_on_foot_movement"),
    }
    return Reading(
        criteria=criteria,
        met=exertional,
        relevant=_young_with_calf_pain(knee),
        excluded=knee.is_at_least("distal_pulses", "absent") is True,
    )


def young_leg_without_pulses(knee: Knee) -> Reading:
    """Foot pulses lost at rest below 40, with calf pain on exertion: the artery may be blocked."""
    absent = knee.is_at_least("distal_pulses", "absent")
    criteria = {
        "exertional_calf_pain": _calf_pain_on_exertion(knee),
        "pulses_absent": absent,
    }
    return Reading(
        criteria=criteria,
        met=all_of(*criteria.values()),
        relevant=all_of(_young_with_calf_pain(knee), hint(absent)),
        excluded="popliteal_artery_disease" in knee.shown or leg_in_danger(knee),
    )


def _calf_pain_on_exertion(knee: Knee) -> Truth:
    return all_of(_calf_troubles(knee), knee.said("activity_pain"))


def _calf_troubles(knee: Knee) -> Truth:
    return any_of(knee.said("calf_pain"), hint(knee.has("compartment_tense")))


def _young_with_calf_pain(knee: Knee) -> Truth:
    """Say whether calf pain without a fresh injury is told below the age of hardened arteries."""
    return all_of(
        child(knee, under_years=ARTERY_YEARS),
        injured_within(knee, FRESH_DAYS) is not True,
        hint(_calf_troubles(knee)),
    )


def _explained(knee: Knee) -> Truth:
    """Say whether overuse, a sore apophysis or a mechanical symptom explains a child's limp (judgement).

    So does a hip that turns too little and hurts, which has a rule of its own.
    """
    return any_of(
        all_of(hip_rotation_short(knee), knee.has("hip_rotation_pain")),
        knee.context.mechanism is Mechanism.OVERUSE,
        *map(knee.has, _APOPHYSES),
        knee.said("locking"),
        knee.said("giving_way"),
    )
