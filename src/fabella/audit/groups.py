"""The lesions in groups that a surgeon thinks in, to see where the chain is strong and where it is weak."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from fabella.audit.diagnoses import lesions_of
from fabella.audit.validation import CaseResult, Validation, totalled

GROUPS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "ligaments and menisci": (
            "acl_tear",
            "pcl_tear",
            "mcl_tear",
            "lcl_tear",
            "plc_injury",
            "segond_fracture",
            "tibial_spine_avulsion",
            "knee_dislocation",
            "medial_meniscus_tear",
            "lateral_meniscus_tear",
            "discoid_lateral_meniscus",
        ),
        "patella, tendons and soft tissue": (
            "patellar_instability",
            "patellofemoral_pain",
            "patellar_tendinopathy",
            "quadriceps_tendinopathy",
            "patellar_tendon_rupture",
            "quadriceps_tendon_rupture",
            "osgood_schlatter",
            "inferior_pole_apophysitis",
            "fat_pad_impingement",
            "plica_syndrome",
            "iliotibial_band_friction",
            "muscle_tendon_strain",
            "prepatellar_bursitis",
            "pes_anserine_bursitis",
            "soft_tissue_injury",
        ),
        "fractures": (
            "tibial_plateau_fracture",
            "distal_femoral_fracture",
            "patellar_fracture",
            "tibial_tubercle_avulsion",
            "stress_fracture",
        ),
        "joint and infection": (
            "osteoarthritis",
            "osteochondral_lesion",
            "loose_body",
            "osteonecrosis",
            "crystal_arthritis",
            "inflammatory_arthritis",
            "spontaneous_haemarthrosis",
            "popliteal_cyst",
            "arthrofibrosis",
            "prosthesis_loosening",
            "prosthesis_instability",
            "septic_arthritis",
            "prosthesis_infection",
            "osteomyelitis",
        ),
        "tumours": ("bone_tumour", "soft_tissue_tumour", "synovial_proliferation"),
        "vessels, nerves, hip and back": (
            "popliteal_artery_injury",
            "popliteal_artery_disease",
            "deep_vein_thrombosis",
            "peroneal_nerve_injury",
            "hip_disease",
            "lumbar_radiculopathy",
        ),
    }
)
"""The lesions of each group; every lesion of the model stands in one."""


def by_group(validation: Validation) -> Mapping[str, Validation]:
    """Return the results whose diagnosis is in the model by group, with their totals; no empty group."""
    found: dict[str, list[CaseResult]] = {name: [] for name in GROUPS}
    for result in validation.results:
        if result.expected:
            found[_group(result)].append(result)
    return {name: totalled(results) for name, results in found.items() if results}


def _group(result: CaseResult) -> str:
    """Return the group of the diagnosis, or of what it accepts when it is not in the model itself."""
    lesion = (*lesions_of(result.case.primary_diagnosis), *result.expected)[0]
    return next(name for name, lesions in GROUPS.items() if lesion in lesions)
