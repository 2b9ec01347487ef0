"""What else explains a pain, a swelling or a lump, once it is known (all judgement).

An explanation only ever turns a criterion into unknown, never into false: what was found stays found, and any
further sign speaks again by itself. One that nobody recorded explains nothing.
"""

from fabella.flags.joints import stiff_in_the_morning
from fabella.flags.knee import Knee
from fabella.flags.logic import Truth, all_of, any_of, given, hint, negate
from fabella.flags.picture import (
    FEVER_C,
    METAPHYSES,
    effusion,
    feverish,
    hip_rotation_short,
    hot,
    out_of_shape,
    restricted,
    stiff,
    swollen,
    tender_bone,
)
from fabella.flags.story import FRESH_DAYS, child, heals, injured_within, within_days

WORN_YEARS = 45
ACUTE_DAYS = 14  # the short history of a septic joint
BLOOD_WITHIN_HOURS = 6.0  # common practice
GROWING_AGES_YEARS = (3, 12)  # the ages in Peterson's definition, from memory

_SORE_PLACES = (
    "tenderness_tibial_tubercle",
    "tubercle_prominent",
    "tenderness_inferior_pole",
    "tenderness_patellar_tendon",
    "tenderness_patellar_facets",
    "patellar_apprehension",
)
_MENISCAL_TESTS = (
    "mcmurray",
    "mcmurray_medial",
    "mcmurray_lateral",
    "thessaly_20",
    "thessaly_medial",
    "thessaly_lateral",
    "apley",
)
_CATCHES = ("catching", "painful_click")
_ILL_OR_LAME = (
    "antalgic_gait",
    "palpable_mass",
    "hip_rotation_pain",
    "pallor",
    "bruises_elsewhere",
    "lymph_nodes_enlarged",
)
_DAYTIME_OR_ILL = (
    "activity_pain",
    "rest_pain",
    "swelling_noticed",
    "weight_loss",
    "fever",
    "rigors_or_unwell",
)


def unless(explained: Truth, truth: Truth) -> Truth:
    """Return a truth that an explanation, once known, makes unknown; what is false stays false."""
    return all_of(truth, None if explained else True)


def bursa_beside_dry_joint(knee: Knee) -> Truth:
    """Say whether a bursa is swollen over a joint that was examined for fluid and found dry and quiet."""
    irritable = any_of(knee.has("motion_pain_any"), knee.has("held_flexed"))
    return all_of(knee.has("prepatellar_swelling"), negate(effusion(knee)), irritable is not True)


def acutely_inflamed(knee: Knee) -> Truth:
    """Say whether a joint or bursa has been hot and swollen for two weeks at most."""
    full = any_of(swollen(knee), knee.has("prepatellar_swelling"))
    return all_of(hot(knee), full, within_days(knee, ACUTE_DAYS))


def inflamed(knee: Knee) -> Truth:
    """Say whether an inflamed joint explains pain at night: acutely, or of a known arthritis."""
    known = all_of(knee.said("known_inflammatory_arthritis"), hot(knee), swollen(knee))
    return any_of(acutely_inflamed(knee), known)


def rheumatic(knee: Knee) -> Truth:
    """Say whether a warm, swollen joint that is stiff for long in the morning explains pain at rest."""
    return all_of(hot(knee), swollen(knee), stiff_in_the_morning(knee))


def flare_of_known_arthritis(knee: Knee) -> Truth:
    """Say whether a known arthritis has flared in several joints, with a knee that moves and no fever.

    One joint out of keeping with the others is no flare, nor is one that does not move.
    """
    others = any_of(knee.has("other_joints_swollen"), swollen(knee.across))
    return all_of(
        knee.said("known_inflammatory_arthritis"),
        others,
        negate(restricted(knee)),
        feverish(knee) is not True,
    )


def ill_of_many_joints(knee: Knee) -> Truth:
    """Say whether an illness of weeks in several joints explains that somebody feels ill without a fever."""
    measured = given(knee.measure("body_temperature"), lambda celsius: celsius >= FEVER_C)
    no_fever = all_of(negate(knee.said("fever")), measured is not True)
    lasting = negate(within_days(knee, ACUTE_DAYS))
    return all_of(knee.has("other_joints_swollen"), lasting, negate(restricted(knee)), no_fever)


def broken_without_injury(knee: Knee) -> Truth:
    """Say whether a leg is out of shape over tender bone: it is broken, whatever broke it."""
    return all_of(out_of_shape(knee), tender_bone(knee))


def operated(knee: Knee) -> Truth:
    """Say whether an operation on this knee explains that it is stiff and its thigh thin."""
    return any_of(hint(knee.examination.procedure_of(knee.side) is not None), knee.said("previous_surgery"))


def bled_after_injury(knee: Knee) -> Truth:
    """Say whether a joint that filled within hours of a fresh injury explains itself: that is blood."""
    hours = knee.number_said("swelling_onset_hours")
    return all_of(injured_within(knee, FRESH_DAYS), given(hours, lambda h: h <= BLOOD_WITHIN_HOURS))


def referred(knee: Knee) -> Truth:
    """Say whether a worn hip or a nerve root explains pain at night felt in the knee."""
    grown = negate(child(knee, under_years=WORN_YEARS))
    hip = all_of(grown, hip_rotation_short(knee), knee.has("hip_rotation_pain"))
    reflex = any_of(knee.has("knee_jerk"), knee.has("ankle_jerk"))
    root = all_of(knee.has("nerve_tension"), knee.said("back_pain"), reflex)
    return any_of(hip, root)


def sore_joint(knee: Knee) -> Truth:
    """Say whether a torn meniscus or a worn joint is at hand for pain at night, as far as bone is not tender.

    A sore joint line with a meniscal test that hurts; or, at 45 or over, a joint that grates and is either
    enlarged or stiff.
    """
    line = any_of(*map(knee.has, ("joint_line_tenderness_medial", "joint_line_tenderness_lateral")))
    torn = all_of(any_of(line, knee.has("joint_line_tenderness")), any_of(*map(knee.has, _MENISCAL_TESTS)))
    grown = negate(child(knee, under_years=WORN_YEARS))
    worn = all_of(grown, knee.has("crepitus"), any_of(knee.has("bony_enlargement"), stiff(knee)))
    return all_of(any_of(torn, worn), None if tender_bone(knee) else True)


def tender_bone_unexplained(knee: Knee) -> Truth:
    """Say whether bone is tender, and not from an operation that still heals.

    The lateral condyle alone, under a band that Noble's test hurts, is not.
    """
    lateral = "tenderness_lateral_femoral_condyle"
    elsewhere = any_of(
        knee.has("bony_tenderness"), *(knee.has(site) for site in METAPHYSES if site != lateral)
    )
    band = all_of(knee.has("noble_compression"), knee.has(lateral), elsewhere is not True)
    return unless(any_of(band, heals(knee)), tender_bone(knee))


def mechanical(knee: Knee) -> Truth:
    """Say whether something in the joint catches, clicks, locks or gives way."""
    return any_of(*map(knee.said, ("locking", "giving_way", *_CATCHES)))


def catches(knee: Knee) -> Truth:
    """Say whether something catches or clicks, without locking or giving way."""
    return any_of(*map(knee.said, _CATCHES))


def loose(knee: Knee) -> Truth:
    """Say whether a patella that slips, or a torn cruciate, explains that the thigh is thin."""
    told = map(knee.said, ("previous_patellar_dislocation", "patella_seen_displaced"))
    felt = map(knee.has, ("patellar_apprehension", "patella_dislocated_now", "lachman", "posterior_drawer"))
    return any_of(*told, *felt)


def local_cause(knee: Knee) -> Truth:
    """Say whether the pain of a young knee has a cause at hand that is not its bone."""
    hip = any_of(hip_rotation_short(knee), knee.has("hip_rotation_pain"))
    calf = all_of(knee.said("calf_pain"), knee.said("activity_pain"))
    return any_of(mechanical(knee), *map(knee.has, _SORE_PLACES), knee.has("block_to_extension"), hip, calf)


def growing_pains(knee: Knee) -> Truth:
    """Say whether pain at night is that of growing legs: both knees, a well child, nothing to be found.

    Peterson's definition, quoted by Mohanta 2014 Indian Pediatr 51:379-383: both legs, evening or night, no
    limp and no limited movement, nothing on examination; films are not needed then. Everything must have
    been asked and examined: the child walks evenly, no bone is tender, the joint is cool and dry, the hip
    turns freely, no lump, fever, illness, loss of weight, pallor, bruise or node.
    """
    youngest, oldest = GROWING_AGES_YEARS
    felt = (tender_bone, swollen, hot, stiff, hip_rotation_short)
    away = (*map(knee.has, _ILL_OR_LAME), *map(knee.said, _DAYTIME_OR_ILL), *(sign(knee) for sign in felt))
    return all_of(
        given(knee.age_years, lambda years: youngest <= years <= oldest),
        knee.complained_of,
        knee.across.complained_of,
        knee.said("night_pain"),
        feverish(knee) is not True,
        *map(negate, away),
    )


def lump_explained(knee: Knee) -> Truth:
    """Say whether a lump is a bursa, cyst of the joint, loose body, snapping meniscus or fresh bruising."""
    cyst = cyst_of_the_joint(knee)
    felt = any_of(knee.has("palpable_mass"), unless(cyst, knee.has("popliteal_mass")))
    snapping = all_of(knee.has("joint_line_lump"), knee.has("lateral_snap"))
    known = any_of(knee.has("prepatellar_swelling"), knee.has("loose_body_felt"), snapping, cyst)
    return any_of(all_of(known, felt is not True), injured_within(knee, FRESH_DAYS))


def cyst_of_the_joint(knee: Knee) -> Truth:
    """Say whether what swells behind the knee softens on bending, and no other mass is felt (Canoso 1987)."""
    behind = any_of(knee.has("popliteal_mass"), knee.has("posterior_swelling"))
    return all_of(behind, knee.has("mass_softens_bent"), knee.has("palpable_mass") is not True)


def arthritic_hip(knee: Knee) -> Truth:
    """Say whether the hip has long been stiff in a patient old enough for a worn one."""
    grown = negate(child(knee, under_years=WORN_YEARS))
    lasting = given(knee.context.onset_days, lambda days: days > ACUTE_DAYS)
    return all_of(grown, hip_rotation_short(knee), lasting)


def fresh_blow(knee: Knee) -> Truth:
    """Say whether a fresh injury without heat, redness or broken skin explains a swollen bursa."""
    signs = any_of(knee.has("erythema"), knee.has("warmth"), knee.has("open_wound"))
    return all_of(injured_within(knee, FRESH_DAYS), hint(signs) is None)
