"""The lesions in the order in which they are asked: what a report of the knee names first, then by tissue."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from fabella.hands import Method

FIRST = "first"

ORDINARY = (
    "acl_tear",
    "pcl_tear",
    "mcl_tear",
    "lcl_tear",
    "plc_injury",
    "medial_meniscus_tear",
    "lateral_meniscus_tear",
    "osteochondral_lesion",
    "patellar_instability",
)
"""What an ordinary report of a scan or an arthroscopy of the knee says something about (common practice)."""

BONE = "bone"
TISSUES: dict[str, tuple[str, tuple[str, ...]]] = {
    "ligaments": (
        "Ligaments",
        ("acl_tear", "pcl_tear", "mcl_tear", "lcl_tear", "plc_injury", "knee_dislocation"),
    ),
    "menisci": (
        "Menisci and cartilage",
        (
            "medial_meniscus_tear",
            "lateral_meniscus_tear",
            "discoid_lateral_meniscus",
            "osteochondral_lesion",
            "loose_body",
        ),
    ),
    "patella": (
        "Patella and extensor mechanism",
        (
            "patellar_instability",
            "patellar_fracture",
            "quadriceps_tendon_rupture",
            "patellar_tendon_rupture",
            "tibial_tubercle_avulsion",
            "patellofemoral_pain",
            "patellar_tendinopathy",
            "quadriceps_tendinopathy",
            "osgood_schlatter",
            "inferior_pole_apophysitis",
            "fat_pad_impingement",
        ),
    ),
    BONE: (
        "Bone",
        (
            "tibial_plateau_fracture",
            "distal_femoral_fracture",
            "segond_fracture",
            "tibial_spine_avulsion",
            "stress_fracture",
            "osteonecrosis",
            "osteomyelitis",
            "bone_tumour",
        ),
    ),
    "joint": (
        "Joint",
        (
            "osteoarthritis",
            "septic_arthritis",
            "crystal_arthritis",
            "inflammatory_arthritis",
            "spontaneous_haemarthrosis",
            "synovial_proliferation",
            "plica_syndrome",
            "arthrofibrosis",
            "prosthesis_loosening",
            "prosthesis_instability",
        ),
    ),
    "soft": (
        "Soft tissue",
        (
            "prepatellar_bursitis",
            "pes_anserine_bursitis",
            "iliotibial_band_friction",
            "popliteal_cyst",
            "muscle_tendon_strain",
            "soft_tissue_injury",
            "soft_tissue_tumour",
        ),
    ),
    "elsewhere": (
        "Vessels, nerves and elsewhere",
        (
            "popliteal_artery_injury",
            "peroneal_nerve_injury",
            "deep_vein_thrombosis",
            "popliteal_artery_disease",
            "hip_disease",
            "lumbar_radiculopathy",
        ),
    ),
}
"""Every lesion once, by tissue: the id of its group, the heading, and the lesions."""

_WHOLE_KNEE = (Method.OPEN_OPERATION, Method.ARTHROSCOPY, Method.MRI)
_BONES_ONLY = (Method.RADIOGRAPH, Method.CT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A group of lesions that are asked together."""

    id: str
    title: str
    lesions: tuple[str, ...]


def asked(named: Iterable[str]) -> tuple[Asked, ...]:
    """Return the groups in the order in which they are asked; what was ``named`` likely comes first."""
    first = tuple(dict.fromkeys((*named, *ORDINARY)))
    rest = (
        Asked(id=key, title=title, lesions=tuple(each for each in lesions if each not in first))
        for key, (title, lesions) in TISSUES.items()
    )
    title = "Told as likely then, and what most reports name"
    return (Asked(id=FIRST, title=title, lesions=first), *(each for each in rest if each.lesions))


def looks_at_all(method: Method, group: str) -> bool:
    """Say whether one touch may state that the rest of a group was looked at and absent (judgement).

    A scan or an operation of the knee looks at all of it; a radiograph and a CT at the bones; every other
    method at what it was asked about, which has to be stated lesion by lesion.
    """
    return method in _WHOLE_KNEE or (method in _BONES_ONLY and group == BONE)
