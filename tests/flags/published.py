"""Published patients as examinations: a small reader of their notation, for the tests of the rules."""

import json
import re
from dataclasses import dataclass
from pathlib import Path

from fabella.anatomy import Side
from fabella.protocol import load_protocol
from fabella.record import (
    Acuity,
    Answer,
    Context,
    Examination,
    Finding,
    Mechanism,
    Origin,
    Patient,
    Reason,
    Setting,
    State,
)

_OTHER_NAMES = {
    "alignment": (),
    "calf_swelling": (),
    "calf_tenderness": ("tenderness_calf",),
    "examination_otherwise": (),
    "examination_whole": (),
    "extension_range": ("passive_extension",),
    "flexion_range": ("active_flexion",),
    "hip_flexion": ("hip_flexion_reduced",),
    "hip_internal_rotation": ("hip_rotation_reduced",),
    "homans": (),
    "hyperextension": ("passive_extension",),
    "limb_temperature": ("cool_foot",),
    "passive_range": ("range_of_motion_limited",),
    "patellar_glide": ("patellar_glide_increased",),
    "patellar_maltracking": ("patellar_tracking",),
    "quadriceps_contraction_transmitted": (),
    "rest_position": ("held_flexed",),
    "rotational_profile": (),
    "sensation_distal": ("peroneal_sensation", "tibial_nerve_sensation"),
    "swelling": ("swelling_visible",),
    "temperature": ("body_temperature",),
    "tenderness_posterior": ("tenderness_popliteal",),
    "tenderness_quadriceps_tendon": ("tenderness_quadriceps_insertion",),
    "theatre_sign": (),
    "valgus_stress": ("valgus_stress_30",),
    "varus_stress": ("varus_stress_30",),
}
_NORMAL = {"negative", "normal", "full", "good", "5/5"}
_LEVELS = {
    "unable": {"active_knee_extension": "unable", "straight_leg_raise": "unable"},
    "absent": {"distal_pulses": "absent"},
    "large": {"effusion": "large"},
    "bloody": {"haemarthrosis_aspirate": "blood"},
}
_WORDS = (
    ("no injury", Mechanism.INSIDIOUS),
    ("no trauma", Mechanism.OVERUSE),
    ("no better", Mechanism.OVERUSE),
    ("insidious", Mechanism.INSIDIOUS),
    ("long history", Mechanism.INSIDIOUS),
    ("two years of knee pain", Mechanism.INSIDIOUS),
    ("spontaneous", Mechanism.INSIDIOUS),
    ("stuck", Mechanism.TWIST),
    ("varus", Mechanism.VARUS_FORCE),
    ("valgus", Mechanism.VALGUS_FORCE),
    ("twist", Mechanism.TWIST),
    ("direct blow", Mechanism.DIRECT_BLOW),
    ("tackled", Mechanism.DIRECT_BLOW),
    ("knock", Mechanism.DIRECT_BLOW),
    ("ejected", Mechanism.HIGH_ENERGY),
    ("landed on", Mechanism.FALL_ON_KNEE),
    ("fell", Mechanism.FALL_ON_KNEE),
    ("slipped", Mechanism.MINOR_FALL),
    ("jumping", Mechanism.FORCED_QUADRICEPS),
    ("planted", Mechanism.FORCED_QUADRICEPS),
    ("hanging", Mechanism.VALGUS_FORCE),
)
_FALLS = {Mechanism.DIRECT_BLOW, Mechanism.FALL_ON_KNEE, Mechanism.MINOR_FALL, Mechanism.HIGH_ENERGY}


@dataclass(frozen=True)
class Case:
    """A published patient: what the tool may see, and what was later said about the danger."""

    id: str
    source: str
    examination: Examination
    red_flag: bool
    urgent: bool


def load_cases() -> tuple[Case, ...]:
    """Read every published patient."""
    rows = json.loads(Path(__file__).with_name("published_cases.json").read_text("utf-8"))
    return tuple(
        Case(row["id"], row["source"], _examination(row), row["red_flag"], row["urgent"]) for row in rows
    )


def _examination(row: dict[str, object]) -> Examination:
    sides = _sides(str(row["side"]))
    mechanism = next((m for words, m in _WORDS if words in str(row["mechanism"]).lower()), None)
    findings: dict[tuple[str, Side | None], Finding] = {}
    for sign, side, value, note in row["findings"]:  # type: ignore[attr-defined]
        for name in _OTHER_NAMES.get(sign, (sign,)):
            for each in _sides(side) if side else (None,):
                findings.setdefault((name, each), _finding(name, each, value, note))
    history: dict[str, Answer] = {}
    for item, answer in row["history"].items():  # type: ignore[attr-defined]
        history["unable_to_weight_bear_at_injury" if item == "unable_to_weight_bear" else item] = answer
    if mechanism in _FALLS:
        history["fall_or_blunt_trauma"] = True
    age, onset = row["age"], row["onset_days"]
    assert age is None or isinstance(age, int)
    assert onset is None or isinstance(onset, int)
    return Examination(
        id=str(row["id"]),
        origin=Origin.PUBLISHED,
        source=str(row["source"]),
        patient=Patient(age_years=age),
        context=Context(
            setting=Setting(str(row["setting"])),
            acuity=Acuity(str(row["acuity"])) if row["acuity"] else None,
            onset_days=onset,
            mechanism=mechanism,
            complaint=sides,
        ),
        history=history,
        findings=tuple(findings.values()),
    )


def _sides(words: str) -> tuple[Side, ...]:
    """Return the sides meant; an unspecified one is taken to be the right."""
    return {"both": tuple(Side), "left": (Side.LEFT,)}.get(words, (Side.RIGHT,))


def _finding(sign: str, side: Side | None, value: str, note: str) -> Finding:
    scale = load_protocol().sign(sign).scale
    if value in {"not assessable", "guarded"}:
        return Finding(sign=sign, side=side, state=State.UNTESTABLE, reason=Reason.GUARDING)
    number = re.match(r"(-?\d+(?:\.\d+)?) (deg|mm|C)", value)
    if number and scale.measure:
        return Finding(sign=sign, side=side, value=float(number[1]), unit=scale.measure.unit)
    if value in _NORMAL or "firm end point" in value:
        return Finding(sign=sign, side=side, state=State.NORMAL)
    level = next(
        (names[sign] for word, names in _LEVELS.items() if word in f"{value} {note}" and sign in names), None
    )
    grade = re.match(r"(?:grade )?([123])\+?(?:,|$| )", value)
    if level is None and grade and f"{grade[1]}+" in [each.id for each in scale.levels]:
        level = f"{grade[1]}+"
    return Finding(sign=sign, side=side, state=State.ABNORMAL, level=level)
