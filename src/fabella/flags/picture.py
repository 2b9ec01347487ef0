"""What several signs of one knee say together: swollen, hot, restricted, tender bone, feverish.

Limits that no paper fixes are judgement and stand here as named constants.
"""

from fabella.flags.knee import Knee
from fabella.flags.logic import Truth, agreed, all_of, any_of, denial, given, hint, negate

FEVER_C = 38.0  # common practice
FLEXION_SHORT_DEG = 110.0  # judgement: short in any knee
FLEXION_FREE_DEG = 130.0  # judgement: free in any knee; in between the other knee decides
FLEXION_SIDE_DIFFERENCE_DEG = 20.0  # judgement: beyond the error of a goniometer
EXTENSION_SHORT_DEG = 10.0  # judgement: beyond the error of estimation by eye
HYPEREXTENSION_DEG = 15.0  # judgement
HIP_ROTATION_SHORT_DEG = 15.0  # judgement: short in any hip
HIP_ROTATION_FREE_DEG = 30.0  # judgement: free in any hip; in between the other hip decides
HIP_ROTATION_SIDE_DIFFERENCE_DEG = 15.0  # judgement
HYPEREXTENSION_BEYOND_OTHER_DEG = 10.0  # judgement: healthy sides differ by less

METAPHYSES = (
    "tenderness_medial_femoral_condyle",
    "tenderness_lateral_femoral_condyle",
    "tenderness_medial_tibial_plateau",
    "tenderness_lateral_tibial_plateau",
)
_OTHER_BONES = (*METAPHYSES, "tenderness_fibular_head", "tenderness_tibial_tubercle")
_TENDER = (
    "joint_line_tenderness",
    "joint_line_tenderness_medial",
    "joint_line_tenderness_lateral",
    "bony_tenderness",
    "tenderness_anterior",
    "tenderness_diffuse",
    "tenderness_patella",
    "tenderness_mcl",
    "tenderness_lcl",
    "tenderness_patellar_tendon",
    "tenderness_quadriceps_insertion",
    "tenderness_posterolateral",
    "tenderness_popliteal",
    "tenderness_medial_retinaculum",
    *_OTHER_BONES,
)


def effusion(knee: Knee) -> Truth:
    """Say whether there is fluid in the joint; unknown when its signs disagree.

    A patella that does not tap, and fluid that does not fluctuate, deny nothing beside a grade or a sweep:
    both take more fluid than a sweep does (common practice).
    """
    fine = (knee.has("effusion"), knee.has("effusion_sweep"))
    coarse = (knee.has("patellar_tap"), knee.has("cross_fluctuation"))
    return agreed(*fine, *(coarse if agreed(*fine) is None else map(hint, coarse)))


def large_effusion(knee: Knee) -> Truth:
    """Say whether the effusion is large: so graded, or 3+ on the sweep."""
    return agreed(knee.is_at_least("effusion", "large"), knee.is_at_least("effusion_sweep", "3+"))


def swollen(knee: Knee) -> Truth:
    """Say whether the joint is swollen; what is seen or told speaks only when positive.

    Beside a swollen bursa it says nothing of the joint, and only the signs of fluid decide.
    """
    if knee.has("prepatellar_swelling"):
        return effusion(knee)
    found = map(knee.has, ("swelling_visible", "synovial_thickening"))
    return agreed(effusion(knee), *map(hint, (*found, knee.said("swelling_noticed"))))


def hot(knee: Knee) -> Truth:
    """Say whether the knee is warm, hot or red."""
    return agreed(knee.has("warmth"), hint(knee.has("erythema")))


def restricted(knee: Knee) -> Truth:
    """Say whether movement is limited, or hurts at the slightest."""
    return agreed(stiff(knee), hint(knee.has("motion_pain_any")), hint(knee.has("held_flexed")))


def stiff(knee: Knee) -> Truth:
    """Say whether the range of movement is limited, by measure or by judgement."""
    measured = any_of(flexion_short(knee), short_of_straight(knee))
    return agreed(knee.has("range_of_motion_limited"), measured)


def flexion_short(knee: Knee) -> Truth:
    """Say whether the knee bends too little, by itself or against the other."""
    return agreed(_bends_short(knee, "active_flexion"), _bends_short(knee, "passive_flexion"))


def short_of_straight(knee: Knee) -> Truth:
    """Say whether the knee cannot be brought straight."""
    return agreed(
        given(knee.measure("fixed_flexion"), lambda deg: deg >= EXTENSION_SHORT_DEG),
        _extends_short(knee),
        hint(knee.has("block_to_extension")),
    )


def gross_hyperextension(knee: Knee) -> Truth:
    """Say whether the knee bends backwards far, and far beyond the other."""
    here, there = knee.measure("passive_extension"), knee.across.measure("passive_extension")
    normal = here is None and knee.has("passive_extension") is False
    return all_of(
        False if normal else given(here, lambda deg: deg >= HYPEREXTENSION_DEG),
        given(there, lambda deg: here is not None and here - deg >= HYPEREXTENSION_BEYOND_OTHER_DEG),
    )


def hip_free(knee: Knee) -> Truth:
    """Say whether the hip on this side is known to turn as far as it should, and without pain."""
    return all_of(negate(hip_rotation_short(knee)), negate(knee.has("hip_rotation_pain")))


def tender_bone(knee: Knee) -> Truth:
    """Say whether the femur or the tibia is tender, or bone without a named site."""
    return agreed(any_of(*map(knee.has, METAPHYSES)), knee.has("bony_tenderness"))


def tender_besides_patella(knee: Knee) -> Truth:
    """Say whether any bone of the knee other than the patella is tender."""
    return agreed(any_of(*map(knee.has, _OTHER_BONES)), denial(knee.has("bony_tenderness")))


def tender_somewhere(knee: Knee) -> Truth:
    """Say whether the knee is tender anywhere; it is not only when every site was felt."""
    return any_of(*map(knee.has, _TENDER))


def fever(knee: Knee) -> Truth:
    """Say whether a fever was told or measured; both must be denied to be false."""
    return any_of(knee.said("fever"), given(knee.measure("body_temperature"), lambda deg: deg >= FEVER_C))


def feverish(knee: Knee) -> Truth:
    """Say whether the patient has fever, rigors or feels ill; all of it must be denied to be false."""
    return any_of(fever(knee), knee.said("rigors_or_unwell"))


def night_or_rest_pain(knee: Knee) -> Truth:
    """Say whether it hurts at night or at rest."""
    return any_of(knee.said("night_pain"), knee.said("rest_pain"))


def hip_rotation_short(knee: Knee) -> Truth:
    """Say whether the hip turns inwards too little, by judgement or by measure."""
    turns, beyond = knee.measure("hip_internal_rotation"), knee.across.measure("hip_internal_rotation")
    measured = given(turns, lambda deg: deg < HIP_ROTATION_SHORT_DEG)
    if turns is not None and HIP_ROTATION_SHORT_DEG <= turns < HIP_ROTATION_FREE_DEG:
        measured = given(beyond, lambda deg: deg - turns >= HIP_ROTATION_SIDE_DIFFERENCE_DEG)
    return agreed(knee.has("hip_rotation_reduced"), measured)


def _extends_short(knee: Knee) -> Truth:
    reached = knee.measure("passive_extension")
    return denial(knee.has("passive_extension")) if reached is None else reached <= -EXTENSION_SHORT_DEG


def _bends_short(knee: Knee, sign: str) -> Truth:
    bends, beyond = knee.measure(sign), knee.across.measure(sign)
    if bends is None:
        return knee.has(sign)
    if bends < FLEXION_SHORT_DEG or bends >= FLEXION_FREE_DEG:
        return given(bends, lambda deg: deg < FLEXION_SHORT_DEG)
    return given(beyond, lambda deg: deg - bends >= FLEXION_SIDE_DIFFERENCE_DEG)


def red_or_hot(knee: Knee) -> Truth:
    """Say whether the skin is red or the knee hot, which is more than the warmth of a worn or injured one."""
    return any_of(knee.has("erythema"), knee.is_at_least("warmth", "hot"))


def weak_foot(knee: Knee) -> Truth:
    """Say whether the foot is weak by something that is not known to be old and unchanged."""
    return _not_of_old(knee, any_of(knee.has("foot_drop"), knee.has("tibial_nerve_motor")))


def numb_foot(knee: Knee) -> Truth:
    """Say whether the foot is numb by something that is not known to be old and unchanged."""
    return _not_of_old(knee, any_of(knee.has("peroneal_sensation"), knee.has("tibial_nerve_sensation")))


def nerve_sign(knee: Knee, sign: str) -> Truth:
    """Say whether one sign of the nerves of the foot is lost, and not known to be so of old, unchanged."""
    return _not_of_old(knee, knee.has(sign))


def _not_of_old(knee: Knee, lost: Truth) -> Truth:
    """Return a loss that becomes unknown where the foot was so for more than a year: the record compares."""
    return all_of(lost, None if knee.said("old_nerve_loss") else True)


def out_of_shape(knee: Knee) -> Truth:
    """Say whether the leg is deformed, and not known to be so of old and unchanged."""
    return all_of(knee.has("deformity"), None if knee.said("old_deformity") else True)
