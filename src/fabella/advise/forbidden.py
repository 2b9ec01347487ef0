"""What must not be done to this knee now, and why."""

from __future__ import annotations

from collections.abc import Mapping

from fabella.anatomy import Side
from fabella.flags import Alarm
from fabella.infer import ANY_LEVEL
from fabella.record import Examination, State

SUSPECTED = 0.15
"""Probability from which a lesion forbids what could worsen it (judgement: common practice)."""

RECENT_DAYS = 84
"""Days for which an operation forbids force (judgement: common practice)."""

UNLOADED = frozenset({"fracture_suspected", "unable_to_stand"})
"""Contraindications in which no image is taken standing (common practice)."""

_BY_LESION = {
    "fracture_suspected": (
        "tibial_plateau_fracture",
        "distal_femoral_fracture",
        "patellar_fracture",
        "tibial_spine_avulsion",
        "tibial_tubercle_avulsion",
        "stress_fracture",
    ),
    "septic_joint_suspected": ("septic_arthritis", "prosthesis_infection"),
    "knee_dislocation_suspected": ("knee_dislocation",),
    "extensor_rupture_suspected": (
        "quadriceps_tendon_rupture",
        "patellar_tendon_rupture",
        "tibial_tubercle_avulsion",
        "patellar_fracture",
    ),
    "acute_patellar_dislocation": ("patellar_instability:acute_dislocation",),
    "dvt_suspected": ("deep_vein_thrombosis",),
    "locked_knee": ("medial_meniscus_tear:displaced", "lateral_meniscus_tear:displaced"),
}
"""Contraindications of the protocol, and the lesions (at a level) whose suspicion brings them about."""

_BY_FINDING = {
    "unable_to_stand": (("unable_to_weight_bear", ("yes",)),),
    "acute_tense_effusion": (("effusion", ("large",)), ("effusion_sweep", ("3+",))),
}
"""Contraindications brought about by a finding at one of these levels."""


def contraindications(
    chances: Mapping[tuple[str, str], float],
    examination: Examination,
    alarms: tuple[Alarm, ...],
    side: Side,
) -> frozenset[str]:
    """Return the contraindications in force on one side.

    They come from met alarms, from suspected lesions, from findings and from a recent operation. ``chances``:
    the probability of every lesion and level of that knee, as `Model.chances` returns them.
    """
    active = {
        name
        for alarm in alarms
        if alarm.is_met and alarm.side in (side, None)
        for name in alarm.contraindicates
    }
    for name, lesions in _BY_LESION.items():
        if sum(chances[_quantity(lesion)] for lesion in lesions) >= SUSPECTED:
            active.add(name)
    for name, findings in _BY_FINDING.items():
        for sign, levels in findings:
            found = examination.finding(sign, side)
            if found is not None and found.state is State.ABNORMAL and found.level in levels:
                active.add(name)
    if _operated_recently(examination, side):
        active.add("recent_surgery")
    return frozenset(active)


def _operated_recently(examination: Examination, side: Side) -> bool:
    """Say whether this knee was operated on within twelve weeks, by the procedure's date or the history."""
    days = examination.days_since_operation(side)
    if days is not None and days <= RECENT_DAYS:
        return True
    told = (examination.history_item("previous_surgery"), examination.history_item("major_surgery_12_weeks"))
    return all(answer is True for answer in told)


def _quantity(text: str) -> tuple[str, str]:
    lesion, _, level = text.partition(":")
    return lesion, level or ANY_LEVEL
