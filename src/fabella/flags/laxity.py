"""Which ligament groups of a knee are clearly lax: the trace that a dislocation leaves when it has gone back.

Clearly: grade 2+, or 6 mm more than the other knee, or positive without a grade. Medial opening at 30 degrees
only counts from grade 3, because the superficial medial ligament alone gives less; ungraded it stays unknown.
The grades are judgement.
"""

from fabella.flags.knee import Knee
from fabella.flags.logic import Truth, agreed, any_of, at_least, denial, given, hint

CLEAR = ("2+", 6.0)
COMPLETE = ("3+", 11.0)
LATERAL = frozenset({"lcl_tear", "plc_injury"})


def two_ligament_groups(knee: Knee) -> Truth:
    """Say whether two or more of the anterior, posterior, medial and lateral restraints are clearly lax."""
    groups = (anterior(knee), posterior(knee), medial(knee), lateral(knee))
    return agreed(at_least(2, *groups), denial(knee.has("ligament_laxity_any")))


def two_groups_shown(knee: Knee) -> bool:
    """Say whether an image shows both cruciates torn, or one of them and the lateral side (common practice).

    The medial ligament beside a cruciate is told of many a sprain, and not counted.
    """
    cruciates = knee.shown & {"acl_tear", "pcl_tear"}
    return bool(cruciates) and (len(cruciates) > 1 or not knee.shown.isdisjoint(LATERAL))


def lateral_side_shown(knee: Knee) -> bool:
    """Say whether an image shows the lateral ligament and its corner torn (common practice)."""
    return knee.shown >= LATERAL


def anterior(knee: Knee) -> Truth:
    """Say whether the tibia slides forwards; the drawer, often falsely negative, only speaks if positive."""
    return agreed(_lax(knee, "lachman"), hint(_lax(knee, "anterior_drawer")))


def posterior(knee: Knee) -> Truth:
    """Say whether the tibia slides or sags backwards."""
    return agreed(_lax(knee, "posterior_drawer"), hint(knee.has("posterior_sag")))


def medial(knee: Knee) -> Truth:
    """Say whether the medial side opens in full extension, or completely at 30 degrees."""
    bent = _graded(knee, "valgus_stress_30", *COMPLETE)
    firm = denial(knee.has("valgus_stress_30"))  # what is firm when bent is firm when straight
    return any_of(agreed(_lax(knee, "valgus_stress_0"), firm), bent)


def lateral(knee: Knee) -> Truth:
    """Say whether the lateral side opens; what opens when straight opens when bent."""
    return agreed(_lax(knee, "varus_stress_30"), hint(_lax(knee, "varus_stress_0")))


def lateral_wide(knee: Knee) -> Truth:
    """Say whether the lateral side clearly opens at 30 degrees; without a grade it is unknown."""
    return _graded(knee, "varus_stress_30", *CLEAR)


def lateral_complete(knee: Knee) -> Truth:
    """Say whether the lateral side opens completely at 30 degrees."""
    return _graded(knee, "varus_stress_30", *COMPLETE)


def lateral_straight(knee: Knee) -> Truth:
    """Say whether the lateral side clearly opens in full extension; what is firm when bent is firm there."""
    firm = denial(knee.has("varus_stress_30"))
    return agreed(_graded(knee, "varus_stress_0", *CLEAR), firm)


def _lax(knee: Knee, sign: str) -> Truth:
    graded = _graded(knee, sign, *CLEAR)
    return hint(knee.has(sign)) if graded is None else graded


def _graded(knee: Knee, sign: str, level: str, mm: float) -> Truth:
    return agreed(
        knee.is_at_least(sign, level), given(_more_than_other_mm(knee, sign), lambda more: more >= mm)
    )


def _more_than_other_mm(knee: Knee, sign: str) -> float | None:
    here, there = knee.measure(sign), knee.across.measure(sign)
    return None if here is None or there is None else here - there
